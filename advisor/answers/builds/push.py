"""The push at which a machine gives way at its capacity, and what pressure advance asks of it."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from advisor.answers.curves.force import motor_forces
from advisor.answers.curves.points import NEEDED_FACTS, points_of, torques
from advisor.answers.curves.samples import arguments, column
from advisor.base import Quantity
from advisor.machine import HOTEND_INPUTS, MOTOR_INPUTS, FactBook

__all__ = ["ADVANCE", "SKIP_PUSH", "advance_inside", "has_advance", "skip_push"]

ADVANCE = ("motion.advance_peak_speed", "motion.advance_speed_share")
"""The facts of the last stages that tell of a pressure-advance peak."""
_Names: TypeAlias = "tuple[str, ...]"
SKIP_PUSH: _Names = ("flow.capacity", "motor.usable_share", *MOTOR_INPUTS.values())
_TRUSTED, _SHARE = "model.speed_share_trusted", "motion.advance_speed_share"
_NEEDED = {**NEEDED_FACTS, **HOTEND_INPUTS}


def skip_push(book: FactBook) -> Quantity | None:
    """Return the push at which the motor skips while it feeds at the capacity.

    All of the pull-out torque at that speed, less detent, through the gears: the push that the
    flow `flow.skip` asks is that of a higher speed, `force.stall` that at a crawl.

    Returns
    -------
    array or None
        Over the ensemble, [N]; None where motor, gears or capacity are not known.
    """
    if book.each(SKIP_PUSH) is None:
        return None
    flow = column(book, book.samples("flow.capacity"))
    if not np.all(np.isfinite(flow)):
        return None
    stall: Quantity = motor_forces(book, flow)[1][:, 0]
    return stall


def has_advance(book: FactBook) -> bool:
    """Whether a pressure advance is set: without one its peak is the plain feed."""
    return bool(book.nominal("motion.pressure_advance"))


def advance_inside(book: FactBook) -> bool | None:
    """Whether the typical motor is inside what it is trusted with in a pressure-advance peak.

    Its speed is, as `lint` tells it; and, where a flow is asked, what the peak needs lies within
    the usable torque. At a capacity that the torque sets there is none to spare, by definition,
    so without an ask the torque says nothing.

    Returns
    -------
    bool or None
        None where no advance is set, or the motor's speed in the peak is not known.
    """
    share, trusted = book.nominal(_SHARE), book.nominal(_TRUSTED)
    if not has_advance(book) or share is None or trusted is None:
        return None
    if share > trusted:
        return False
    asked = book.samples("demand.asked_flow")
    if asked is None or arguments(book, _NEEDED)[1]:
        return True
    point = next((one for one in points_of(book, asked=asked) if one.name == "advance"), None)
    if point is None:
        return True
    found = torques(book, point)
    return bool(found.needed[0, 0] <= found.usable[0, 0])
