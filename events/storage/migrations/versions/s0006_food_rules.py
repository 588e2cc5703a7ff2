"""Stored files keep to the food rules: cooked plants are hazardous, allergens are of the list."""

import tomllib

import sqlalchemy as sa
import tomli_w
from alembic import op

from events.allergens import allergens_of

revision = "0006"
down_revision = "0005"

# Catalogue entries that said of themselves that they need not be kept hot or cold.
COOKED = ("potatoes", "beetroot", "polenta", "pasta", "couscous", "cabbage")


def upgrade() -> None:
    """Write every stored file anew where a dish of it breaks the rules."""
    db = op.get_bind()
    for name, keys in (("event", ("id",)), ("earlier", ("event_id", "version"))):
        table = sa.table(name, *map(sa.column, (*keys, "file")))
        for row in db.execute(sa.select(table)).all():
            file = kept_to_the_rules(row.file)
            if file != row.file:
                same = sa.and_(*(table.c[k] == getattr(row, k) for k in keys))
                db.execute(sa.update(table).where(same).values(file=file))


def kept_to_the_rules(file: str) -> str:
    """Return an event file's text with its dishes by the rules; words that are lost are none."""
    document = tomllib.loads(file)
    for dish in document.get("dish", []):
        if dish.get("like") in COOKED and dish.get("hazardous") is False:
            dish["hazardous"] = True
        words = [str(w) for w in dish.get("allergens", [])]
        others = [w for w in words if not allergens_of(w)]
        if others:
            dish["allergens"] = [w for w in words if allergens_of(w)]
            dish["also_contains"] = others
    return file if document == tomllib.loads(file) else tomli_w.dumps(document)
