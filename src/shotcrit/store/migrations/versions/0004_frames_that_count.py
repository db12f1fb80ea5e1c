"""A take may say which of its frames count, and be a blocking pass. No table changes; the number keeps programs that know neither from writing over them.

Revision ID: 0004
Revises: 0003
"""

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Takes without the field judge all their frames, as they always did."""
