"""How far each lever may go on a machine, and what it alone would gain, the largest first.

Each is worked out on the typical machine itself, and only what it has not already is offered. Where
drive and melt zone are about equal, whatever is made stronger alone soon meets the other: the
levers are ranked by what they gain in the end, not by the limit that happens to be the lowest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from advisor.base import LeverGain, frozen, parse_unit
from advisor.catalog import Catalog
from advisor.machine.graph import FactBook
from advisor.machine.levers import Bound, Lever, Offer, load_levers
from advisor.machine.machine import Machine
from advisor.machine.sweep import side_by_side

__all__ = ["lever_gains", "now_of", "offered", "reach_of"]

_SAME = 1e-6  # relative: closer values are the same one
_FLOW = "flow.capacity"
_RETRACT, _TRUSTED = "motion.retract_speed_share", "model.speed_share_limit"
_WANTED = (_FLOW, _RETRACT, _TRUSTED)
_LEAST = 0.02  # a smaller gain, as a share of the capacity, is none
_ROUNDING = 1e-9
_MM3 = parse_unit("mm3/s")


def now_of(lever: Lever, book: FactBook) -> float | None:
    """Return what the typical machine has of a lever, in SI units; None where it is not known."""
    now = book.nominal(lever.fact)
    return now if now is not None or lever.known_by is None else book.nominal(lever.known_by)


def reach_of(
    lever: Lever, book: FactBook, catalog: Catalog, now: float
) -> tuple[float, float, str]:
    """Return the lowest and the highest value of a lever in SI units, and what sets the highest.

    Parameters
    ----------
    lever : Lever
        The lever.
    book : FactBook
        The machine's facts.
    catalog : Catalog
        Where a bound may be the largest of a class.
    now : float
        What the machine has, [SI].
    """
    low = now
    if lever.down_to is not None:
        low = _value(lever, lever.down_to, book, catalog, now) or now
    bounds = [(_value(lever, bound, book, catalog, now), bound.words) for bound in lever.up_to]
    known = [(value, words) for value, words in bounds if value is not None]
    high, words = min(known, key=lambda one: one[0]) if known else (now, lever.up_to[0].words)
    return min(low, now), high, words


def _value(
    lever: Lever, bound: Bound, book: FactBook, catalog: Catalog, now: float
) -> float | None:
    found = bound.value
    if bound.fact is not None:
        found = book.nominal(bound.fact)
    elif bound.times is not None:
        found = now * bound.times
    elif bound.catalogue is not None:
        entries = catalog.category(bound.catalogue).values()
        found = max(e.numbers[lever.fact].high for e in entries if lever.fact in e.numbers)
    if found is None:
        return None
    found -= bound.less
    return found if bound.at_least is None else max(found, bound.at_least)


def offered(lever: Lever, book: FactBook, catalog: Catalog, now: float) -> float | None:
    """Return the one value of a lever that is named, in SI units.

    None where the machine has it already, or where it may not go so far.
    """
    if lever.offer is None:
        return None
    _, high, _ = reach_of(lever, book, catalog, now)
    value = _offered(lever.offer, catalog, now, high)
    if value is None or value <= now * (1.0 + _SAME) or value > high * (1.0 + _SAME):
        return None
    return value


def _offered(offer: Offer, catalog: Catalog, now: float, high: float) -> float | None:
    if offer.most:
        return high
    if offer.times is not None:
        return offer.times * now
    if offer.catalogue is None or offer.of is None:
        return offer.value
    entries = catalog.category(offer.catalogue).values()
    sizes = {entry.numbers[offer.of].typical for entry in entries if offer.of in entry.numbers}
    return min((size for size in sizes if size > now * offer.apart), default=None)


def lever_gains(machine: Machine) -> tuple[LeverGain, ...]:
    """Return the typical machine's capacity with one thing changed at a time.

    Empty where the capacity is not known or nothing flows. A lever that would take the motor's
    speed at a retract out of what can be trusted is left out, and one that gains next to nothing.
    """
    return machine.told("gains", _gains)


def _gains(machine: Machine) -> tuple[LeverGain, ...]:
    now = machine.book.nominal(_FLOW)
    if now is None or now <= 0.0:
        return ()
    found = [
        _gain(machine, change, capacity)
        for change, capacity in _worked_out(machine)
        if capacity > now * (1.0 + _LEAST)
    ]
    return tuple(sorted(found, key=lambda gain: -round(gain.factor, 4)))


@frozen(eq=False)
class _Change:
    """A lever, what the machine has of it and what is offered, in SI units."""

    lever: Lever
    now: float
    to: float


def _worked_out(machine: Machine) -> Iterator[tuple[_Change, float]]:
    """Yield each change that is offered, and the capacity with it [m3/s]."""
    changes = [
        _Change(lever, now, to)
        for lever in load_levers()
        if (now := now_of(lever, machine.book)) is not None
        and (to := offered(lever, machine.book, machine.catalog, now)) is not None
    ]
    alone = machine.begun()
    plain = [change for change in changes if not change.lever.goes_with]
    now = machine.book.nominal(_FLOW)
    yield from zip(plain, _one_by_one(alone, plain, now), strict=True)
    for change in changes:
        if change.lever.goes_with:
            other = alone.restated(change.lever.goes_with)
            yield change, _one_by_one(other, [change], None)[0]


def _one_by_one(alone: Machine, changes: Sequence[_Change], now: float | None) -> list[float]:
    """Return the capacity with each change [m3/s], all in one pass; -inf where it is not safe.

    The first row is the machine as it is: what is chosen by a nominal value is chosen by its own.
    Where its capacity is not `now` (None: not looked at), as something that is worked out elsewhere
    is stated in it, each change has a pass of its own; and one that is no change of this machine,
    none.
    """
    if not changes:
        return []
    rows = {change.lever.fact: np.full((len(changes) + 1, 1), change.now) for change in changes}
    for number, change in enumerate(changes, 1):
        rows[change.lever.fact][number] = change.to
    made = side_by_side(alone, rows, _WANTED)
    if _FLOW not in made:
        return [-np.inf] * len(changes)
    if now is not None and abs(made[_FLOW][0, 0] - now) > _ROUNDING * now:
        if len(changes) == 1:
            return [-np.inf]
        return [_one_by_one(alone, [change], now)[0] for change in changes]
    safe = np.ones(len(changes), dtype=bool)
    if _RETRACT in made and _TRUSTED in made:
        retract, trusted = made[_RETRACT][:, 0], made[_TRUSTED][:, 0]
        safe = retract[1:] <= np.maximum(trusted[1:], retract[0] * (1.0 + _ROUNDING))
    return [float(flow) for flow in np.where(safe, made[_FLOW][1:, 0], -np.inf)]


def _gain(machine: Machine, change: _Change, capacity: float) -> LeverGain:
    lever, offer = change.lever, change.lever.offer
    assert offer is not None
    unit, fact = parse_unit(machine.book.units[lever.fact]), machine.book.facts.get(lever.fact)
    now, to = (float(unit.from_si(value)) for value in (change.now, change.to))
    assumed = fact is not None and bool(fact.trace.assumed)
    value = _figure(to, unit.symbol) + (
        f", {_figure(now, unit.symbol)} assumed now" if assumed else ""
    )
    before = machine.book.nominal(_FLOW) or capacity
    return LeverGain(
        fact=lever.fact,
        words=offer.words.replace("{}", value),
        now=now,
        to=to,
        unit=unit.symbol,
        assumed=assumed,
        capacity=float(_MM3.from_si(capacity)),
        factor=capacity / before,
    )


def _figure(value: float, unit: str) -> str:
    return f"{value:.3g} {unit.partition(' rms')[0]}".strip(" -")
