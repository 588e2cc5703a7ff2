"""The diary, and links that let people in."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the diary, append-only, and the links, hashed."""
    op.create_table(
        "diary",
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("heard_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.UniqueConstraint("event_id", "number"),
    )
    op.create_table(
        "link",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("event_id", sa.String(64), sa.ForeignKey("event.id"), nullable=False),
        sa.Column("role", sa.String(12), nullable=False),
        sa.Column("helper_id", sa.String(40)),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revoked", sa.Boolean, nullable=False, default=False),
    )
