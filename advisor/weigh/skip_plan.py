"""Plans a skip test: which lowered currents, and the ramp of flows at each.

No current is above the set one, as it is commanded or as the driver applies it. The clicks are
expected where prints are, below the flow at which the gears would slip. It writes no G-code.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from advisor.base import Band, Span
from advisor.weigh.skip_fit import (
    SkipPoint,
    SkipResult,
    click_flow,
    rotor_rate,
    skip_likelihood,
)
from advisor.weigh.skip_records import SkipLevel, SkipNarrows, SkipPlan, skip_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.machine import DriverModel, FactBook

    Array = NDArray[np.float64]

__all__ = ["SkipSetup", "make_skip_plan", "would_narrow"]

_MM, _MM3, _KELVIN = 1e3, 1e9, 273.15
_GRID = 0.01  # A; currents are commanded to this
_LEAST = 0.05  # A
_ROOM = 0.999
_AVOIDED = 0.3  # share of the capacity that a level may be off rather than near the rotor's rate
_QUANTILES = (0.05, 0.95)
_NOWHERE = Span("", 1)


@dataclass(frozen=True, slots=True)
class SkipSetup:
    """The machine on which the test is run; SI units.

    Attributes
    ----------
    book : FactBook
        Its facts over the plausible machines.
    driver : DriverModel
        Its driver.
    set_current, hold : float
        Run and hold current of the config, RMS, [A]
    largest_speed : float
        The firmware's limit on moves of filament alone, [m/s]
    bottleneck : str or None
        What limits its flow.
    """

    book: FactBook
    driver: DriverModel
    set_current: float
    hold: float
    largest_speed: float
    bottleneck: str | None = None


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A current that could be held, and where it would click: the typical machine first."""

    current: float
    applied: float
    register: int
    clicks: Array
    share: float  # of the capacity
    near: bool

    @property
    def typical(self) -> float:
        """Flow of the click of the typical machine, [m3/s]."""
        return float(self.clicks[0])


def make_skip_plan(setup: SkipSetup) -> SkipPlan | None:
    """Return a plan; None where the driver has too few steps at which to look for the click.

    Parameters
    ----------
    setup : SkipSetup
        The machine.
    """
    usual, book = skip_numbers("plan"), setup.book
    chosen = _chosen(list(_candidates(setup)))
    if len(chosen) < usual["least_points"]:
        return None
    levels = tuple(_level(setup, one) for one in sorted(chosen, key=lambda one: -one.applied))
    return SkipPlan(
        levels=levels,
        approaches=int(usual["approaches"]),
        set_current=setup.set_current,
        set_hold=setup.hold,
        temperature=(book.nominal("hotend.temperature") or 0.0) - _KELVIN,
        bottleneck=setup.bottleneck,
        narrows=would_narrow(book, levels),
        **_takes(levels, book),
    )


class _Takes(TypedDict):
    """What the plan takes of filament, in mm, and of time, in s."""

    dwell: float
    recovery: float
    filament: float
    most_filament: float
    time: float


def _takes(levels: Sequence[SkipLevel], book: FactBook) -> _Takes:
    """Return what is fed at each flow and between, and in all: to the click, and at most."""
    usual = skip_numbers("plan")
    zone = _MM * (book.nominal("hotend.melt_length") or 0.0)
    area = (book.nominal("filament.area") or 1.0) * _MM**2
    dwell, recovery = usual["dwell"] * zone, usual["recovery"] * zone
    runs = usual["approaches"]
    fed = [[flow for flow in one.flows if flow <= 1.03 * one.expected.value] for one in levels]
    time = runs * sum(dwell * area / flow for flows in fed for flow in flows)
    return {
        "dwell": dwell,
        "recovery": recovery,
        "filament": runs * sum(dwell * len(flows) + recovery for flows in fed),
        "most_filament": runs * sum(dwell * len(one.flows) + recovery for one in levels),
        "time": time + runs * len(levels) * usual["wait"],
    }


def _candidates(setup: SkipSetup) -> Iterator[_Candidate]:
    """Yield the currents at which a click may be looked for, one for each step of the driver."""
    usual, book = skip_numbers("plan"), setup.book
    capacity = book.nominal("flow.capacity") or 0.0
    highest = _highest(setup)
    for current, applied, register in _steps(setup):
        clicks = click_flow(book, applied)
        if clicks is None or capacity <= 0.0:
            return
        share = float(clicks[0]) / capacity
        inside = usual["least_share"] <= share <= usual["most_share"]
        if inside and clicks[0] <= highest:
            near = _near(book, applied, float(clicks[0]))
            yield _Candidate(current, applied, register, clicks, share, near)


def _highest(setup: SkipSetup) -> float:
    """Return the flow that the test never exceeds, [m3/s]."""
    slip = setup.book.nominal("flow.slip")
    area = setup.book.nominal("filament.area") or 0.0
    fed = setup.largest_speed * area * _ROOM
    return fed if slip is None else min(fed, skip_numbers("plan")["below_slip"] * slip)


