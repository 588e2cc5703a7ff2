"""A simulation run: members of an ensemble stepped forward until their pots are done."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Ensemble, Forcing, Ints
from solver.thermal.safety import CLOCK_TO_C

Cores = NDArray[np.float32]  # °C by (step, pot, member); NaN past a member's end

STEP_S = 120.0
# The coarse step may call a batch done this much before the replay's fine one does.
GUARD_MIN = 1.0
DROP_EVERY = 5  # steps after which members that are done are dropped


@dataclass(frozen=True)
class SimulationResult:
    """Minutes after loading by (pot, member), inf where never; the hottest temperatures."""

    done_min: Array
    hot_min: Array  # until 60 °C in the middle
    clock_min: Array  # minutes between 5 and 60 °C until done
    peak_c: Array  # hottest core
    body_peak_c: Array  # (members,)
    core_c: Cores | None = None  # by step from loading on, where members were followed

    @property
    def size_bytes(self) -> int:
        """How much memory it takes."""
        return sum(
            values.nbytes
            for field in dataclasses.fields(self)
            if (values := getattr(self, field.name)) is not None
        )


def part_of(result: SimulationResult, members: slice) -> SimulationResult:
    """Return a copy of some members' results; their followed middles end with their last step."""
    core_c = result.core_c
    if core_c is not None:
        core_c = core_c[:, :, members]
        steps = int(np.flatnonzero(np.isfinite(core_c).any(axis=(1, 2)))[-1]) + 1
        core_c = core_c[:steps].copy()
    return SimulationResult(
        result.done_min[:, members].copy(),
        result.hot_min[:, members].copy(),
        result.clock_min[:, members].copy(),
        result.peak_c[:, members].copy(),
        result.body_peak_c[members].copy(),
        core_c,
    )


def join(parts: Sequence[Ensemble]) -> Ensemble:
    """Return one ensemble of several whose loads have the same number of pots."""
    return Ensemble(
        **{
            f.name: np.concatenate([getattr(p, f.name) for p in parts], axis=-1)
            for f in dataclasses.fields(Ensemble)
        }
    )


def select(state: Ensemble, members: Bools | Ints) -> Ensemble:
    """Return a copy of the selected members."""
    some = np.flatnonzero(members) if members.dtype == np.bool_ else members
    return Ensemble(
        **{f.name: getattr(state, f.name).take(some, axis=-1) for f in dataclasses.fields(Ensemble)}
    )


def advance(
    state: Ensemble, forcing: Forcing, *, until: Array, boil_c: float, dt_s: float = 180.0
) -> None:
    """Step all members, in place, until each has reached its minute (or just passed it)."""
    left_min = float(np.max(until - state.minute)) if state.minute.size else 0.0
    for _ in range(max(0, int(np.ceil(left_min * 60 / dt_s - 1e-9)))):
        heat.step(state, forcing, dt_s=dt_s, boil_c=boil_c)


class Runner(Protocol):
    """What steps members until they are done, as `run` does."""

    def __call__(
        self,
        state: Ensemble,
        forcing: Forcing,
        *,
        until: Array,
        boil_c: float,
        dt_s: float,
        follow: bool,
    ) -> SimulationResult:
        """As the function of that name does."""


_runners: list[Runner] = []  # of this process, in the place of numpy: `compiled.py`


def run_by(*runners: Runner) -> None:
    """Have every run of this process made by another runner; by numpy again, if by none."""
    _runners[:] = runners


def run(
    state: Ensemble,
    forcing: Forcing,
    *,
    until: Array,
    boil_c: float,
    dt_s: float = STEP_S,
    follow: bool = False,
) -> SimulationResult:
    """Step members until every pot is done or the member's minute reaches `until`.

    `follow` steps on to `until` though they are done, and keeps the middle's temperatures.
    """
    for runner in _runners:
        return runner(state, forcing, until=until, boil_c=boil_c, dt_s=dt_s, follow=follow)
    members, started = np.arange(state.minute.size), state.minute.copy()
    going, whole = _Tally.of(state), _Tally.of(state)
    cores = [state.core_c.astype(np.float32)] if follow else []
    steps = 0
    while members.size:
        # A member's answer is its own: it must not hang on when others beside it are dropped.
        live = state.minute < until
        if not follow:
            live &= np.isinf(going.done).any(0)
        heat.step(state, forcing, dt_s=dt_s, boil_c=boil_c)
        going.count(state, live, state.minute - started)
        if follow:
            cores.append(np.full(whole.done.shape, np.nan, dtype=np.float32))
            cores[-1][:, members] = np.where(live, state.core_c, np.nan)
        steps += 1
        if steps % DROP_EVERY == 0:
            keep = state.minute < until
            if not follow:
                keep &= np.isinf(going.done).any(0)
            if keep.sum() < 0.9 * members.size:
                whole.put(members, going)
                state, members, going = select(state, keep), members[keep], going.part(keep)
                until, started = until[keep], started[keep]
    history = np.asarray(cores) if follow else None
    return SimulationResult(
        whole.done, whole.hot, whole.clock, whole.peak, whole.body_peak, history
    )


@dataclass
class _Tally:
    """What is counted of the members that are still stepped, as in `SimulationResult`."""

    done: Array
    hot: Array
    clock: Array
    peak: Array
    body_peak: Array

    @staticmethod
    def of(state: Ensemble) -> _Tally:
        shape = state.pot_c.shape
        never = (np.full(shape, np.inf), np.full(shape, np.inf))
        return _Tally(*never, np.zeros(shape), state.core_c.copy(), state.body_c.copy())

    def count(self, state: Ensemble, live: Bools, elapsed_min: Array) -> None:
        """Count the step just taken, for the members that were live before it."""
        going = live & np.isinf(self.done)
        np.copyto(self.clock, state.clock_min, where=going)
        np.copyto(self.done, elapsed_min + GUARD_MIN, where=going & heat.is_done(state))
        warm = live & (state.core_c >= CLOCK_TO_C)
        np.copyto(self.hot, elapsed_min, where=warm & np.isinf(self.hot))
        np.maximum(self.peak, state.core_c, out=self.peak, where=live)
        np.maximum(self.body_peak, state.body_c, out=self.body_peak, where=live)

    def part(self, members: Bools) -> _Tally:
        """Return a copy of some members' counts."""
        fields = (getattr(self, f.name) for f in dataclasses.fields(_Tally))
        return _Tally(*(values[..., members] for values in fields))

    def put(self, members: Ints, of_members: _Tally) -> None:
        """Write down the counts of some members."""
        for f in dataclasses.fields(_Tally):
            getattr(self, f.name)[..., members] = getattr(of_members, f.name)
