"""What each lever alone would gain on the typical machine, the largest first.

Each is worked out on the machine itself, and only what it has not already is offered. Where drive
and melt zone are about equal, whatever is made stronger alone soon meets the other: the levers are
ranked by what they gain in the end, not by the limit that happens to be the lowest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from advisor.base import LeverGain, frozen, parse_unit
from advisor.machine.levers import Lever, load_levers
from advisor.machine.machine import Machine
from advisor.machine.reach import now_of, offered
from advisor.machine.sweep import side_by_side

__all__ = ["lever_gains"]

_FLOW = "flow.capacity"
_RETRACT, _TRUSTED = "motion.retract_speed_share", "model.speed_share_limit"
_WANTED = (_FLOW, _RETRACT, _TRUSTED)
_LEAST = 0.02  # a smaller gain, as a share of the capacity, is none
_SAME = 1e-9


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
    if now is not None and abs(made[_FLOW][0, 0] - now) > _SAME * now:
        if len(changes) == 1:
            return [-np.inf]
        return [_one_by_one(alone, [change], now)[0] for change in changes]
    safe = np.ones(len(changes), dtype=bool)
    if _RETRACT in made and _TRUSTED in made:
        retract, trusted = made[_RETRACT][:, 0], made[_TRUSTED][:, 0]
        safe = retract[1:] <= np.maximum(trusted[1:], retract[0] * (1.0 + _SAME))
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


_MM3 = parse_unit("mm3/s")
