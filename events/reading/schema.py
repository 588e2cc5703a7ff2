"""The JSON Schema of an event file: the model's, in the file's own words.

In a file tables are called `dish`, not `dishes`; meals and helpers say `from` and `until`;
`like` takes the place of what the catalogue gives; other units may stand for ours.
"""

from __future__ import annotations

from typing import cast, get_args

from pydantic import BaseModel

from events import contest, model
from events.allergens import allergen_words
from events.provenance import Source
from events.reading.cooker_facts import KEYS
from events.reading.site_facts import HAZE
from events.reading.units import ENDINGS, FACTS
from events.rounds import Group, Rota, Stop
from events.site import Station
from events.table import RawTable, Table

LISTS: dict[str, tuple[str, type[Table]]] = {
    "station": ("stations", Station),
    "cooker": ("cookers", model.Cooker),
    "pot": ("pots", model.Pot),
    "meal": ("meals", model.Meal),
    "dish": ("dishes", model.Dish),
    "helper": ("helpers", model.Helper),
    "talk": ("talks", model.Talk),
    "group": ("groups", Group),
    "stop": ("stops", Stop),
    "team": ("teams", contest.Team),
    "entry": ("entries", contest.Entry),
    "contest_cooker": ("contest_cookers", contest.ContestCooker),
    "judge": ("judges", contest.Judge),
    "criterion": ("criteria", contest.Criterion),
}
# How many rows of each table a file may have.
ROWS_MOST: dict[str, int] = {
    key: next(m.max_length for m in model.Event.model_fields[field].metadata)
    for key, (field, _) in LISTS.items()
}
# One of each, and none of them must stand.
SINGLE: dict[str, type[Table]] = {
    "rota": Rota,
    "contest": contest.Contest,
    "votes": contest.Votes,
}
# Tables whose rows are as those of another: from its part of the catalogue.
AS: dict[str, str] = {"contest_cooker": "cooker", "entry": "dish"}
HOURS = {"from": "start", "until": "end"}  # in files a table with both hours says from, until
_LIKE = ("cooker", "pot", "dish", "contest_cooker")


def event_schema() -> RawTable:
    """Return the JSON Schema of an event file."""
    schema = model.Event.model_json_schema()
    defs = cast("dict[str, RawTable]", schema["$defs"])
    for kind in (*(kind for _, kind in LISTS.values()), *SINGLE.values()):
        if has_hours(kind):
            _rename(defs[kind.__name__], {v: k for k, v in HOURS.items()})
    for key, (_, kind) in LISTS.items():
        required = defs[kind.__name__]["required"] = ["id"]
        if key not in _LIKE:
            required += [k for k in _needed(kind) if k not in ("id", "name")]
    for table in defs.values():
        _admit_units(table)
    cast("RawTable", defs["Pot"]["properties"])["like"] = {"type": "string"}
    cast("RawTable", defs["Pot"]["properties"])["provenance"] = {"type": "object"}
    defs["Provenance"] = {"anyOf": [{"enum": list(get_args(Source))}, defs["Provenance"]]}
    defs["Site"]["required"] = ["latitude_deg", "longitude_deg"]
    for name in ("Cooker", "ContestCooker"):
        cast("RawTable", defs[name]["properties"]).update({k: {"type": "number"} for k in KEYS})
    site = cast("dict[str, RawTable]", defs["Site"]["properties"])
    site["turbidity"] = {
        "anyOf": [
            site["turbidity"],
            {"enum": list(HAZE)},
            {"type": "array", "items": {"type": "number"}, "minItems": 12, "maxItems": 12},
        ]
    }
    allergens = cast("dict[str, RawTable]", defs["Dish"]["properties"])["allergens"]
    allergens["items"] = {"enum": allergen_words()}  # any word that stands for one
    _entry_as_a_dish(defs)
    for name in ("Site", "Station"):
        places = cast("dict[str, RawTable]", defs[name]["properties"])
        csv: RawTable = {"type": "string", "description": "a CSV beside the file"}
        places["skyline"] = {"anyOf": [places["skyline"], csv]}
    cast("RawTable", defs["Weather"]["properties"])["file"] = {
        "type": "string",
        "description": "a forecast beside the file, CSV or JSON",
    }
    _rename(schema, {field: key for key, (field, _) in LISTS.items()})
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return schema


def _entry_as_a_dish(defs: dict[str, RawTable]) -> None:
    """Let an entry say its dish among its own keys."""
    own, dish = (cast("RawTable", defs[name]["properties"]) for name in ("Entry", "Dish"))
    keys = {k: v for k, v in dish.items() if k != "meal"}
    defs["Entry"]["properties"] = {**keys, **{k: v for k, v in own.items() if k != "dish"}}
    defs["Entry"]["required"] = ["id", "team"]
    defs["Entry"]["patternProperties"] = defs["Dish"]["patternProperties"]


def has_hours(kind: type[BaseModel]) -> bool:
    """Return whether a table has a beginning and an end: in files they are from and until."""
    return set(HOURS.values()) <= set(kind.model_fields)


def _needed(kind: type[Table]) -> list[str]:
    back = {v: k for k, v in HOURS.items()} if has_hours(kind) else {}
    return [back.get(k, k) for k, f in kind.model_fields.items() if f.is_required()]


def _rename(table: RawTable, names: dict[str, str]) -> None:
    properties = cast("RawTable", table["properties"])
    table["properties"] = {names.get(k, k): v for k, v in properties.items()}
    required = cast("list[str]", table.get("required", []))
    table["required"] = [names.get(str(k), str(k)) for k in required]


def _admit_units(table: RawTable) -> None:
    """Let a quantity stand in another unit."""
    endings = "|".join(e.lstrip("_") for e in ENDINGS)
    facts = "|".join(FACTS)
    table["patternProperties"] = {f"^(.+_({endings})|{facts})$": {"type": "number"}}
