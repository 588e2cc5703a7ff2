"""Own cookers say where their figures come from in records; an efficiency stays in its range."""

import json

import sqlalchemy as sa
from alembic import op

from events.quantities import clip
from events.reading.old_spellings import modern

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Rewrite the own cookers that were stored before."""
    own = sa.table("own_cooker", sa.column("id"), sa.column("body"))
    db = op.get_bind()
    for row in db.execute(sa.select(own.c.id, own.c.body)).all():
        cooker = modern("cooker", json.loads(row.body))
        efficiency = cooker.get("optical_efficiency")
        if isinstance(efficiency, float):  # one learnt from a day was once kept above its range
            cooker["optical_efficiency"] = clip("optical_efficiency", efficiency)
        body = json.dumps(cooker, ensure_ascii=False)
        db.execute(sa.update(own).where(own.c.id == row.id).values(body=body))
