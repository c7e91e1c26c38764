"""Which cap a print was sliced with, and what its times under other caps can tell.

What the slicer slowed stays slow in the file: nothing is known of it above its own cap.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from advisor.prints.capped import Capped
from advisor.prints.heap import FlowHeap
from advisor.prints.records import CapTime, CapTimes, PrintReport, SlicedCap, Stated

__all__ = ["cap_times", "stated_cap"]

_SETTING = "demand.profile_flow"
_MM3 = 1e-9
_NUMBER = re.compile(r"\d+\.?\d*|\.\d+")


def cap_times(
    capped: Capped, report: PrintReport, pause: float, bounds: Mapping[str, float]
) -> CapTimes:
    """Return the times under each cap and what limits the time without one.

    Parameters
    ----------
    capped : Capped
        The print under its caps, gone through to its end.
    report : PrintReport
        The print as it is.
    pause : float
        Standstill after the last move, [s]
    bounds : mapping
        ``caps`` of the dialect.
    """
    heap, times = capped.heap, capped.times(pause)
    used = [tool.tool for tool in report.tools if tool.volume]
    heaped = heap.heaped(bounds)
    sliced = _sliced(stated_cap(report.stated.get(_SETTING), used), heaped, heap, bounds)
    held, edge = 0.0, 0.0
    if sliced is not None:
        edge = min(sliced.flow, heaped or sliced.flow) * (1.0 - bounds["within"])
        held = heap.steady_above(edge)
    return CapTimes(
        times=times,
        held_time=held,
        accel_time=capped.accel_time,
        speed_time=capped.speed_time + heap.steady_time - held,
        sliced=sliced,
        within=bounds["within"],
        gained=_gained(times, report.time, bounds["gained"], None if sliced is None else edge),
    )


def stated_cap(stated: Stated | None, tools: Iterable[int] = (0,)) -> SlicedCap | None:
    """Return the smallest cap the slicer states of these tools; 0 is none."""
    if stated is None:
        return None
    values = [float(text) for text in _NUMBER.findall(stated.text)]
    mine = [values[tool] if tool < len(values) else values[-1] for tool in tools if values]
    caps = [value for value in mine if value > 0.0]
    return SlicedCap(min(caps) * _MM3, stated.line) if caps else None


def _sliced(
    stated: SlicedCap | None, heaped: float | None, heap: FlowHeap, bounds: Mapping[str, float]
) -> SlicedCap | None:
    """Return the cap that holds the print: the stated one where its flow comes near it."""
    largest, near = heap.largest(bounds), bounds["near"]
    if stated is not None and near * stated.flow <= largest <= stated.flow / near:
        return stated
    return SlicedCap(heaped, 0) if heaped is not None else None


def _gained(
    times: Iterable[CapTime], time: float, share: float, edge: float | None
) -> float | None:
    """Return the flow from which nothing more is gained.

    Where the print was sliced with a cap, at flows from `edge` on, that is known only below it,
    and only where next to no time is held: what is held might run faster without that cap.
    """
    for one in sorted(times, key=lambda one: one.flow):
        if one.time <= time * (1.0 + share):
            if edge is not None and (one.flow >= edge or one.held_time > share * time):
                return None
            return one.flow
    return None
