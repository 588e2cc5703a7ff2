"""Events by version, and the plan of each version."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first two tables."""
    op.create_table(
        "event",
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("title", sa.String(80), nullable=False),
        sa.Column("date", sa.Date, nullable=False),
        sa.Column("mark", sa.String(12), nullable=False),
        sa.Column("file", sa.Text, nullable=False),
        sa.Column("put_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "plan",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True)),
    )
