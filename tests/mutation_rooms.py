"""The tests of each room, for `tests/mutation.py`: nearest first."""

from __future__ import annotations

CHECKING = "tests/solver/checking/test_"
LAID_BY_HAND = (
    "food_safety",
    "people",
    "turns",
    "jobs",
    "timetable",
    "capacity",
    "instants",
    "wishes",
)
SCHEDULING = "tests/solver/scheduling/test_"
LIVE = "tests/solver/live/test_"
SUN = (  # of tests/published: what checks the sun's place, strength and use against the outside
    *("aiming", "pointing", "sun_position", "sun_window", "turned_only", "clear_sky"),
    *("cloud", "tilted_glass"),
)
HEAT = (  # the same for what heats food, and when it is done
    *("lethality", "specific_heat", "conduction", "boiling_point", "water_test"),
    *("practice", "cookers_in_print", "builder"),
)
LAID_OUT = {  # modules of scheduling, each with the tests that make its columns by hand
    "batches": ("batches",),
    "columns": ("columns", "column_limits", "hands", "ring_hours"),
    "enumeration": ("ways", "lone_and_together"),
    "formulation": ("formulation",),
    "lexicographic": ("model", "timetable"),
    "model": ("model", "column_limits", "timetable"),
    "two_stage": ("moves", "ring_hours", "two_stage"),
}

CONTEST = {  # modules of the contest, the same
    "contest": ("by_hand", "again"),
    "lot": ("lot",),
    "options": ("options", "own_day"),
    "scores": ("scores",),
    "sunshine": ("sunshine",),
    "timetable": ("timetable",),
}


def _laid_by_hand(*nearest: str) -> tuple[str, ...]:
    """Return the tests of the check's main rules, some of them first."""
    names = (*nearest, *(n for n in LAID_BY_HAND if n not in nearest), "rules")
    return tuple(f"{CHECKING}{name}.py" for name in names)


