"""The largest flow to set in a slicer profile: the one figure of all commands.

Not weighed, it is what three of four machines like this one can sustain, and at most one of ten
begins to under-extrude below: skips, slips, buckles or feeds a cold core. Weighed, it stays a share
below the middle of what was found, and takes no more than what the test showed to come out. Where
nobody states the hotend's class there is none: the classes lie further apart than any caution
covers.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.base import Fact, Quantity, State, Trace
from advisor.machine.ensemble import quantile_of
from advisor.machine.graph import FactBook, Formula

__all__ = ["FORMULAS", "NAME", "SETTLED_BY", "put_cap"]

NAME = "profile.cap_setting"
SETTLED_BY = "hotend.class"
Array = NDArray[np.float64]
_ZONE = "hotend.melt_length"
_STEP = 1e-10  # m3/s: a flow to set in a profile is rounded down to 0.1 mm3/s


def put_cap(book: FactBook) -> None:
    """Put the largest flow to set, or that it hangs on the hotend's class."""
    melt = book.facts.get("flow.melt")
    open_zone = (
        melt is not None and _ZONE in melt.trace.assumed and not book.known("weighed.clean_flow")
    )
    if open_zone and _prints_with_some_hotend(book):
        words = "a figure for each class of hotend"
        book.put(Fact(NAME, state=State.MISSING, trace=Trace((SETTLED_BY,), words)))
        return
    book.derive_all(FORMULAS)


def _prints_with_some_hotend(book: FactBook) -> bool:
    capacity = book.samples("flow.capacity")
    return capacity is not None and bool(np.max(capacity) >= _STEP)


def _weighed(
    *, capacity: Quantity, clean: Quantity, middle_share: Quantity, clean_share: Quantity
) -> Quantity | None:
    cautious = quantile_of(capacity, 0.05)
    middle = np.asarray(capacity)[..., :1]
    return _setting(np.minimum(middle_share * middle, np.maximum(cautious, clean_share * clean)))


def _unweighed(
    *, capacity: Quantity, sustain: float, begin: float, **losses: Quantity | None
) -> Quantity | None:
    sustained = quantile_of(capacity, 1.0 - sustain)
    known = [loss for loss in losses.values() if loss is not None]
    if not known:
        return _setting(sustained)
    first = np.minimum.reduce(np.broadcast_arrays(*known))
    return _setting(np.minimum(sustained, quantile_of(first, begin)))


def _setting(flow: Array) -> Quantity | None:
    """Return the flow in whole steps; None below one, as to slicers a flow of 0 means no limit."""
    setting = np.floor(flow / _STEP + 1e-6) * _STEP
    if setting.size > 1:
        return setting
    one = float(setting.item())
    return one if one >= _STEP / 2.0 else None


FORMULAS = (
    Formula(
        NAME,
        _weighed,
        {
            "capacity": "flow.capacity",
            "clean": "weighed.clean_flow",
            "middle_share": "model.cap_middle_share",
            "clean_share": "model.cap_clean_share",
        },
        "the lower of {model.cap_middle_share} x {flow.capacity}, and the higher of its cautious "
        "end and {model.cap_clean_share} x {weighed.clean_flow}; rounded down to 0.1 mm3/s",
        "cap-practice",
    ),
    Formula(
        NAME,
        _unweighed,
        {
            "capacity": "flow.capacity",
            "sustain": "model.cap_sustain",
            "begin": "model.cap_begin",
            "skip": "flow.skip?",
            "slip": "flow.slip?",
            "buckling": "flow.buckling?",
            "melt": "flow.melt?",
        },
        "the lower of the flow that most machines like this one sustain ({model.cap_sustain}) and "
        "the flow at which few begin to under-extrude ({model.cap_begin}); rounded down to "
        "0.1 mm3/s",
        "cap-practice",
    ),
)
