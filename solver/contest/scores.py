"""From judges' sheets to places: sums in exact fractions, missing sheets evened out, ties by rule.

Nothing is dropped: no highest, no lowest, no outlier.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from events.contest import Criterion, TieRule
from solver.contest.lot import key


@dataclass(frozen=True)
class Sheet:
    """One judge's points for one entry, by criterion."""

    judge_id: str
    entry_id: str
    points: Mapping[str, Fraction]


@dataclass(frozen=True)
class Place:
    """An entry's place, with what decided where others have as much."""

    entry_id: str
    place: int
    total: Fraction
    by_criterion: Mapping[str, Fraction]
    sheets: int
    decided_by: TieRule | None = None


@dataclass(frozen=True)
class Standing:
    """The places of those that can be compared, and who has too few sheets to be placed."""

    places: tuple[Place, ...]
    too_few: tuple[str, ...]
    comparable: bool  # False: some sheets share no judge and no entry with the others


def total_of(sheet: Sheet, criteria: Sequence[Criterion]) -> Fraction:
    """Return a sheet's points of a hundred: each criterion's share by its weight."""
    weights = sum(c.weight for c in criteria)
    return sum(
        (Fraction(100 * c.weight, weights) * sheet.points[c.id] / c.points_max for c in criteria),
        Fraction(),
    )


def evened(sheets: Sequence[tuple[str, str, Fraction]]) -> dict[str, Fraction]:
    """Return each entry's figure with strict and mild judges evened out.

    Least squares of figure = entry + judge over the (judge, entry, figure) there are, the judges'
    parts adding up to nothing. With every sheet there this is the plain mean, exactly. Sheets that
    share no judge and no entry can't be compared: each such part is evened for itself.
    """
    result: dict[str, Fraction] = {}
    for part in parts(sheets):
        result |= _evened_part(part)
    return result


def parts(sheets: Sequence[tuple[str, str, Fraction]]) -> list[list[tuple[str, str, Fraction]]]:
    """Return sheets in parts that share no judge and no entry."""
    left, found = list(sheets), []
    while left:
        part, judges, entries = [left.pop(0)], set[str](), set[str]()
        size = 0
        while size != len(part):
            size = len(part)
            judges |= {j for j, _, _ in part}
            entries |= {e for _, e, _ in part}
            part += [s for s in left if s[0] in judges or s[1] in entries]
            left = [s for s in left if s[0] not in judges and s[1] not in entries]
        found.append(part)
    return found


def _evened_part(sheets: Sequence[tuple[str, str, Fraction]]) -> dict[str, Fraction]:
    """Solve the normal equations of the judges' parts, then average what is left by entry."""
    judges = sorted({j for j, _, _ in sheets})
    by_entry: dict[str, list[tuple[str, Fraction]]] = defaultdict(list)
    for judge, entry, figure in sheets:
        by_entry[entry].append((judge, figure))
    size, number = len(judges), {j: n for n, j in enumerate(judges)}
    rows = [[Fraction()] * (size + 1) for _ in judges]
    for of_entry in by_entry.values():
        mean = sum((f for _, f in of_entry), Fraction()) / len(of_entry)
        for judge, figure in of_entry:
            row = rows[number[judge]]
            row[size] += figure - mean
            row[number[judge]] += 1
            for other, _ in of_entry:
                row[number[other]] -= Fraction(1, len(of_entry))
    rows[-1] = [Fraction(1)] * size + [Fraction()]  # one is implied by the others: they add up to 0
    part = _solved(rows)
    return {
        e: sum((f - part[number[j]] for j, f in of_entry), Fraction()) / len(of_entry)
        for e, of_entry in by_entry.items()
    }


