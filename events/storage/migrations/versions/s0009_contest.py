"""A contest's records, used codes and ballots."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Make them: records are appended, ballots have no time and no order."""
    op.create_table(
        "contest_record",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        if_not_exists=True,
    )
    op.create_table(
        "used_code",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("digest", sa.String(64), primary_key=True),
        if_not_exists=True,
    )
    op.create_table(
        "ballot",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("picks", sa.Text, nullable=False),
        if_not_exists=True,
    )
