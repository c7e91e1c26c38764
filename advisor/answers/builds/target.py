"""Which change of one thing reaches a target flow: the smallest one within safe limits.

Each lever is swept in its own steps on the nominal machine, all values in one pass of the chain;
what is found is then worked out again as a machine of its own, and so is one step less.

Where a share of likely machines is to reach it, the nearest value that is enough is sought. A value
takes the whole ensemble to work out, so not all of them are: 16 at a time are spread over those
that may do, and then over the gap before the first that is enough, down to single steps. What is
found is enough and the value before it is not, and a higher share never gives a nearer one.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.build_records import LeverAnswer, TargetReport
from advisor.answers.builds.machine import restated
from advisor.base import frozen, parse_unit
from advisor.machine import (
    FactBook,
    Lever,
    Machine,
    band_of,
    bottleneck,
    exceeded,
    limit_bands,
    load_levers,
    now_of,
    reach_of,
    swept,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["reach", "sought"]

_PARTS = 16
_LEVEL = 5e-3  # shares so close are told as the same
_FLOW = parse_unit("mm3/s")
_GAIN = 1e-3  # a smaller gain is none
_MOST = 2048  # values swept in one go
_RETRACT, _TRUSTED = "motion.retract_speed_share", "model.speed_share_limit"
_SWEPT = ("flow.capacity", _RETRACT, _TRUSTED)


def sought(
    values: Sequence[float],
    shares: Callable[[Sequence[float]], NDArray[np.float64]],
    least: float,
) -> tuple[float | None, float | None, float]:
    """Return the nearest value that is enough in a share of machines, and the surest one seen.

    Parameters
    ----------
    values : sequence of float
        The nearest first.
    shares : callable
        The share of machines in which each of some values is enough, [-]; below 0 where the
        value is out of the question.
    least : float
        The share wanted, [-]

    Returns
    -------
    tuple of float or None, float or None, float
        The nearest that is enough; the nearest that is about the surest, and its share.
    """
    seen: dict[int, float] = {}

    def first(low: int, high: int) -> tuple[int, int] | None:
        """Return the gap before the first place after `low` that is enough, among some of them."""
        places = _spread(low, high)
        fresh = [place for place in places if place not in seen]
        made = shares([values[place] for place in fresh]) if fresh else ()
        seen.update(zip(fresh, map(float, made), strict=True))
        for before, place in zip((low, *places), places, strict=False):
            if seen[place] >= least:
                return before, place
        return None

    gap = first(-1, len(values) - 1) if values else None
    if values and gap is None:
        gap = next((found for ends in _beside(seen) if (found := first(*ends))), None)
    while gap is not None and gap[1] - gap[0] > 1:
        gap = first(*gap)
    most = max(seen.values(), default=-1.0)
    if most < 0.0:
        return None, None, 0.0
    best = min(place for place, share in seen.items() if share >= most - _LEVEL)
    return None if gap is None else values[gap[1]], values[best], seen[best]


def _spread(low: int, high: int) -> list[int]:
    """Return some places after `low`, up to `high` and with it."""
    return sorted({round(float(at)) for at in np.linspace(low, high, _PARTS + 1)[1:]} - {low})


def _beside(seen: Mapping[int, float]) -> list[tuple[int, int]]:
    """Return the gaps before and after the surest place."""
    places = sorted(seen)
    at = max(range(len(places)), key=lambda i: seen[places[i]])
    before = places[at - 1] if at else -1
    gaps = [(before, places[at])]
    return [*gaps, (places[at], places[at + 1])] if at + 1 < len(places) else gaps


@frozen
class _Wanted:
    """A flow [m3/s], and the share of likely machines that are to reach it, if not the typical."""

    flow: float
    share: float | None

    def enough(self, book: FactBook) -> bool:
        """Whether a machine has it: the typical one and, if asked for, so many of them."""
        typical = book.nominal("flow.capacity")
        if typical is None or typical < self.flow:
            return False
        return self.share is None or (_sure(book, self.flow) or 0.0) >= self.share


def reach(machine: Machine, target: float, share: float | None = None) -> TargetReport:
    """Return which change of one thing alone brings the capacity to `target`.

    Parameters
    ----------
    machine : Machine
        The machine as it stands.
    target : float
        Flow, [m3/s].
    share : float, optional
        The share of likely machines that are to reach it, beside the typical one; the typical
        one alone where not given, [-]

    Returns
    -------
    TargetReport
        The levers that reach it, the smallest relative change first; then those that do not,
        with the most they give. Without levers where the machine reaches it as it is. A machine
        whose current is above the derated one is brought down to that first.
    """
    machine, lowered = _safe_current(machine)
    capacity = band_of(machine.book.facts.get("flow.capacity"))
    now = machine.book.nominal("flow.capacity")
    trade = float(_FLOW.from_si(target))
    if now is None or capacity is None:
        return TargetReport(target=trade, wanted=share, capacity=None, reached=None)
    wanted = _Wanted(target, share)
    sure = _sure(machine.book, target)
    reached = TargetReport(
        target=trade, wanted=share, capacity=capacity, reached=True, sure=sure, lowered_to=lowered
    )
    if wanted.enough(machine.book):
        return reached
    found = [a for lever in load_levers() if (a := _try(machine, lever, wanted)) is not None]
    lowest, _ = bottleneck(limit_bands(machine.book.facts))
    found.sort(key=lambda a: (a.to is None, abs(a.change or 0.0) if a.to is not None else 0.0))
    return dataclasses.replace(reached, reached=False, levers=tuple(found), bottleneck=lowest)


def _sure(book: FactBook, flow: float) -> float | None:
    """Return the share of likely machines whose capacity is a flow [m3/s] or more."""
    capacity = book.samples("flow.capacity")
    return None if capacity is None else float(np.mean(np.asarray(capacity) >= flow))


def _safe_current(machine: Machine) -> tuple[Machine, float | None]:
    """Return the machine with a current it bears for long, and that current [A] if it was less."""
    run, derated, setting = (
        machine.book.nominal(f"motor.{name}_current") for name in ("working", "derated", "set")
    )
    if run is None or derated is None or setting is None:
        return machine, None
    if exceeded(machine.book, floor=False) is None:  # of an assumed rating nothing is told
        return machine, None
    return restated(machine, {"motor.run_current": setting}), setting


def _try(machine: Machine, lever: Lever, wanted: _Wanted) -> LeverAnswer | None:
    now = now_of(lever, machine.book)
    if now is None:
        return None
    low, high, bound = reach_of(lever, machine.book, machine.catalog, now)
    unit = parse_unit(machine.book.units[lever.fact])
    here, first, last = (float(unit.from_si(value)) for value in (now, low, high))
    look = _sought if wanted.share is None else _sought_surely
    to, best = look(machine, lever, (here, first, last), wanted)
    trade = to if to is not None else best
    value = None if trade is None else float(unit.to_si(trade))
    book = machine.book if value is None else _book(machine, lever, value)
    less = None if to is None else _one_less(machine, lever, to)
    return dataclasses.replace(
        _answer(machine, lever, book, wanted.flow),
        to=to,
        best=best,
        one_step_less=None if less is None else _flow_of(less),
        one_step_less_sure=None if less is None else _sure(less, wanted.flow),
        limit=last,
        limited_by=bound,
        change=(trade - here) / here if here and trade is not None else None,
    )


def _sought(
    machine: Machine,
    lever: Lever,
    ends: tuple[float, float, float],
    wanted: _Wanted,
) -> tuple[float | None, float | None]:
    """Return the nearest value that reaches the target; or None, and the best one if any gains.

    `ends` is what the machine has, the lowest and the highest value, in the trade unit. A way
    that is too long for one pass is swept in wider steps, then in the lever's own before the
    first that was enough.
    """
    here, first, last = ends
    step = _step(lever, first, last)
    steps = list(_steps(here, first, last, step))
    flows = _swept(machine, lever, steps)
    enough = np.flatnonzero(flows >= wanted.flow)
    if not enough.size:
        best = _best(flows, machine)
        return None, None if best is None else steps[best]
    found = steps[int(enough[0])]
    if step > lever.step:
        near = max(here, found - step) if found > here else min(here, found + step)
        fine = list(_steps(near, min(near, found), max(near, found), lever.step))
        enough = np.flatnonzero(_swept(machine, lever, fine) >= wanted.flow)
        found = fine[int(enough[0])] if enough.size else found
    return found, None


def _sought_surely(
    machine: Machine, lever: Lever, ends: tuple[float, float, float], wanted: _Wanted
) -> tuple[float | None, float | None]:
    """Return what `_sought` does, of values that are enough in a share of likely machines too.

    Looked at are those between the first and the last with which the typical machine reaches the
    flow, up and down apart. Where none is sure enough, the best is the surest one.
    """
    here, first, last = ends
    step = _step(lever, first, last)
    steps = list(_steps(here, first, last, step))
    flows = _swept(machine, lever, steps)
    base = restated(machine, lever.goes_with, wanted=_SWEPT)

    def shares(values: Sequence[float]) -> NDArray[np.float64]:
        return _shares(base, lever, values, wanted.flow)

    assert wanted.share is not None
    reach = [value for value, flow in zip(steps, flows, strict=True) if flow >= wanted.flow]
    found: list[tuple[float | None, float | None, float]] = []
    for low, high in ((here, last), (first, here)):  # the ways up and down
        some = [value for value in reach if low <= value <= high]
        if some:
            near, far = max(low, min(some) - step), min(high, max(some) + step)
            way = list(_all(here, near, far, lever.step))
            found.append(sought(way, shares, wanted.share))
    enough = [to for to, _, _ in found if to is not None]
    if enough:
        return min(enough, key=lambda value: abs(value - here)), None
    surest = max(found, key=lambda one: one[2], default=(None, None, 0.0))[1]
    place = _best(flows, machine) if surest is None else None
    return None, surest if place is None else steps[place]


def _all(now: float, low: float, high: float, step: float) -> Iterator[float]:
    """Yield the round values of a way up or down from `now`, the nearest first."""
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    places = range(first, last + 1) if high > now else range(last, first - 1, -1)
    yield from (round(at * step, 9) for at in places if abs(at * step - now) > 1e-9 * step)


def _shares(
    machine: Machine, lever: Lever, steps: Sequence[float], flow: float
) -> NDArray[np.float64]:
    """Return the share of machines that reach a flow; -1 where the typical one does not safely."""
    unit = parse_unit(machine.book.units[lever.fact])
    found = swept(machine, lever.fact, [float(unit.to_si(step)) for step in steps], _SWEPT)
    enough = found["flow.capacity"] >= flow
    typical = enough[:, 0] & np.broadcast_to(_safe(found, machine.book), enough.shape)[:, 0]
    shares: NDArray[np.float64] = np.where(typical, enough.mean(axis=1), -1.0)
    return shares


def _answer(machine: Machine, lever: Lever, book: FactBook, target: float) -> LeverAnswer:
    fact = machine.book.facts.get(lever.fact)
    assumed = fact is not None and bool(fact.trace.assumed or fact.trace.modelled)
    unit = parse_unit(machine.book.units[lever.fact])
    return LeverAnswer(
        fact=lever.fact,
        title=machine.catalog.facts[lever.fact].title,
        unit=machine.book.units[lever.fact],
        now=float(unit.from_si(now_of(lever, machine.book) or 0.0)),
        assumed=assumed,
        to=None,
        capacity=band_of(book.facts.get("flow.capacity")),
        bottleneck=bottleneck(limit_bands(book.facts))[0],
        sure=_sure(book, target),
        one_step_less=None,
        one_step_less_sure=None,
        best=None,
        limit=None,
        limited_by="",
        change=None,
        note=lever.note,
    )


def _best(flows: NDArray[np.float64], machine: Machine) -> int | None:
    """Return the place of the largest capacity; None where nothing is gained by the lever."""
    now = machine.book.nominal("flow.capacity") or 0.0
    if not flows.size or flows.max() <= now * (1.0 + _GAIN):
        return None
    return int(np.argmax(flows >= flows.max() * (1.0 - _GAIN)))


def _step(lever: Lever, low: float, high: float) -> float:
    """Return the lever's step, doubled until the way from end to end fits in one pass."""
    step = lever.step
    while (high - low) / step > _MOST - 3:
        step *= 2.0
    return step