def _solved(rows: list[list[Fraction]]) -> list[Fraction]:
    """Return the solution of linear equations, by elimination in exact fractions."""
    size = len(rows)
    for n in range(size):
        pivot = next(r for r in range(n, size) if rows[r][n])
        rows[n], rows[pivot] = rows[pivot], rows[n]
        rows[n] = [value / rows[n][n] for value in rows[n]]
        for r in range(size):
            if r != n and rows[r][n]:
                factor = rows[r][n]
                rows[r] = [a - factor * b for a, b in zip(rows[r], rows[n], strict=True)]
    return [row[size] for row in rows]


def standing(
    sheets: Sequence[Sheet],
    criteria: Sequence[Criterion],
    *,
    asked: Mapping[str, int],
    ties: Sequence[TieRule],
    sheets_least: int | None,
    seed: str,
) -> Standing:
    """Return the places of all entries that have enough sheets; `asked` counts them by entry."""
    counts = {e: sum(s.entry_id == e for s in sheets) for e in asked}
    enough = {e for e, n in counts.items() if n and n >= (sheets_least or -(-asked[e] // 2))}
    counted = [s for s in sheets if s.entry_id in enough]
    figures = [(s.judge_id, s.entry_id, total_of(s, criteria)) for s in counted]
    totals = evened(figures)
    by_criterion = {
        c.id: evened([(s.judge_id, s.entry_id, s.points[c.id]) for s in counted]) for c in criteria
    }
    decide = _deciders(counted, criteria, by_criterion, seed)
    groups: dict[Fraction, list[str]] = defaultdict(list)
    for e in sorted(enough):
        groups[totals[e]].append(e)
    places: list[Place] = []
    for total in sorted(groups, reverse=True):
        for tied, rule in _parted(groups[total], ties, decide):
            place = len(places) + 1
            places += [
                Place(
                    entry_id=e,
                    place=place,
                    total=total,
                    by_criterion={c: figures[e] for c, figures in by_criterion.items()},
                    sheets=counts[e],
                    decided_by=rule,
                )
                for e in tied
            ]
    too_few = tuple(sorted(e for e in asked if e not in enough))
    return Standing(tuple(places), too_few, len(parts(figures)) <= 1)


Decider = Callable[[str, Sequence[str]], tuple[Fraction, ...]]


def _deciders(
    sheets: Sequence[Sheet],
    criteria: Sequence[Criterion],
    by_criterion: Mapping[str, Mapping[str, Fraction]],
    seed: str,
) -> dict[TieRule, Decider]:
    """Return for each rule what an entry of a tie has by it: more comes first."""
    heaviest = sorted(criteria, key=lambda c: -c.weight)
    figures = {(s.judge_id, s.entry_id): total_of(s, criteria) for s in sheets}
    judges = {s.judge_id for s in sheets}

    def preferred(entry: str, tied: Sequence[str]) -> tuple[Fraction, ...]:
        wins = Fraction()
        for judge in judges:
            for other in tied:
                if (judge, entry) in figures and (judge, other) in figures and other != entry:
                    one, two = figures[judge, entry], figures[judge, other]
                    wins += (one > two) - (one < two)
        return (wins,)

    return {
        "heaviest": lambda entry, _: tuple(by_criterion[c.id][entry] for c in heaviest),
        "more-judges": preferred,
        "lot": lambda entry, _: (-Fraction(int(key(seed, "ties", entry), 16)),),
    }


def _parted(
    tied: Sequence[str], ties: Sequence[TieRule], decide: Mapping[TieRule, Decider]
) -> list[tuple[list[str], TieRule | None]]:
    """Return entries that have as much in the order of the rules; those still equal together."""
    if len(tied) == 1:
        return [(list(tied), None)]
    for rule in ties:
        if rule not in decide:
            continue
        figures = {e: decide[rule](e, tied) for e in tied}
        if len(set(figures.values())) > 1:
            ordered: list[tuple[list[str], TieRule | None]] = []
            for figure in sorted(set(figures.values()), reverse=True):
                same = [e for e in tied if figures[e] == figure]
                for entries, deeper in _parted(same, ties, decide):
                    ordered.append((entries, deeper or rule))
            return ordered
    return [(list(tied), "shared")]
