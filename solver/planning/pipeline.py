"""From an event to a checked plan: estimate, place, walk, replay, check.

A plan that the rule check or the replay refuses is never returned: PlanBroken says what broke.
"""

from __future__ import annotations

import numpy as np

from events.errors import PlanBroken
from events.model import Cooker, Event, changed
from solver.checking.rules import check
from solver.plan import Placement, Plan, Reason, Turn, Unplaced, Window
from solver.planning.plan_warnings import not_saved, warnings_of
from solver.policy import SLOT_MIN
from solver.risk.gas import gas_day
from solver.risk.monte_carlo import simulate
from solver.risk.rescue import rescues
from solver.rostering.tasks import around, programme, with_past, work_of
from solver.scheduling.batches import ceil_to_slot, pools
from solver.scheduling.columns import Candidate, CandidateSet
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.explanation import reasons
from solver.scheduling.formulation import ask, assign_pool
from solver.scheduling.problem import Problem, Solution
from solver.simulation.day_state import ReplanState
from solver.simulation.durations import Day, Estimate, make_day, skyline_of
from solver.simulation.query import DurationEstimate
from solver.simulation.replay import Track, Walk, breaches, replay, replay_all
from solver.solar.horizon import profile
from solver.solar.irradiance import at_minute, floor_deg, minute_of, sun_steps
from solver.solar.position import window
from solver.thermal.energy_balance import Array

CUTS_MOST = 30
# Deterministic seconds for each level: the day is short, so planning again proves less.
PLAN_LIMIT, LIVE_LIMIT = 3.0, 1.0
CREW_LIMIT, LIVE_CREW_LIMIT = 0.6, 0.3


def windows(event: Event) -> tuple[Window, ...]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    site = event.site
    floor = floor_deg(event)

    def of(cooker: Cooker | None) -> Window:
        low, high = (cooker.sun_low_deg, cooker.sun_high_deg) if cooker else (0.0, 90.0)
        return Window(
            cooker_id=cooker.id if cooker else None,
            stretches=window(
                latitude_deg=site.latitude_deg,
                longitude_deg=site.longitude_deg,
                day=event.date,
                zone_name=site.timezone,
                low_deg=max(floor, low),
                high_deg=high,
                skyline=skyline_of(event, cooker) if cooker else profile(event, None),
            ),
        )

    return (of(None), *(of(c) for c in event.cookers if c.on_sun))


def estimates(event: Event) -> list[Estimate]:
    """Return the table of minutes: every dish, cooker and start, or why not."""
    day = make_day(event)
    found = enumerate_candidates(day)
    out: list[Estimate] = []
    seen: set[tuple[str, str]] = set()
    alike = pools(day)
    for told in {id(w.told): w.told for w in found.ways if len(w.batches) == 1}.values():
        dish, cooker = told.ask.load.dishes[0], told.ask.cooker
        if (dish.id, cooker.id) in seen:
            continue  # a second pot size: the table shows the smallest
        seen.add((dish.id, cooker.id))
        out += [
            _estimate(day, told, k, member)
            for member in alike.get(cooker.id, (cooker.id,))
            for k in range(len(told.ask.starts))
        ]
    for dish_id, why in found.reasons.items():
        mass = found.batches[dish_id][0].mass_kg
        out += [
            Estimate(
                dish_id=dish_id,
                cooker_id=cooker_id,
                loaded_at=day.sky.start_at,
                batch_kg=mass,
                fast_min=None,
                expected_min=None,
                cautious_min=None,
                reason=text,
            )
            for cooker_id, text in why.items()
        ]
    return out


def _estimate(day: Day, told: DurationEstimate, k: int, cooker_id: str) -> Estimate:
    def whole(values: Array) -> int | None:
        return int(np.ceil(values[0, k])) if np.isfinite(values[0, k]) else None

    return Estimate(
        dish_id=told.ask.load.dishes[0].id,
        cooker_id=cooker_id,
        loaded_at=at_minute(day.sky, int(told.ask.starts[k])),
        batch_kg=told.ask.load.masses_kg[0],
        fast_min=whole(told.fast_min),
        expected_min=whole(told.expected_min),
        cautious_min=whole(told.cautious_min),
        reason=None,
    )


