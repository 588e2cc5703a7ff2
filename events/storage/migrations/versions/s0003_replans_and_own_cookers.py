"""Plans made anew in the middle of a day, and the house's own cookers."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the replans, kept for good, and the own cookers."""
    op.create_table(
        "replan",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("after", sa.Integer, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True)),
        sa.Column("body", sa.Text, nullable=False),
    )
    op.create_table(
        "own_cooker",
        sa.Column("id", sa.String(40), primary_key=True),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("source", sa.String(200), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
    )
