"""What the ensemble says at the end: limits with bands, bottleneck, what to measure, the cap.

The largest flow to set in a slicer profile is the one figure of all commands. Not weighed, it is
what three of four machines like this one can sustain, and at most one of ten begins to under-
extrude below: skips, slips, buckles or feeds a cold core. Weighed, it stays a share below the
middle of what was found, and takes no more than what the test showed to come out. Where nobody
states the hotend's class there is none: the classes lie further apart than any caution covers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from advisor.base import (
    BOUNDING,
    LIMITS,
    Band,
    Fact,
    LimitBand,
    MeasureNext,
    Number,
    Quantity,
    State,
    Trace,
    parse_unit,
)
from advisor.machine.ensemble import quantile_of
from advisor.machine.graph import FactBook, Formula

if TYPE_CHECKING:
    from advisor.catalog import FactInfo


Array = NDArray[np.float64]

__all__ = [
    "CAP_FORMULAS",
    "CAP_NAME",
    "SETTLED_BY",
    "band_of",
    "bottleneck",
    "limit_bands",
    "measure_next",
    "put_cap",
]

LEVEL_SHARE = 0.15  # limits within this share of the lowest are called level
_LOW, _HIGH = 5.0, 95.0
_BINS = 16
_ROUNDING = 1e-9  # a relative spread below this is the computer's, not the machine's
_LEAST_SHARE = 0.02
_FLOW = parse_unit("mm3/s")
CAP_NAME = "profile.cap_setting"
SETTLED_BY = "hotend.class"
_ZONE = "hotend.melt_length"
_STEP = 1e-10  # m3/s: a flow to set in a profile is rounded down to 0.1 mm3/s


def limit_bands(facts: Mapping[str, Fact]) -> tuple[LimitBand, ...]:
    """Return the seven flow limits in mm3/s with their 5-95 % bands."""
    numbers = {name: number for name in LIMITS if (number := _number(facts, f"flow.{name}"))}
    if not numbers:
        return tuple(_unknown(name, facts) for name in LIMITS)
    size = max(number.size for number in numbers.values())
    known = {name: number.over(size) for name, number in numbers.items()}
    stacked = np.stack(list(known.values()))
    low, high = _percentiles(stacked)
    shares = _bottleneck_shares(known)
    made = {
        name: _band(name, stacked[i, 0], low[i], high[i], shares.get(name, 0.0))
        for i, name in enumerate(known)
    }
    return tuple(made.get(name) or _unknown(name, facts) for name in LIMITS)


def band_of(fact: Fact | None) -> Band | None:
    """Return a fact's nominal value and 5-95 % band in its trade unit; None where unknown."""
    number = None if fact is None else fact.number
    return None if number is None else number.band()


def bottleneck(limits: Iterable[LimitBand]) -> tuple[str | None, tuple[str, ...]]:
    """Return the lowest bounding limit and those level with it (within 15 %)."""
    flows = {x.limit: x.flow for x in limits if x.limit in BOUNDING and x.flow is not None}
    if not flows:
        return None, ()
    lowest = min(flows, key=lambda name: (flows[name], BOUNDING.index(name)))
    ceiling = flows[lowest] * (1.0 + LEVEL_SHARE)
    level = tuple(name for name in flows if name != lowest and flows[name] <= ceiling)
    return lowest, level


def measure_next(
    facts: Mapping[str, Fact], infos: Mapping[str, FactInfo], target: str = "flow.capacity"
) -> tuple[MeasureNext, ...]:
    """Rank the inputs nobody stated by the share of the capacity's spread each explains.

    The share is the correlation ratio of `target` over 16 equal bins of the input's samples
    (Pearson, 1905). Only inputs that can be measured are ranked.
    """
    number = _number(facts, target)
    if number is None:
        return ()
    fact, size = facts[target], number.size
    values = number.over(size)[1:]
    if not values.size:
        return ()
    total = float(np.var(values)) if np.isfinite(values).all() else 0.0
    if total <= (_ROUNDING * float(np.mean(values))) ** 2:
        return ()
    ranked = [
        (_correlation_ratio(part.over(size)[1:], values, total), name)
        for name in sorted(fact.trace.assumed | fact.trace.modelled)
        if name in infos and infos[name].measure and (part := _number(facts, name))
        if np.ndim(part.si) == 1
    ]
    ranked.sort(key=lambda pair: (-round(pair[0], 6), pair[1]))
    return tuple(
        MeasureNext(name, share, infos[name].title, infos[name].measure or "", infos[name].sheet)
        for share, name in ranked
        if share >= _LEAST_SHARE
    )


def _number(facts: Mapping[str, Fact], name: str) -> Number | None:
    fact = facts.get(name)
    return None if fact is None else fact.number


def _percentiles(stacked: NDArray[np.float64]) -> tuple[Array, Array]:
    """5th and 95th percentile of each row; infinite samples sort to the top."""
    last = stacked.shape[1] - 1
    low, high = (round(last * q / 100.0) for q in (_LOW, _HIGH))
    ordered = np.partition(stacked, (low, high), axis=1)
    return ordered[:, low], ordered[:, high]


def _bottleneck_shares(known: Mapping[str, NDArray[np.float64]]) -> dict[str, float]:
    names = [name for name in BOUNDING if name in known]
    if not names:
        return {}
    lowest = np.argmin(np.stack([known[name] for name in names]), axis=0)
    counts = np.bincount(lowest, minlength=len(names)) / lowest.size
    return dict(zip(names, map(float, counts), strict=True))


def _band(name: str, value: float, low: float, high: float, share: float) -> LimitBand:
    def shown(flow: float) -> float | None:
        return float(_FLOW.from_si(flow)) if np.isfinite(flow) else None

    beyond = not (np.isfinite(value) and np.isfinite(high))
    return LimitBand(name, shown(value), shown(low), shown(high), share, beyond)


def _unknown(name: str, facts: Mapping[str, Fact]) -> LimitBand:
    fact = facts.get(f"flow.{name}")
    lacking = ", ".join(fact.trace.inputs) if fact is not None else ""
    return LimitBand(name, None, None, None, why_unknown=f"needs {lacking}" if lacking else None)


def _correlation_ratio(x: NDArray[np.float64], y: NDArray[np.float64], total: float) -> float:
    bins = np.argsort(np.argsort(x, kind="stable"), kind="stable") * _BINS // x.size
    counts = np.bincount(bins, minlength=_BINS)
    means = np.bincount(bins, weights=y, minlength=_BINS) / np.maximum(counts, 1)
    between = float(np.sum(counts * (means - y.mean()) ** 2) / x.size)
    return max(0.0, between / total)


def put_cap(book: FactBook) -> None:
    """Put the largest flow to set, or that it hangs on the hotend's class."""
    melt = book.facts.get("flow.melt")
    open_zone = (
        melt is not None and _ZONE in melt.trace.assumed and not book.known("weighed.clean_flow")
    )
    if open_zone and _prints_with_some_hotend(book):
        words = "a figure for each class of hotend"
        book.put(Fact(CAP_NAME, state=State.MISSING, trace=Trace((SETTLED_BY,), words)))
        return
    book.derive_all(CAP_FORMULAS)


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


CAP_FORMULAS = (
    Formula(
        CAP_NAME,
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
        CAP_NAME,
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
