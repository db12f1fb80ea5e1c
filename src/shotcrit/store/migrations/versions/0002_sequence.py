"""A shot's sequence as a column, so that a team can list what is open in a sequence without reading every shot.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("shots", sa.Column("sequence", sa.String(200), nullable=False, server_default=""))
    op.create_index("ix_shots_sequence", "shots", ["sequence"])
    shots = sa.table("shots", sa.column("id", sa.String), sa.column("body", sa.JSON), sa.column("sequence", sa.String))
    bind = op.get_bind()
    for shot_id, body in bind.execute(sa.select(shots.c.id, shots.c.body)).all():
        bind.execute(shots.update().where(shots.c.id == shot_id).values(sequence=body.get("sequence", "")))
