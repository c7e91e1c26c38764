"""Reads which flows a print is to be held to, and tells what each of them costs in time."""

from __future__ import annotations

import math

from advisor.answers.demand_records import CappedTime, CapTimesAnswer
from advisor.answers.tuning.lines import values_in
from advisor.base import UsageError
from advisor.prints import CapTime, CapTimes, PrintReport

__all__ = ["cap_times_answer", "read_caps"]

_OPTION, _UNIT, _MM3 = "--caps", "mm3/s", 1e9
_BOUNDS = (0.1e-9, 1e-6)  # m3/s; 1000 mm3/s is beyond any hotend of this trade
_MOST = 12
_STEPS = tuple(k * 10.0**e for e in range(-1, 3) for k in (1.0, 2.0, 5.0))  # mm3/s


def read_caps(text: str | None) -> tuple[float, ...]:
    """Return the flows that a text lists, rising, in m3/s; none where there is no text.

    Parameters
    ----------
    text : str or None
        ``8,12,20mm3/s``, ``8..30mm3/s:12``, or ``8..30mm3/s`` for at most 12 in round steps.

    Raises
    ------
    UsageError
        For a flow that cannot be, or too many of them.
    """
    if text is None:
        return ()
    low, dots, high = text.partition("..")
    if not dots or ":" in text:
        return values_in(_OPTION, text, _UNIT, _BOUNDS)
    first, last = (values_in(_OPTION, end, _UNIT, _BOUNDS) for end in (low, high))
    if len(first) != 1 or len(last) != 1 or not first < last:
        raise UsageError(f"{_OPTION}: '{text}' is no range", "write 8..30mm3/s, or 8,12,20mm3/s")
    return tuple(flow / _MM3 for flow in _stepped(first[0] * _MM3, last[0] * _MM3))


def _stepped(low: float, high: float) -> tuple[float, ...]:
    """Return flows in the smallest round steps that make no more than `_MOST`, both ends in."""
    step = next(step for step in _STEPS if math.ceil(round((high - low) / step, 6)) < _MOST)
    count = math.ceil(round((high - low) / step, 6))
    return (*(round(low + i * step, 6) for i in range(count)), round(high, 6))


def cap_times_answer(read: PrintReport) -> CapTimesAnswer | None:
    """Return the print's time at each flow, in trade units; None where none was asked for.

    Of a flow above the cap that the print was sliced with nothing is told.
    """
    caps = read.caps
    if caps is None:
        return None
    beyond = math.inf if caps.sliced is None else caps.sliced.flow * (1.0 + caps.within)
    first = caps.times[0].time
    return CapTimesAnswer(
        rows=tuple(
            CappedTime(flow=one.flow * _MM3) if one.flow > beyond else _row(one, first)
            for one in caps.times
        ),
        held=_share(caps.held_time, read.time),
        accel=_share(caps.accel_time, read.time),
        speed=_share(caps.speed_time, read.time),
        rest=_rest(caps, read.time),
        sliced=None if caps.sliced is None else caps.sliced.flow * _MM3,
        sliced_line=0 if caps.sliced is None else caps.sliced.line,
        enough=None if caps.gained is None else caps.gained * _MM3,
    )


def _row(one: CapTime, first: float) -> CappedTime:
    """Return a print's time at one flow, and what it saves against the first."""
    return CappedTime(
        flow=one.flow * _MM3,
        time=one.time,
        saves=_share(first - one.time, first),
        held=_share(one.held_time, one.time),
    )


def _share(part: float, whole: float) -> float:
    return min(max(part / whole, 0.0), 1.0) if whole else 0.0


def _rest(caps: CapTimes, time: float) -> float:
    """Share of pauses and of filament alone."""
    return _share(time - caps.held_time - caps.accel_time - caps.speed_time, time)