def make_plan(event: Event, *, hurried: bool = False) -> Plan:
    """Return the checked plan of an event. The same event gives the same plan.

    A hurried one has the limits of the day itself: it may leave more levels unproven.

    Raises PlanBroken where check or replay finds a fault: a bug of ours, never shown.
    """
    return plan_day(make_day(event), hurried=hurried)


def plan_day(day: Day, *, hurried: bool = False) -> Plan:
    """Return the checked plan of a day; where it has a `since`, what had begun goes on."""
    from solver.rostering.model import roster, to_turns  # noqa: PLC0415
    from solver.scheduling.lexicographic import MOVED, solve  # noqa: PLC0415  ortools takes 0.8 s to import

    event, since = day.event, day.replan
    live = hurried or since is not None
    found = enumerate_candidates(day)
    problem = ask(day, found)
    cuts: list[frozenset[int]] = []
    while True:
        answer = solve(problem, cuts=cuts, deterministic_limit=LIVE_LIMIT if live else PLAN_LIMIT)
        chosen = assign_pool(day, [found.ways[k] for k in answer.chosen])
        tasks, stretches = work_of(day, chosen)
        team = roster(
            problem.people,
            tasks,
            stretches,
            before=since.plan if since else None,
            limit=LIVE_CREW_LIMIT if live else CREW_LIMIT,
        )
        if team is not None:
            break
        if len(cuts) >= CUTS_MOST:
            raise PlanBroken([f"no crew found for {len(chosen)} loads after {CUTS_MOST} trials"])
        cuts.append(_clash(day, problem, found, answer))
    turns, walks = to_turns(day.sky, stretches, team.trips)
    stays = {t.job.id: who for t, who in zip(tasks, team.people, strict=True)}
    jobs = [
        changed(t.job, helper_ids=(*stays.get(t.led_by or "", ()), *who))
        for t, who in zip(tasks, team.people, strict=True)
    ]
    jobs += [*programme(day), *around(day, chosen)]
    levels = answer.levels
    if since is None:
        levels = tuple(level for level in levels if level.name != MOVED)
    else:
        turns, walks, jobs = with_past(day, since, turns, walks, jobs)
    placements, broken = _place(day, chosen, turns)
    plan = Plan(
        event_id=day.event_id,
        title=event.title,
        sky="forecast" if event.weather.hours else "clear",
        sun=sun_steps(event, day.sky),
        windows=windows(event),
        placements=placements,
        turns=turns,
        walks=walks,
        jobs=tuple(sorted(jobs, key=lambda j: (j.at, j.id))),
        unplaced=_unplaced(event, found, placements, since),
        levels=levels,
        risk=None,
        rescues=(),
        gas_day=gas_day(day),
        warnings=warnings_of(event, placements),
        replanned_at=at_minute(day.sky, since.minute) if since else None,
        reasons=tuple(reasons(day, found.ways, chosen)),
        started_ids=tuple(
            sorted(b.id for w in chosen if w.in_progress is not None for b in w.batches)
        ),
    )
    if event.weather.hours:
        plan = changed(plan, risk=simulate(day, plan))
    rescue = rescues(day, plan)
    warnings = (*plan.warnings, *not_saved(event, placements, rescue.unsaved_ids))
    plan = changed(plan, rescues=rescue.rescues, warnings=warnings)
    broken += [str(breach) for breach in check(event, plan)]
    if broken:
        raise PlanBroken(broken)
    return plan


def _clash(day: Day, problem: Problem, found: CandidateSet, answer: Solution) -> frozenset[int]:
    """Return a smallest set of chosen options that the people can't do together."""
    from solver.rostering.model import possible  # noqa: PLC0415  as above

    core = list(answer.chosen)
    for k in answer.chosen:
        rest = [i for i in core if i != k]
        if not possible(
            problem.people, *work_of(day, assign_pool(day, [found.ways[i] for i in rest]))
        ):
            core = rest
    return frozenset(core)


