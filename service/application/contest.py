"""The contest's count: blind numbers, judges' sheets, visitors' votes, and the results.

Sheets are appended like entries of the diary. Nobody is told sums before the count is closed.
"""

from __future__ import annotations

import hmac
import json
import secrets
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from events.contest import Contest, Judge
from events.errors import Busy, FaultyEvent, NotFound, Place
from events.model import Event
from events.storage.tables import ContestRecord
from events.table import changed
from service.application.contest_secrets import ContestSecrets
from service.application.context import Context
from service.application.events import EventService
from service.application.plans import PlanService
from solver.contest.scores import Sheet, Standing, standing
from solver.contest_plan import ContestPlan


@dataclass(frozen=True)
class SheetStored:
    """A judge's sheet that counts: the newest of this judge for this number."""

    judge_id: str
    number: int
    points: Mapping[str, int]
    received_at: datetime


@dataclass(frozen=True)
class Votes:
    """The visitors' choice: ballots, and how many picked each entry."""

    ballots: int
    picks: Mapping[str, int]


@dataclass(frozen=True)
class Results:
    """What comes out once the count is closed."""

    closed_at: datetime
    standing: Standing
    votes: Votes | None  # None: too few ballots to show
    numbers: Mapping[str, int]
    reopened: tuple[str, ...]  # for what reasons it was opened again


