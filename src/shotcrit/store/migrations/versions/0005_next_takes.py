"""A take may say which one it follows, and a note what became of it there. No table changes; the number keeps older programs from writing over them.

Revision ID: 0005
Revises: 0004
"""

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Takes without the field follow none; notes without it are as open or closed as they were."""
