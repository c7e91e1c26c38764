"""What each lever alone would gain on the typical machine, the largest first.

Where drive and melt zone are about equal, whatever is made stronger alone soon meets the other: the
levers are ranked by what they gain in the end, not by the limit that happens to be the lowest.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from advisor.facts.summary import BOUNDING
from advisor.model import Fact, LeverGain

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["lever_gains"]

_NEEDED = ("force.path_drag", "force.motor", "force.grip_usable", "model.force_exponent",
           "model.length_exponent")  # fmt: skip
_LEAST = 1e-6  # N


def lever_gains(facts: Mapping[str, Fact]) -> tuple[LeverGain, ...]:
    """Return the typical machine's capacity with one thing doubled at a time, in mm3/s.

    Every force limit goes with the melt limit, for the force a hotend asks for is a function of
    flow over melt limit; a force limit goes with force beyond the drag to the power 1/p. Torque is
    taken as at low speed. Empty where a limit is not known or nothing flows.
    """
    flows = {name: _nominal(facts, f"flow.{name}") for name in BOUNDING}
    parts = {name: _nominal(facts, name) for name in _NEEDED}
    if any(value is None for value in (*flows.values(), *parts.values())):
        return ()
    now = {name: float(value or 0.0) for name, value in flows.items()}
    lowest = min(now.values())
    if lowest <= 0.0:
        return ()
    found = [
        LeverGain(words, min(change(now, parts).values()) * 1e9, min(change(now, parts).values())
                  / lowest)
        for words, change in _LEVERS.items()
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda gain: (-round(gain.factor, 4), gain.words)))


def _nominal(facts: Mapping[str, Fact], name: str) -> float | None:
    fact = facts.get(name)
    return fact.nominal if fact is not None else None


def _longer(now: dict[str, float], parts: Mapping[str, float | None]) -> dict[str, float]:
    more = 2.0 ** float(parts["model.length_exponent"] or 0.0)
    return {name: flow * (1.0 if name == "heater" else more) for name, flow in now.items()}


def _stronger(limit: str, force: str, times: float) -> Callable[..., dict[str, float]]:
    def change(now: dict[str, float], parts: Mapping[str, float | None]) -> dict[str, float]:
        drag, most = float(parts["force.path_drag"] or 0.0), float(parts[force] or 0.0)
        power = 1.0 / float(parts["model.force_exponent"] or 1.0)
        gain = (times * most - drag) / max(most - drag, _LEAST)
        return {**now, limit: now[limit] * max(gain, 1.0) ** power}

    return change


def _both(now: dict[str, float], parts: Mapping[str, float | None]) -> dict[str, float]:
    pushed = _stronger("torque", "force.motor", 2.0)(now, parts)
    return _stronger("grip", "force.grip_usable", 2.0)(pushed, parts)


_LEVERS: Mapping[str, Callable[..., dict[str, float]]] = {
    "a melt zone twice as long": _longer,
    "twice the push of the motor": _stronger("torque", "force.motor", 2.0),
    "drive gears twice across, at the same push": _stronger("grip", "force.grip_usable", 2.0**0.5),
    "twice the push and twice the grip": _both,
}