# The tests of each room, nearest first; the first prefix that fits a module counts.
ROOMS: dict[str, tuple[str, ...]] = {
    "solver/checking/contest_rules.py": tuple(
        f"{CHECKING}contest_{name}.py" for name in ("rules", "figures")
    ),
    "solver/checking/rota_rules.py": tuple(
        f"{CHECKING}rota_{name}.py" for name in ("rules", "sights")
    ),
    **{
        f"solver/checking/{name}.py": (f"{CHECKING}{name}.py",)
        for name in ("talk_rules", "sun_rules")
    },
    "solver/checking/show_rules.py": tuple(
        f"{CHECKING}show_{name}.py" for name in ("rules", "hands")
    ),
    "solver/checking/people_rules.py": _laid_by_hand("people", "turns", "jobs"),
    "solver/checking/rules.py": _laid_by_hand("timetable", "capacity", "instants", "wishes"),
    "solver/checking/": _laid_by_hand(),
    "events/food_rules.py": ("tests/events/test_food_rules.py", "tests/events/reading"),
    "events/reading/food_safety.py": ("tests/events/reading/test_food_safety.py",),
    "events/reading/validation.py": (
        "tests/events/reading/test_event_file.py",
        "tests/events/reading",
    ),
    "events/": ("tests/events",),
    "solver/policy.py": (
        *("tests/solver/test_policy.py", "tests/solver/checking", "tests/solver/rostering"),
    ),
    "solver/thermal/safety.py": (
        "tests/solver/thermal/test_done_and_safe.py",
        "tests/published/test_lethality.py",
    ),
    "solver/thermal/": (
        *(f"tests/solver/thermal/test_{name}.py" for name in ("done_and_safe", "food", "pots")),
        *(f"tests/solver/thermal/test_{name}.py" for name in ("one_step", "side_by_side")),
        *(f"tests/published/test_{name}.py" for name in HEAT),
        *("tests/solver/thermal/test_energy_balance.py", "tests/solver/thermal"),
    ),
    "solver/simulation/holding.py": (
        "tests/solver/simulation/test_holding.py",
        "tests/solver/live/test_warmed_again.py",
        "tests/solver/planning/test_food_limits.py",
    ),
    "solver/simulation/query.py": (
        "tests/solver/simulation/test_day_by_hand.py",
        "tests/solver/scheduling/test_timed_load.py",
        "tests/solver/planning/test_food_limits.py",
    ),
    "solver/scheduling/timed_load.py": (
        "tests/solver/scheduling/test_timed_load.py",
        "tests/solver/scheduling/test_column_limits.py",
        "tests/solver/planning/test_food_limits.py",
        "tests/solver/planning/test_dangers.py",
    ),
    "solver/simulation/": (
        "tests/solver/simulation/test_day_by_hand.py",
        "tests/solver/simulation",
        "tests/solver/planning/test_food_limits.py",
    ),
    **{
        f"solver/scheduling/{module}.py": tuple(f"{SCHEDULING}{name}.py" for name in nearest)
        for module, nearest in LAID_OUT.items()
    },
    "solver/scheduling/": ("tests/solver/scheduling", "tests/solver/planning"),
    "solver/planning/": (
        *(f"tests/solver/planning/test_{name}.py" for name in ("settled", "placements")),
        "tests/solver/planning",
        "tests/solver/simulation",
    ),
    "solver/rostering/light_jobs.py": (
        *(f"tests/solver/rostering/test_{name}.py" for name in ("young", "light_jobs")),
    ),
    "solver/rostering/tasks.py": (
        *(f"tests/solver/rostering/test_{name}.py" for name in ("work", "tasks")),
        "tests/solver/scheduling/test_two_stage.py",
        "tests/solver/live/test_replan.py",
    ),
    "solver/rostering/": (
        *(f"tests/solver/rostering/test_{name}.py" for name in ("needed", "roster", "work")),
        *("tests/solver/rostering", "tests/solver/checking"),
    ),
    "solver/risk/monte_carlo.py": (
        "tests/solver/risk/test_told.py",
        "tests/solver/risk/test_one_pot.py",
        "tests/solver/risk/test_chances.py",
    ),
    "solver/risk/rescue": tuple(
        f"tests/solver/risk/test_{name}.py"
        for name in ("rings", "rescues", "flown", "ring_and_gas_day", "chances", "monte_carlo")
    ),
    "solver/risk/": ("tests/solver/risk/test_go_by_hand.py", "tests/solver/risk"),
    "solver/solar/": (
        "tests/solver/solar",
        *(f"tests/published/test_{name}.py" for name in SUN),
        "tests/solver/simulation/test_turned_only.py",
        "tests/solver/feasibility/test_season.py",
    ),
    "solver/live/watch.py": (f"{LIVE}look.py", f"{LIVE}watch.py"),
    "solver/live/replan.py": (f"{LIVE}look.py", f"{LIVE}replan.py"),
    "solver/live/": (
        *(f"{LIVE}{name}.py" for name in ("by_hand", "diary_index", "standing", "strength")),
        "tests/solver/live",
    ),
    **{
        f"solver/talks/{module}.py": tuple(f"tests/solver/talks/test_{n}.py" for n in nearest)
        for module, nearest in (("talks", ("by_hand", "talks")), ("shows", ("by_hand", "shows")))
    },
    "solver/talks/": (
        *("tests/solver/talks/test_hands.py", "tests/solver/talks", f"{CHECKING}talk_rules.py"),
    ),
    "solver/rounds/sights.py": ("tests/solver/talks/test_hands.py",),
    "solver/rounds/rota.py": ("tests/solver/rounds/test_from_plan.py",),
    "solver/rounds/": ("tests/solver/rounds", f"{CHECKING}rota_rules.py"),
    **{
        f"solver/contest/{module}.py": tuple(f"tests/solver/contest/test_{n}.py" for n in nearest)
        for module, nearest in CONTEST.items()
    },
    "solver/contest/": ("tests/solver/contest", f"{CHECKING}contest_rules.py"),
    "service/application/solver_pool.py": ("tests/service/application/test_work_limits.py",),
}
