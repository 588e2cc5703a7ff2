"""Work for solvers on other processes or machines: what was asked, and what came of it."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make the table of work."""
    op.create_table(
        "work",
        sa.Column("key", sa.String(64), primary_key=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("lane", sa.Integer, nullable=False),
        sa.Column("event_id", sa.String(64), nullable=False),
        sa.Column("origin", sa.String(80), nullable=False),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("began_at", sa.DateTime(timezone=True)),
        sa.Column("result", sa.Text, nullable=False),
        if_not_exists=True,
    )
    op.create_index("work_by_event", "work", ["event_id", "lane", "state"], if_not_exists=True)
