"""Plans a weighed test: which flows, how long each, how much filament and time in all.

Flows follow the machines' likely limits: dense where delivery is likely to begin to fall, with a
slow reference first and last. It writes no G-code: see `gcode`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band, UsageError
from advisor.physics import weighing
from advisor.weigh.records import Plan, PlanStep
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Bench", "Wishes", "make_plan", "one_by_one", "piece_of", "ramp_share"]

_MM3 = 1e9
_ROUND = 10.0  # flows are planned to a tenth of a mm3/s
_ROOM = 0.999  # speeds and lengths stay this much within the firmware's limits


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the user asks of the plan; None where it is left to us. SI units."""

    lowest: float | None = None
    highest: float | None = None
    steps: int | None = None
    scale: float | None = None
    uncertainty: float | None = None
    lift: float | None = None


@dataclass(frozen=True, slots=True)
class Bench:
    """The machine on which the test is run.

    Attributes
    ----------
    area, density : float
        Cross-section of the filament, and its density, [m2], [kg/m3]
    temperature : float
        Of the nozzle, [K]
    loss : ndarray
        Where delivery begins to fall, over the ensemble, nominal first, [m3/s]
    largest_speed, largest_accel, largest_move : float
        The firmware's limits on moves of filament alone, [m/s], [m/s2], [m]
    fan : float
        Part fan of a print in this material, as a share of its full speed, [-]
    """

    area: float
    density: float
    temperature: float
    loss: Array
    largest_speed: float
    largest_accel: float
    largest_move: float
    fan: float = 0.0


def make_plan(bench: Bench, wishes: Wishes) -> Plan:
    """Return a plan.

    Parameters
    ----------
    bench : Bench
        The machine.
    wishes : Wishes
        What the user asks.

    Raises
    ------
    UsageError
        If what is asked cannot be: a flow beyond the firmware's limit, a range of nothing.
    """
    usual = weigh_numbers("plan")
    top = bench.largest_speed * bench.area * _ROOM
    flows, slow = _flows(bench, wishes, top)
    scale = usual["scale"] if wishes.scale is None else wishes.scale
    length = _length(bench, scale, wishes.uncertainty or usual["mass_uncertainty"])
    steps = [_step(bench, slow, length, reference=True)]
    steps += [_step(bench, flow, length) for flow in flows]
    steps.append(_step(bench, slow, length, reference=True))
    return _plan(bench, wishes, tuple(steps), scale)


def one_by_one(plan: Plan, bench: Bench, wishes: Wishes) -> Plan:
    """Return the first two pieces of a test whose flows are chosen one by one.

    The slow reference of the whole test, and one where delivery is as likely as not to fall.

    Parameters
    ----------
    plan : Plan
        The whole test.
    bench, wishes
        What it was made of.
    """
    slow, top = plan.steps[0], bench.largest_speed * bench.area * _ROOM
    likely = bench.loss[np.isfinite(bench.loss) & (bench.loss > 0.0)]
    middle = max(min(float(np.median(likely)), top), 1.5 * slow.flow)
    if middle > top:
        problem = f"the firmware feeds no more than {top * _MM3:.1f} mm3/s"
        raise UsageError(problem, "raise its extrude-only speed with care")
    return _plan(bench, wishes, (slow, _step(bench, _rounded(middle), slow.length)), plan.scale)


def piece_of(
    plan: Plan, bench: Bench, flow: float, *, number: int, slow: float, hot: bool = False
) -> Plan:
    """Return one piece of a test that is made one by one, as a plan of its own.

    Parameters
    ----------
    plan : Plan
        The whole test: length of a piece, scale.
    bench : Bench
        The machine.
    flow : float
        Of the piece, [m3/s]
    number : int
        Of the piece, from 1.
    slow : float
        Flow of the slow reference: what is cut away is fed like it, [m3/s]
    hot : bool, optional
        Leave the heater on for the next piece.
    """
    step = _step(bench, flow, plan.steps[0].length, reference=number == 1)
    made = _plan(bench, Wishes(), (step,), plan.scale, slow=slow, fill=number == 1)
    return replace(made, first=number, stays_hot=hot)


def _plan(
    bench: Bench, wishes: Wishes, steps: tuple[PlanStep, ...], scale: float,
    *, slow: float | None = None, fill: bool = True,
) -> Plan:  # fmt: skip
    """Return steps as a plan, with filament, time and mass in all."""
    usual, length = weigh_numbers("plan"), steps[0].length
    filled, speed = usual["first_prime"] if fill else 0.0, (slow or steps[0].flow) / bench.area
    prime = filled + usual["step_prime"] * len(steps)
    pauses = (usual["cut_pause"] + usual["catch_pause"]) * len(steps)
    mass = float(weighing.nominal_mass(length, density=bench.density, filament_area=bench.area))
    return Plan(
        steps=steps,
        temperature=bench.temperature,
        area=bench.area,
        length=length * len(steps) + prime,
        time=sum(step.time for step in steps) + pauses + prime / speed,
        mass=mass * len(steps),
        scale=scale,
        mass_uncertainty=float(weighing.mass_uncertainty(scale)) / mass,
        knee=_band(bench.loss),
        largest_move=bench.largest_move * _ROOM,
        lift=wishes.lift or 0.0,
        lift_speed=usual["lift_speed"],
        fan=bench.fan,
        fill=filled,
        prime_speed=speed,
    )