class ContestService:
    """What judges, visitors and the organiser do with a contest that is drawn."""

    def __init__(self, context: Context, events: EventService, plans: PlanService) -> None:
        self._context, self._store = context, context.store.contest
        self._events, self._plans = events, plans

    def draw(self, name: str, seed: str, *, etag: str | None) -> None:
        """Write the seed into the event; it is planned anew. A draw stays among the records."""
        event = self._context.store.events.get(name).event
        contest = _contest(event)
        drawn = changed(contest, seed=" ".join(seed.split()))
        self._events.change(name, changed(event, contest=drawn), etag=etag)
        body = json.dumps({"seed": drawn.seed, "lists_sha256": self._lists(name)})
        self._append(name, "drawn", body)

    def draws(self, name: str) -> list[ContestRecord]:
        """Return every draw that was made here, in order."""
        return [r for r in self._store.records(name) if r.kind == "drawn"]

    def secrets(self, name: str) -> ContestSecrets:
        """Return what follows from the contest's secret; it is made once, and never changed."""
        fresh, now = secrets.token_hex(24), self._context.now()
        stored = self._store.append(name, id="secret", kind="secret", body=fresh, now=now)
        return ContestSecrets(stored.body)

    def numbers(self, name: str) -> dict[str, int]:
        """Return the blind number of each entry."""
        event = self._context.store.events.get(name).event
        return self.secrets(name).numbers([e.id for e in event.entries])

    def judge_of(self, name: str, code: str) -> Judge:
        """Return whose page a code opens; raises NotFound."""
        event, own = self._context.store.events.get(name).event, self.secrets(name)
        for judge in event.judges if event.contest else ():
            if hmac.compare_digest(own.judge_code(judge.id).encode(), code.encode()):
                return judge
        raise NotFound("This code opens no judge's page.")

    def asked(self, name: str, judge_id: str) -> list[int]:
        """Return the numbers a judge tastes, in the order of their tastings."""
        numbers = self.numbers(name)
        own = [
            (j.at, numbers[t.entry_id])
            for t in self._plan(name).tastings
            for j in t.judges
            if j.judge_id == judge_id
        ]
        return [number for _, number in sorted(own)]

    def write_sheet(
        self, name: str, judge_id: str, number: int, points: Mapping[str, int], *, id: str
    ) -> None:
        """Append a sheet; the same id counts once, a newer one of the same number instead."""
        if self.closed_at(name) is not None:
            raise Busy("The count is closed.")
        event = self._context.store.events.get(name).event
        if number not in self.asked(name, judge_id):
            raise NotFound(f"{number} is not on this judge's list.")
        for c in event.criteria:
            if not 0 <= points.get(c.id, -1) <= c.points_max:
                place, most = Place("sheet"), c.points_max
                fault = place.fault(c.id, "", "points-missing", criterion=c.name, most=most)
                raise FaultyEvent("the sheet", [fault])
        kept = {c.id: points[c.id] for c in event.criteria}
        body = json.dumps({"judge": judge_id, "number": number, "points": kept})
        now = self._context.now()
        self._store.append(name, id=id, kind="sheet", body=body, now=now)

    def sheets_of(self, name: str, judge_id: str) -> dict[int, SheetStored]:
        """Return a judge's own sheets by number."""
        return {s.number: s for s in self._sheets(name) if s.judge_id == judge_id}

    def missing(self, name: str) -> dict[str, list[int]]:
        """Return, by judge, the numbers without a sheet: all that is told before the end."""
        there = {(s.judge_id, s.number) for s in self._sheets(name)}
        event = self._context.store.events.get(name).event
        missing = {
            j.id: [n for n in self.asked(name, j.id) if (j.id, n) not in there]
            for j in event.judges
        }
        return {judge: numbers for judge, numbers in missing.items() if numbers}

    def codes(self, name: str) -> list[str]:
        """Return the voting codes, for the slips that are cut and given away."""
        event = self._context.store.events.get(name).event
        own = self.secrets(name)
        return [own.vote_code(n) for n in range(event.votes.codes)]

    def vote(self, name: str, code: str, picks: tuple[int, ...]) -> bool:
        """Take a visitor's vote; False where the code was used. Raises NotFound for no code."""
        event, now = self._context.store.events.get(name).event, self._context.now()
        votes, contest = event.votes, _contest(event)
        given = code.strip().upper()
        if given not in self.codes(name):
            raise NotFound("No ticket has that code. Look again.")
        opens = event.instant(votes.start or contest.start)
        closes = event.instant(votes.end or contest.end)
        if not opens <= now < closes or self.closed_at(name) is not None:
            raise Busy("Votes are taken during the hours on the ticket only.")
        entry_ids = {n: e for e, n in self.numbers(name).items()}
        chosen = dict.fromkeys(entry_ids[n] for n in picks if n in entry_ids)
        if not 1 <= len(chosen) <= votes.picks:
            fault = Place("vote").fault("picks", len(chosen), "picks", most=votes.picks)
            raise FaultyEvent("the vote", [fault])
        digest = self.secrets(name).used_digest(given)
        return self._store.vote(name, digest=digest, picks=tuple(chosen))

    def ballots(self, name: str) -> int:
        """Return how many have voted."""
        return len(self._store.ballots(name))

    def close(self, name: str) -> None:
        """Close the count: sheets and votes are refused from now on, sums are worked out."""
        event = self._context.store.events.get(name).event
        contest = _contest(event)
        if self._context.now() < event.instant(contest.results_from or contest.end):
            raise Busy("The count can be closed once the results' hour has come.")
        if self.closed_at(name) is None:
            self._append(name, "closed", "")

    def reopen(self, name: str, reason: str) -> None:
        """Open the count again; the reason stays on the results for good."""
        if not reason.strip():
            raise FaultyEvent("the count", [Place("count").fault("reason", "", "reason-missing")])
        if self.closed_at(name) is not None:
            self._append(name, "reopened", reason.strip()[:200])

    def closed_at(self, name: str) -> datetime | None:
        """Return since when the count is closed; None while it is open."""
        closed: datetime | None = None
        for r in self._store.records(name):
            if r.kind == "closed":
                closed = r.received_at
            elif r.kind == "reopened":
                closed = None
        return closed

    def results(self, name: str) -> Results:
        """Return places and sums; NotFound while the count is open."""
        closed_at = self.closed_at(name)
        if closed_at is None:
            raise NotFound("There are no results yet.")
        event = self._context.store.events.get(name).event
        plan, numbers = self._plan(name), self.numbers(name)
        contest, entry_ids = _contest(event), {n: e for e, n in numbers.items()}
        sheets = [
            Sheet(
                s.judge_id,
                entry_ids[s.number],
                {c.id: Fraction(s.points.get(c.id, 0)) for c in event.criteria},
            )
            for s in self._sheets(name)
            if s.number in entry_ids
        ]
        placed = standing(
            sheets,
            event.criteria,
            asked={t.entry_id: len(t.judges) for t in plan.tastings},
            ties=contest.ties,
            sheets_least=contest.sheets_least,
            seed=contest.seed or "",
        )
        records = self._store.records(name)
        reasons = tuple(r.body for r in records if r.kind == "reopened")
        return Results(closed_at, placed, self._votes(event, name), numbers, reasons)

    def _votes(self, event: Event, name: str) -> Votes | None:
        ballots = self._store.ballots(name)
        if len(ballots) < event.votes.ballots_least:
            return None
        return Votes(len(ballots), Counter(pick for picks in ballots for pick in picks))

    def _sheets(self, name: str) -> list[SheetStored]:
        """Return the sheets that count: the newest of each judge for each number."""
        newest: dict[tuple[str, int], SheetStored] = {}
        for r in self._store.records(name):
            if r.kind == "sheet":
                body = json.loads(r.body)
                sheet = SheetStored(body["judge"], body["number"], body["points"], r.received_at)
                newest[sheet.judge_id, sheet.number] = sheet
        return list(newest.values())

    def _plan(self, name: str) -> ContestPlan:
        contest = self._plans.done(name).contest
        if contest is None or contest.draw is None:
            raise NotFound(f"No contest is drawn in {name}.")
        return contest

    def _lists(self, name: str) -> str:
        plan = self._plans.in_force(name).plan
        return plan.contest.lists_sha256 if plan and plan.contest else ""

    def _append(self, name: str, kind: str, body: str) -> None:
        now = self._context.now()
        self._store.append(name, id=secrets.token_hex(16), kind=kind, body=body, now=now)
        self._context.changes.notify(name)


def _contest(event: Event) -> Contest:
    if event.contest is None:
        raise NotFound(f"{event.title} is no contest.")
    return event.contest
