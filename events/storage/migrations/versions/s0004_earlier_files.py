"""Earlier versions of an event's file, so that a change can be taken back."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table of earlier files."""
    op.create_table(
        "earlier",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("file", sa.Text, nullable=False),
    )
