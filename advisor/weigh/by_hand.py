"""What ruler and caliper tell beside the scale: calibration, slip seen directly, depth of the bite.

What is commanded and does not go in by ruler in a slow run is calibration; what is missing at a
faster flow against the slow run is slip. Where the gears slip their marks stand closer together in
the filament than the gear's teeth do. Uncertainties after JCGM 100:2008; all readings are
independent and their errors are rectangles.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band
from advisor.weigh.records import Evaluation, HandTest, Setup, Slip, Step
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.weigh.uncertainty import Budget

    Array = NDArray[np.float64]

__all__ = [
    "by_hand", "depth_of_marks", "fed_share", "marks_uncertainty", "ruler_uncertainty",
    "scaled", "scaled_draws",
]  # fmt: skip

_RECTANGLE = math.sqrt(3.0)
_NINETY = 1.6448536269514722  # half width of the middle 90 % of a normal, in standard deviations
_MARKED = 0.01  # m of filament on which marks are counted


def by_hand(steps: Sequence[Step], setup: Setup, budget: Budget, own: float) -> HandTest | None:
    """Return what was measured by hand; None where nothing was.

    Parameters
    ----------
    steps : sequence of Step
        By rising flow, the slow reference first.
    setup : Setup
        The machine.
    budget : Budget
        How sure density and cross-section are.
    own : float
        Relative standard uncertainty of the slow run's mass, [-]
    """
    slow = steps[0]
    slips = (*_by_ruler(slow, steps[1:], budget), *_by_marks(slow, steps, setup, budget))
    depths = [step.mark_depth for step in steps if step.mark_depth is not None]
    if slow.fed is None and not slips and not depths:
        return None
    calibration, expanded, weight, weight_expanded = None, 0.0, None, 0.0
    if slow.fed is not None:
        share, standard = slow.fed / slow.length, ruler_uncertainty() / slow.length
        calibration, expanded = _band(share, standard), budget.coverage * standard
        weight = slow.absolute / share
        parts = (own, budget.density, budget.area, ruler_uncertainty() / slow.fed)
        weight_expanded = budget.coverage * weight * math.hypot(*parts)
    return HandTest(calibration, expanded, weight, weight_expanded, slips, depth_of_marks(depths))


def ruler_uncertainty() -> float:
    """Return the standard uncertainty of a fed length, [m]."""
    return weigh_numbers("uncertainty")["ruler"] / _RECTANGLE


def marks_uncertainty(pitch: float) -> float:
    """Return the relative standard uncertainty of a pitch of marks that were counted, [-]."""
    return weigh_numbers("uncertainty")["marks"] / _RECTANGLE * pitch / _MARKED


def fed_share(test: Evaluation) -> Band:
    """Return what went in of what was commanded, by ruler, [-]; 1 where no ruler told."""
    hand = test.by_hand
    return Band(1.0, 1.0, 1.0) if hand is None or hand.calibration is None else hand.calibration


def scaled(flow: Band | None, share: Band) -> Band | None:
    """Return a flow commanded as the one that went in, its interval with that of the share.

    The relative half widths on each side are taken as independent.
    """
    if flow is None:
        return None
    value = flow.value * share.value
    low, high = (
        math.hypot(end / flow.value - 1.0, part / share.value - 1.0)
        for end, part in ((flow.low, share.low), (flow.high, share.high))
    )
    return Band(value, value * (1.0 - low), value * (1.0 + high))


def scaled_draws(draws: Array | None, share: Band) -> Array | None:
    """Return as many draws of what went in, sorted: each draw with each of the share's."""
    if draws is None:
        return None
    if share.low == share.high:
        return draws if share.value == 1.0 else draws * share.value
    places = np.linspace(-1.5, 1.5, 7)  # a flat stand-in for the ruler's rectangle
    half = (share.high - share.low) / 2.0
    parts = share.value + half / _NINETY * _RECTANGLE * places / 1.5 * (6.0 / 8.0) ** 0.5
    made = np.sort((draws[:, None] * parts[None]).ravel())
    chosen: Array = made[places.size // 2 :: places.size]
    return chosen


def _by_ruler(slow: Step, faster: Sequence[Step], budget: Budget) -> Iterator[Slip]:
    if slow.fed is None:
        return
    for step in faster:
        if step.fed is not None:
            kept = step.fed / step.length / (slow.fed / slow.length)
            own = math.hypot(ruler_uncertainty() / step.fed, ruler_uncertainty() / slow.fed)
            yield Slip(step.flow, 1.0 - kept, budget.coverage * kept * own, "ruler")


def _by_marks(
    slow: Step, steps: Sequence[Step], setup: Setup, budget: Budget
) -> Iterator[Slip]:  # fmt: skip
    """Yield the slip by the marks: against the slow run's, the slow run's own against the gear."""
    for step in steps:
        if step.mark_pitch is None:
            continue
        if step is not slow and slow.mark_pitch is not None:
            due, sure, than = slow.mark_pitch, marks_uncertainty(slow.mark_pitch), "marks"
        elif setup.tooth_pitch is not None:
            due, sure, than = *setup.tooth_pitch, "gear"
        else:
            continue
        kept = step.mark_pitch / due
        own = math.hypot(marks_uncertainty(step.mark_pitch), sure)
        yield Slip(step.flow, 1.0 - kept, budget.coverage * kept * own, than)


def depth_of_marks(depths: Sequence[float]) -> Band | None:
    """Return the depth of the tooth marks with the caliper's error, [m]; None without any."""
    if not depths:
        return None
    value, half = math.fsum(depths) / len(depths), weigh_numbers("uncertainty")["mark_depth"]
    return Band(value, max(value - half, 0.1 * value), value + half)


def _band(value: float, standard: float) -> Band:
    return Band(value, value - _NINETY * standard, value + _NINETY * standard)
