"""Own cookers belong to an event's organiser, or to the house; what waits is found at once."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Give each own cooker its owner: those that are there are the house's."""
    op.rename_table("own_cooker", "own_cooker_before")
    made = op.create_table(
        "own_cooker",
        sa.Column("owner", sa.String(64), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("source", sa.String(200), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("owner", "id", name="own_cooker_key"),
    )
    before = sa.table("own_cooker_before", *map(sa.column, ("id", "kept_at", "source", "body")))
    rows = sa.select(sa.literal(""), before.c.id, before.c.kept_at, before.c.source, before.c.body)
    columns = ["owner", "id", "kept_at", "source", "body"]
    op.get_bind().execute(sa.insert(made).from_select(columns, rows))
    op.drop_table("own_cooker_before")
    op.create_index("plan_by_state", "plan", ["state"])
    op.create_index("event_by_date", "event", ["date", "id"])