def _steps(now: float, low: float, high: float, step: float) -> Iterator[float]:
    """Yield round values away from `now` in both directions, the nearest first."""
    up, down = math.floor(now / step + 1e-6) + 1, math.ceil(now / step - 1e-6) - 1
    last, first = math.floor(high / step + 1e-6), math.ceil(low / step - 1e-6)
    count = 0
    while (up <= last or down >= first) and count < _MOST - 1:
        nearer_up = up <= last and (down < first or up * step - now <= now - down * step)
        at = up if nearer_up else down
        up, down = (up + 1, down) if nearer_up else (up, down - 1)
        count += 1
        yield round(at * step, 9)


def _swept(machine: Machine, lever: Lever, steps: Sequence[float]) -> NDArray[np.float64]:
    """Return the nominal capacity at each value, -inf where it is not safe."""
    if not steps:
        return np.zeros(0)
    unit = parse_unit(machine.book.units[lever.fact])
    values = [float(unit.to_si(step)) for step in steps]
    alone = restated(machine, lever.goes_with).nominal(wanted=_SWEPT)
    found = swept(alone, lever.fact, values, _SWEPT)
    safe = _safe(found, machine.book)
    flows: NDArray[np.float64] = np.where(safe, found["flow.capacity"], -np.inf)[:, 0]
    return flows


