"""Which stage of a plan its solver has begun, so that pages of any process show it."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Add the stage, unless a step that was killed on the way has added it."""
    there = {column["name"] for column in sa.inspect(op.get_bind()).get_columns("work")}
    if "stage" not in there:
        op.add_column("work", sa.Column("stage", sa.String(16)))