def _place(
    day: Day, chosen: list[Candidate], turns: tuple[Turn, ...]
) -> tuple[tuple[Placement, ...], list[str]]:
    placements: list[Placement] = []
    broken: list[str] = []
    stay: list[tuple[Candidate, Walk]] = []
    for way in chosen:
        o, told = way.column, way.told
        before = o.occupies[0] < o.load_slot
        preheat_at = at_minute(day.sky, o.occupies[0] * SLOT_MIN) if before else None
        loaded_at = at_minute(day.sky, o.load_slot * SLOT_MIN)
        lifted_at = at_minute(day.sky, o.lift_slot * SLOT_MIN)
        if way.in_progress is not None:
            placements += [_goes_on(day, way, p) for p in range(len(way.batches))]
            continue
        begins = preheat_at or loaded_at
        own = [t for t in turns if t.cooker_id == o.cooker_id and begins <= t.at < lifted_at]
        ask = told.ask
        if way.then is None:
            stay.append((way, Walk(ask.cooker, ask.load, own, preheat_at, loaded_at, lifted_at)))
            continue
        tracks = replay(
            day,
            ask.cooker,
            ask.load,
            turns=own,
            preheat_at=preheat_at,
            loaded_at=loaded_at,
            lifted_at=lifted_at,
            then=way.then,
            served_at=at_minute(day.sky, o.serve_slot * SLOT_MIN),
        )
        _put(day, way, tracks, placements, broken)
    for (way, _), tracks in zip(stay, replay_all(day, [w for _, w in stay]), strict=True):
        _put(day, way, tracks, placements, broken)
    return tuple(sorted(placements, key=lambda p: (p.loaded_at, p.id))), broken


def _put(
    day: Day, way: Candidate, tracks: list[Track], placements: list[Placement], broken: list[str]
) -> None:
    for p, track in enumerate(tracks):
        placement = _placement(day, way, p, track)
        placements.append(placement)
        broken += breaches(day, placement, track)


def _placement(day: Day, way: Candidate, p: int, track: Track) -> Placement:
    o, told, batch = way.column, way.told, way.batches[p]
    start = o.load_slot * SLOT_MIN
    done = way.done_minutes()[p]
    before = o.occupies[0] < o.load_slot
    slow = float(told.cautious_min[p, way.index])
    hot = min(ceil_to_slot(start + min(float(told.hot_min[p, way.index]), 1e6)), done)
    return Placement(
        id=batch.id,
        dish_id=batch.dish.id,
        batch=batch.number,
        batches=batch.of,
        mass_kg=round(batch.mass_kg, 3),
        litres=round(batch.litres, 2),
        portions=batch.portions,
        pot_id=o.pot_ids[p],
        cooker_id=o.cooker_id,
        fill=f"{o.cooker_id}-{start // 60:02d}{start % 60:02d}-{o.batch_ids[0]}",
        route=o.route,
        then_cooker_id=o.then_cooker_id,
        preheat_at=at_minute(day.sky, o.occupies[0] * SLOT_MIN) if before else None,
        loaded_at=at_minute(day.sky, start),
        hot_at=at_minute(day.sky, hot),
        done_at=at_minute(day.sky, done),
        fast_at=at_minute(
            day.sky, min(ceil_to_slot(start + float(told.fast_min[p, way.index])), done)
        ),
        cautious_at=at_minute(day.sky, ceil_to_slot(start + slow)) if np.isfinite(slow) else None,
        lifted_at=at_minute(day.sky, o.lift_slot * SLOT_MIN),
        off_at=at_minute(day.sky, o.then_occupies[1] * SLOT_MIN) if o.then_occupies else None,
        promised_at=at_minute(day.sky, batch.serve_minute),
        served_at=at_minute(day.sky, batch.serve_minute),
        held_min=batch.serve_minute - done,
        margin_min=batch.serve_minute - done - batch.dish.rest_min,
        peak_c=round(track.peak_c, 1),
        spent_min=round(day.spent(batch.id)),
        between_5_and_60_min=round(track.clock_min + day.spent(batch.id)),
        water_lost_kg=round(track.steam_kg, 2),
        boil_dry_min=track.boil_dry_min,
        curve=track.curve,
    )