def ramp_share(plan: Plan, acceleration: float) -> float:
    """Return the largest share of a step's time that starting and stopping its moves takes, [-].

    Parameters
    ----------
    plan : Plan
        The plan.
    acceleration : float
        Of moves of filament alone, [m/s2]
    """
    return max(step.speed**2 / acceleration * step.moves / step.length for step in plan.steps)


def _band(loss: Array) -> Band:
    low, high = (float(end) for end in np.quantile(loss, (0.05, 0.95)))
    return Band(float(loss[0]), low, high)


def _flows(bench: Bench, wishes: Wishes, top: float) -> tuple[list[float], float]:
    """Return the flows, rising, and that of the slow reference."""
    usual = weigh_numbers("plan")
    count = int(usual["steps"]) if wishes.steps is None else wishes.steps
    if not 2 <= count <= usual["most_steps"]:
        remedy = f"plan 2 to {usual['most_steps']:.0f} steps"
        raise UsageError(f"{count} steps make no test", remedy)
    for flow in (wishes.lowest, wishes.highest):
        if flow is not None and flow > top:
            problem = (
                f"{flow * _MM3:.1f} mm3/s is more than the firmware feeds without the head moving: "
                f"its extrude-only speed allows {top * _MM3:.1f}"
            )
            raise UsageError(problem, "plan to less, or raise that limit with care")
    likely = bench.loss[np.isfinite(bench.loss) & (bench.loss > 0.0)]
    if likely.size == 0:
        raise UsageError("no flow is expected to get through", "look at 'feedwright lint' first")
    flows = _spread(likely, wishes, top, count)
    slow = usual["slow_share"] * min(flows[0], float(np.quantile(likely, 0.05)))
    slow = _rounded(min(max(slow, usual["slowest"]), 0.6 * flows[0]))
    return flows, slow


def _spread(likely: Array, wishes: Wishes, top: float, count: int) -> list[float]:
    """Return rising flows to a tenth of a mm3/s, dense where the limit is likely."""
    usual = weigh_numbers("plan")
    tail = usual["tail"]
    low, high = (float(np.quantile(likely, q)) for q in (tail, 1.0 - tail))
    highest = min(usual["beyond"] * high, top) if wishes.highest is None else wishes.highest
    least = min(max(low, 1.5 * usual["slowest"]), 0.5 * highest)
    lowest = least if wishes.lowest is None else wishes.lowest
    if not 0.0 < lowest < highest:
        problem = f"there is nothing between {lowest * _MM3:.1f} and {highest * _MM3:.1f} mm3/s"
        raise UsageError(problem, "give --from below --to")
    inside = np.sort(likely[(likely >= lowest) & (likely <= highest)])
    even = np.linspace(lowest, highest, count)
    share = usual["density_share"] if inside.size > count else 0.0
    dense = np.quantile(inside, np.linspace(0.0, 1.0, count)) if inside.size else even
    flows = share * dense + (1.0 - share) * even
    flows *= (highest - lowest) / (flows[-1] - flows[0])
    flows += lowest - flows[0]
    return _distinct([_rounded(float(flow)) for flow in flows], top)


def _rounded(flow: float) -> float:
    """Return a flow to a tenth of a mm3/s, or to two digits below 1."""
    step = _ROUND if flow * _MM3 >= 1.0 else 10.0 * _ROUND
    return max(round(flow * _MM3 * step), 1) / step / _MM3


def _distinct(flows: list[float], top: float) -> list[float]:
    kept = sorted({min(flow, math.floor(top * _MM3 * _ROUND) / _ROUND / _MM3) for flow in flows})
    if len(kept) < 2:
        raise UsageError("the flows are too close together", "give a wider range, or fewer steps")
    return kept


def _length(bench: Bench, scale: float, uncertainty: float) -> float:
    """Return the length of a step: enough for the scale, and to the next full centimetre."""
    usual = weigh_numbers("plan")
    needed = float(
        weighing.length_for_mass_uncertainty(
            uncertainty, resolution=scale, density=bench.density, filament_area=bench.area
        )
    )
    if needed > usual["most_length"]:
        problem = (
            f"a scale of {scale * 1e3:g} g needs {needed:.1f} m of filament a step for "
            f"{100 * uncertainty:.2g} %"
        )
        raise UsageError(
            problem, "take a finer scale (--scale 0.01g), or allow more (--uncertainty 2%)"
        )
    step = usual["length_step"]
    return math.ceil(round(max(needed, usual["least_length"]) / step, 6)) * step


def _step(bench: Bench, flow: float, length: float, *, reference: bool = False) -> PlanStep:
    speed = flow / bench.area
    moves = math.ceil(length / (bench.largest_move * _ROOM))
    time = length / speed + moves * speed / bench.largest_accel
    return PlanStep(flow, speed, length, moves, time, reference)
