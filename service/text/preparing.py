"""What is done to a dish before it is loaded, in words."""

from __future__ import annotations

from events.model import Dish, Shape
from solver.plan import Job, Plan

WEIGHED: dict[Shape, str] = {
    "liquid": "measure into its pot",
    "pieces": "prepare and weigh into its pot",
    "slab": "mix and weigh into its pot",
    "baked": "mix and weigh into its tin",
}


def job_of(plan: Plan, dish: Dish, step: int | None) -> Job | None:
    """Return the job of a step before a dish's loading; `step` is none for weighing in."""
    jobs = (j for j in plan.jobs if j.kind == "prepare")
    return next((j for j in jobs if (j.dish_id, j.step) == (dish.id, step)), None)


def what(dish: Dish, step: int | None) -> str:
    """Return what is done in a step, in lower case where it is not in the organiser's words."""
    return WEIGHED[dish.shape] if step is None else dish.before[step].what


def nobodys(plan: Plan, dish: Dish, until: int | None) -> str:
    """Return what has to be done before a step that no helper has as a job: nobody is there then.

    `until` is the step's number, none for weighing in, -1 for loading.
    """
    steps: list[int | None] = [*range(len(dish.before)), None]
    before = steps if until == -1 else steps[: steps.index(until)]
    open_steps: list[str] = []
    for step in before:
        if job_of(plan, dish, step) is not None:
            open_steps = []  # it stands with that job
            continue
        long = "" if step is None else f", {dish.before[step].minutes} min"
        said = what(dish, step)
        open_steps.append(f"{said[:1].lower()}{said[1:]}{long}")
    return f"Before that, and nobody is named for it: {'; '.join(open_steps)}" if open_steps else ""