def _steps(setup: SkipSetup) -> Iterator[tuple[float, float, int]]:
    """Yield commanded current, applied current and register of each step below the set current."""
    usual = skip_numbers("plan")
    least = usual["over_detent"] * _detent_current(setup.book)
    most = float(setup.driver.apply(setup.set_current))
    seen: dict[int, tuple[float, float, int]] = {}
    for count in range(math.ceil(_LEAST / _GRID), math.floor(setup.set_current / _GRID + 1e-9) + 1):
        current = round(count * _GRID, 2)
        if current > setup.set_current:
            continue
        found = setup.driver.setting(current)
        applied, register = float(found.current), int(found.step)
        if register < usual["least_step"] or not least <= applied < most * _ROOM:
            continue
        key = round(applied * 1e6)
        if key not in seen or abs(current - applied) < abs(seen[key][0] - applied):
            seen[key] = (current, applied, register)
    yield from seen.values()


def _detent_current(book: FactBook) -> float:
    """Return the current that makes up for the detent torque of all but a few machines, [A]."""
    parts = book.each(("motor.detent_torque", "motor.torque_constant"))
    if parts is None:
        return 0.0
    detent, constant = parts
    return float(np.quantile(detent / (np.sqrt(2.0) * constant), _QUANTILES[1]))


def _near(book: FactBook, applied: float, flow: float) -> bool:
    rate = rotor_rate(book, applied, flow)
    if rate is None:
        return False
    return abs(float(np.ravel(rate)[0]) - 1.0) < skip_numbers("plan")["rotor_band"]


def _chosen(candidates: Sequence[_Candidate]) -> list[_Candidate]:
    """Return as many as a plan has, spread over the shares of the capacity."""
    usual = skip_numbers("plan")
    if not candidates:
        return []
    least = min(one.share for one in candidates)
    most = max(one.share for one in candidates)
    chosen: list[_Candidate] = []
    for target in np.linspace(least, most, int(usual["points"])):
        left = [one for one in candidates if one not in chosen]
        if left:
            chosen.append(min(left, key=lambda one: _off(one, float(target))))
    return chosen


def _off(one: _Candidate, target: float) -> float:
    return abs(one.share - target) + (_AVOIDED if one.near else 0.0)


def _level(setup: SkipSetup, one: _Candidate) -> SkipLevel:
    low, high = (float(end) * _MM3 for end in np.quantile(one.clicks, _QUANTILES))
    return SkipLevel(
        current=one.current,
        hold=min(setup.hold, one.current),
        applied=one.applied,
        register=one.register,
        expected=Band(one.typical * _MM3, low, high),
        flows=tuple(_ramp(setup, one)),
        near_rotor=one.near,
    )


def _ramp(setup: SkipSetup, one: _Candidate) -> Iterator[float]:
    """Yield rising flows [mm3/s], from where few click to where most do; by the same share each."""
    usual = skip_numbers("plan")
    rise, most = math.log1p(usual["rise"]), int(usual["most_rungs"])
    low, high = np.quantile(one.clicks, (usual["ramp_tail"], 1.0 - usual["ramp_tail"]))
    below = math.ceil(math.log(one.typical / max(float(low), 1e-12)) / rise) + 1
    above = math.ceil(math.log(max(float(high), one.typical) / one.typical) / rise) + 2
    below = min(below, max(most // 2, most - above))
    above = min(above, most - below)
    highest, told = _highest(setup) * _MM3, 0.0
    for number in range(-below, above):
        flow = round(one.typical * _MM3 * math.exp(rise * number), 2)
        if flow > highest or flow <= told:
            continue
        told = flow
        yield flow


def would_narrow(book: FactBook, levels: Sequence[SkipLevel]) -> SkipNarrows | None:
    """Return what part of the ranges a test would leave where a typical machine is tested.

    Parameters
    ----------
    book : FactBook
        The machines.
    levels : sequence of SkipLevel
        What is run.
    """
    usual, reading = skip_numbers("plan"), skip_numbers("reading")
    points = []
    for level in levels:
        first = level.expected.value / _MM3 * (1.0 + 0.5 * reading["late"] + 0.5 * usual["rise"])
        error = reading["step_error"] / (level.register + 1.0) / math.sqrt(3.0)
        points.append(SkipPoint(level.applied, error, first / (1.0 + usual["rise"]), first))
    logs = skip_likelihood(book, SkipResult(_NOWHERE, {}, tuple(points)))
    if logs is None or book.ensemble.size < 2:
        return None
    weights = np.exp(logs[1:] - logs[1:].max())
    left = [_left(book, f"flow.{name}", weights) for name in ("capacity", "torque", "grip")]
    known = [one for one in left if one is not None]
    return SkipNarrows(*known) if len(known) == len(left) else None


def _left(book: FactBook, name: str, weights: Array) -> float | None:
    number = book.number(name)
    if number is None:
        return None
    values = number.over(book.ensemble.size)[1:]
    order = np.argsort(values)
    ends = np.cumsum(weights[order]) / weights.sum()
    low, high = (values[order][min(int(np.searchsorted(ends, q)), values.size - 1)]
                 for q in _QUANTILES)  # fmt: skip
    before = np.quantile(values, _QUANTILES)
    width = float(before[1] - before[0])
    if not np.isfinite(width) or width <= 0.0:
        return None
    return min(1.0, float(high - low) / width)
