"""The first form of a crit. Never changed again: later forms have scripts of their own.

Revision ID: 0001
Revises: none
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_JSON = sa.JSON(none_as_null=True)


def _thing(name: str, *columns: sa.schema.SchemaItem, take: bool = False, shot: bool = False) -> None:
    extra: list[sa.schema.SchemaItem] = list(columns)
    for asked, column, table in ((take, "take_id", "takes"), (shot, "shot_id", "shots")):
        if asked:
            extra.append(sa.Column(column, sa.String(64), nullable=False))
            key = f"fk_{name}_{column}_{table}"
            extra.append(sa.ForeignKeyConstraint([column], [f"{table}.id"], name=key, deferrable=True, initially="DEFERRED"))
    op.create_table(
        name,
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("version", sa.BigInteger, nullable=False),
        sa.Column("born", sa.BigInteger, nullable=False),
        sa.Column("body", _JSON, nullable=False),
        *extra,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
    )
    for asked, column in ((take, "take_id"), (shot, "shot_id")):
        if asked:
            op.create_index(f"ix_{name}_{column}", name, [column])


def upgrade() -> None:
    _things()
    _history()
    op.create_table(
        "measurements",
        sa.Column("take_id", sa.String(64), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("body", _JSON, nullable=False),
        sa.PrimaryKeyConstraint("take_id", name="pk_measurements"),
        sa.ForeignKeyConstraint(
            ["take_id"], ["takes.id"], name="fk_measurements_take_id_takes", ondelete="CASCADE", deferrable=True, initially="DEFERRED"
        ),
    )
    op.create_table(
        "about",
        sa.Column("name", sa.String(50), nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_about"),
    )


def _things() -> None:
    _thing("shots", sa.Column("name", sa.String(200), nullable=False))
    _thing("takes", sa.Column("sha256", sa.String(64), nullable=False), shot=True)
    op.create_index("ix_takes_sha256", "takes", ["sha256"])
    _thing(
        "notes",
        sa.Column("weight", sa.String(10), nullable=False),
        sa.Column("closed", sa.Boolean, nullable=False),
        sa.Column("place", sa.Float, nullable=False),
        take=True,
    )
    _thing("drawings", take=True)
    _thing("decisions", sa.Column("verdict", sa.String(10), nullable=False), shot=True)
    _thing("markers", take=True)
    _thing("corrections", take=True)
    _thing("phrases")
    _thing("settings")


def _history() -> None:
    op.create_table(
        "history",
        sa.Column("seq", sa.BigInteger, nullable=False, autoincrement=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("what", sa.String(10), nullable=False),
        sa.Column("of", sa.BigInteger),
        sa.Column("label", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_history"),
    )
    op.create_table(
        "changes",
        sa.Column("seq", sa.BigInteger, nullable=False, autoincrement=False),
        sa.Column("n", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("thing_id", sa.String(64), nullable=False),
        sa.Column("before", _JSON),
        sa.Column("after", _JSON),
        sa.PrimaryKeyConstraint("seq", "n", name="pk_changes"),
        sa.ForeignKeyConstraint(["seq"], ["history.seq"], name="fk_changes_seq_history"),
    )
    op.create_index("ix_changes_thing", "changes", ["kind", "thing_id", "seq"])
    op.create_table(
        "trail",
        sa.Column("seq", sa.BigInteger, nullable=False, autoincrement=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("undone", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_trail"),
        sa.ForeignKeyConstraint(["seq"], ["history.seq"], name="fk_trail_seq_history"),
    )
