"""What planning again changes, in sentences: for the pots, and for one helper."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import clock, listed
from solver.plan import FoodPart, PotChange, WorkChange

_POT = {
    "new": "{food} goes into {cooker} at {at}: a new pot.",
    "moved": "{food} goes into {cooker} at {at}, no more into {was_cooker} at {was_at}.",
    "later": "{food} goes into {cooker} at {at}, no more at {was_at}.",
    "second-cooker": "{food} goes from {was_cooker} to {cooker} at {at}.",
    "late": "{food} is served at {at}, {late_min} min late.",
    "lifted": "{food} comes out of {cooker} at {at}, no more at {was_at}.",
    "given-up": "{food} is not cooked any more.",
}
WORK = {
    "preheat": "set {cookers} on the sun, empty",
    "load": "load {food} into {cookers}",
    "prepare": "prepare {food}",
    "stir": "stir {food} in {cookers}",
    "probe": "probe {food} in {cookers}",
    "lift": "lift {food} out of {cookers}",
    "insulate": "move {food} from {cookers} to the insulated box",
    "move": "move {food} from {cookers} to the gas ring",
    "attend": "stay at {cookers}",
    "talk": "give the talk {talk}",
    "serve": "serve {meal}",
    "set-up": "set up",
    "pack-down": "pack down",
    "greet": "greet visitors",
    "read-board": "read the board aloud before {meal}",
    "write-temperatures": "write temperatures down at {meal}",
    "carry-plates": "carry plates at {meal}",
    "wash-up": "wash up after {meal}",
    "wash-vegetables": "wash vegetables",
    "call-turns": "call the turns",
    "write-sky": "write sun and cloud down",
    "set-table": "set the table for {meal}",
    "turn": "turn {cookers}",
}
_KIND = {"new": "New: {at} {work}", "dropped": "No more: {at} {work}"}


def pot_change(event: Event, change: PotChange) -> str:
    """Return what is different for a pot."""
    late = change.at - change.was_at if change.at and change.was_at else None
    stays = change.kind == "moved" and change.cooker_id == change.was_cooker_id
    return _POT["later" if stays else change.kind].format(
        food=_food(event, change.food),
        cooker=_cooker(event, change.cooker_id),
        was_cooker=_cooker(event, change.was_cooker_id),
        at=clock(event, change.at) if change.at else "",
        was_at=clock(event, change.was_at) if change.was_at else "",
        late_min=round(late.total_seconds() / 60) if late else 0,
    )


def work_change(event: Event, change: WorkChange) -> str:
    """Return a job that is new for a helper, or not theirs any more."""
    work = WORK[change.job].format(
        food=listed([_food(event, f) for f in change.foods]) or "water for a talk",
        cookers=listed(sorted(_cooker(event, c) for c in change.cooker_ids)),
        talk=event.talk(change.talk_id).name if change.talk_id else "",
        meal=event.meal(change.meal_id).name if change.meal_id else "",
    )
    return _KIND[change.kind].format(at=clock(event, change.at), work=work)


def _food(event: Event, food: FoodPart) -> str:
    name = event.dish(food.dish_id).name
    return f"{name} {food.batch} of {food.batches}" if food.batches > 1 else name


def _cooker(event: Event, cooker_id: str | None) -> str:
    """Return a cooker's name; one that only the plan before had is called by its id."""
    return next((c.name for c in event.cookers if c.id == cooker_id), cooker_id or "")
