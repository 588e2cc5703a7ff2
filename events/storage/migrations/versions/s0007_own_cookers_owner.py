"""Own cookers belong to an event's organiser, or to the house; what waits is found at once."""

from datetime import datetime

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Give each own cooker its owner: those that are there are the house's."""
    db = op.get_bind()
    before = sa.table("own_cooker", *map(sa.column, ("id", "kept_at", "source", "body")))
    rows = [{"owner": "", **row} for row in db.execute(sa.select(before)).mappings()]
    op.drop_table("own_cooker")
    made = op.create_table(
        "own_cooker",
        sa.Column("owner", sa.String(64), primary_key=True),
        sa.Column("id", sa.String(40), primary_key=True),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("source", sa.String(200), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
    )
    op.bulk_insert(made, [_with_time(row) for row in rows])
    op.create_index("plan_by_state", "plan", ["state"], if_not_exists=True)
    op.create_index("event_by_date", "event", ["date", "id"], if_not_exists=True)


def _with_time(row: dict[str, object]) -> dict[str, object]:
    """Return a row whose time is one: SQLite gives text for a column it does not know."""
    at = row["kept_at"]
    return {**row, "kept_at": datetime.fromisoformat(at) if isinstance(at, str) else at}
