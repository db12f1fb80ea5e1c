"""Measurements lie in the cache, as all that can be made again; the table that was meant for them was never written to.

Revision ID: 0003
Revises: 0002
"""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.drop_table("measurements")