def _safe(found: Mapping[str, NDArray[np.float64]], before: FactBook) -> NDArray[np.bool_] | bool:
    """Whether the motor's speed at a retract stays in what is trusted, or no worse than it is."""
    if _RETRACT not in found or _TRUSTED not in found:
        return True
    now = before.nominal(_RETRACT) or 0.0
    return found[_RETRACT] <= np.maximum(found[_TRUSTED], now * (1.0 + 1e-9))


def _book(machine: Machine, lever: Lever, value: float) -> FactBook:
    return restated(machine, {**lever.goes_with, lever.fact: value}).book


def _one_less(machine: Machine, lever: Lever, trade: float) -> FactBook:
    """Return the facts of the machine one step nearer to what it is now."""
    unit = parse_unit(machine.book.units[lever.fact])
    now = float(unit.from_si(now_of(lever, machine.book) or 0.0))
    nearer = trade - lever.step if trade > now else trade + lever.step
    if (nearer - now) * (trade - now) < 0.0:  # the step would lead past what it is now
        nearer = now
    return _book(machine, lever, float(unit.to_si(round(nearer, 9))))


def _flow_of(book: FactBook) -> float | None:
    """Return the nominal capacity in mm3/s."""
    flow = book.nominal("flow.capacity")
    return None if flow is None else float(_FLOW.from_si(flow))