def _goes_on(day: Day, way: Candidate, p: int) -> Placement:
    """Return a placement that had begun: where it is and since when stays, what follows is new."""
    o, told, batch, begun = way.column, way.told, way.batches[p], way.in_progress
    assert begun is not None
    old = begun.placements[p]
    start = minute_of(day.sky, old.loaded_at)
    lifted = begun.stage == "lifted"
    usual, slow = float(told.expected_min[p, 0]), float(told.cautious_min[p, 0])
    done = ceil_to_slot(start + usual)
    if lifted:  # it was taken for done when it was lifted
        out = minute_of(
            day.sky, (old.off_at if old.route == "sun+burner" else None) or old.lifted_at
        )
        done = min(max(minute_of(day.sky, old.done_at), start + SLOT_MIN), out)
    served = batch.serve_minute
    hot = min(ceil_to_slot(start + min(float(told.hot_min[p, 0]), 1e6)), done)
    fast = min(ceil_to_slot(start + min(float(told.fast_min[p, 0]), 1e6)), done)
    cautious = None
    if np.isfinite(slow):
        cautious = at_minute(day.sky, max(done, ceil_to_slot(start + slow)))
    leaves = at_minute(day.sky, o.lift_slot * SLOT_MIN)
    off = at_minute(day.sky, o.then_occupies[1] * SLOT_MIN) if o.then_occupies else None
    if begun.stage != "cooking":
        off = leaves if begun.stage == "on-ring" else old.off_at
        if old.route == "sun+insulated":
            off = at_minute(day.sky, batch.serve_minute)
    return changed(
        old,
        route=o.route if begun.stage == "cooking" else old.route,
        then_cooker_id=o.then_cooker_id if begun.stage == "cooking" else old.then_cooker_id,
        hot_at=at_minute(day.sky, hot),
        done_at=at_minute(day.sky, done),
        fast_at=at_minute(day.sky, fast),
        cautious_at=at_minute(day.sky, done) if lifted else cautious,
        lifted_at=old.lifted_at if begun.stage != "cooking" else leaves,
        off_at=off,
        served_at=at_minute(day.sky, served),
        held_min=served - done,
        margin_min=served - done - batch.dish.rest_min,
        between_5_and_60_min=round(begun.clock_min[p]),
        curve=begun.curves[p],
    )


def _unplaced(
    event: Event, found: CandidateSet, placements: tuple[Placement, ...], since: ReplanState | None
) -> tuple[Unplaced, ...]:
    """Return the dishes that have a batch with no place; what is eaten is not looked for."""
    placed = {p.id for p in placements} | {p.dish_id for p in placements if not since}
    eaten = (
        {p.dish_id for p in since.plan.placements if p.id in since.finished_ids} if since else set()
    )
    return tuple(
        Unplaced(dish_id=d.id, reasons=_reasons(event, found, d.id))
        for d in event.dishes
        if d.id not in placed
        and not (d.id in eaten and not found.batches.get(d.id))
        and not any(
            {b.id for b in cut} <= placed
            for cut in (found.batches.get(d.id), found.also.get(d.id))
            if cut
        )
    )


def _short_of_pots(event: Event, found: CandidateSet, dish_id: str) -> str:
    """Return what is said where every cut of a dish needs more pots than there are, or nothing."""
    out = ""
    for cut in (found.batches.get(dish_id, ()), found.also.get(dish_id, ())):
        ids = {b.id for b in cut}
        ways = [w.column for w in found.ways if ids.intersection(w.column.batch_ids)]
        kinds = {p for o in ways for p in o.pot_ids}
        pots = [p for p in event.pots if p.id in kinds]
        there = sum(p.count for p in pots)
        if not cut or not pots:
            continue
        if there >= len(cut):
            return ""
        names = " or ".join(p.name.lower() for p in pots)
        count = f"is {there}" if there == 1 else f"are {there}"
        out = out or f"needs {len(cut)} pots at once ({names}); there {count}"
    return out


def _reasons(event: Event, found: CandidateSet, dish_id: str) -> tuple[Reason, ...]:
    out = [Reason(cooker_id=c, text=t) for c, t in found.reasons.get(dish_id, {}).items()]
    cookers = {
        w.column.cooker_id for w in found.ways if any(b.dish.id == dish_id for b in w.batches)
    }
    short = _short_of_pots(event, found, dish_id)
    if short:
        out.append(Reason(cooker_id=None, text=short))
    elif cookers:
        names = ", ".join(c.name for c in event.cookers if c.id in cookers)
        out.append(
            Reason(
                cooker_id=None,
                text=f"would be ready in time in {names}, but there the "
                "cooker, its pot or its helper is taken by dishes that come first",
            )
        )
    return tuple(out)
