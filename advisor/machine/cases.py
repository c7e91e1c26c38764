"""An unstated hotend as cases: the machine with each class of the catalogue, side by side.

Averaging over all hotends answers a question nobody asked: the classes lie further apart than
anything else that is not known.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from advisor.catalog import Entry
from advisor.facts.cap import NAME, SETTLED_BY
from advisor.facts.catalogue_inputs import band_samples
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of
from advisor.machine.machine import Machine
from advisor.machine.sweep import side_by_side
from advisor.model import Fact, HotendCase, OriginKind
from advisor.number import Number
from advisor.units import parse_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["cap_of", "hotend_cases", "settled_by_hotend"]

_CAPACITY = "flow.capacity"


def settled_by_hotend(book: FactBook) -> bool:
    """Whether the flow to set is open because nobody states the hotend."""
    cap = book.facts.get(NAME)
    return cap is not None and not cap.known and cap.trace.inputs == (SETTLED_BY,)


def cap_of(book: FactBook) -> float | None:
    """Return the largest flow to set in a profile, in mm3/s; None where there is none."""
    samples = book.samples(NAME)
    return None if samples is None else _in_trade(float(samples))


def _in_trade(cap: float) -> float | None:
    """Return a flow in whole tenths of mm3/s; None below one: to slicers 0 means no limit."""
    flow = float(parse_unit("mm3/s").from_si(cap))
    return round(flow, 1) if flow > 0.05 else None


def hotend_cases(machine: Machine) -> tuple[HotendCase, ...]:
    """Return capacity and flow to set with each class of hotend.

    Empty where the hotend is stated, measured or weighed. Each case is what a sheet that states
    the class gives.
    """
    if not settled_by_hotend(machine.book):
        return ()
    unstated = machine.catalog.model.texts.get(SETTLED_BY)
    entries = {name: one for name, one in machine.catalog.hotends.items() if name != unstated}
    made = side_by_side(machine, _numbers(machine, entries.values()), (_CAPACITY, NAME))
    if _CAPACITY not in made:
        return ()
    caps = made.get(NAME, np.full((len(entries), 1), np.nan))[:, 0]
    bands = [band_of(Fact(_CAPACITY, Number(row, "mm3/s"))) for row in made[_CAPACITY]]
    return tuple(
        HotendCase(name, band, _in_trade(cap))
        for name, band, cap in zip(entries, bands, caps, strict=True)
        if band is not None
    )


def _numbers(machine: Machine, entries: Iterable[Entry]) -> dict[str, NDArray[np.float64]]:
    """Return what the classes state, one a row; what the machine states itself stays."""
    entries, size = tuple(entries), machine.ensemble.size
    open_ = {
        name
        for entry in entries
        for name in entry.numbers
        if machine.book.facts[name].origin.kind is OriginKind.CATALOGUE
    }
    return {
        name: np.stack([_of(machine, entry, name).over(size) for entry in entries])
        for name in sorted(open_)
    }


def _of(machine: Machine, entry: Entry, name: str) -> Number:
    number = entry.numbers.get(name)
    stated = machine.book.number(name)
    if number is None and stated is not None:
        return stated
    assert number is not None, name
    ends = {"low": number.low, "typical": number.typical, "high": number.high}
    return machine.book.of(name, band_samples(machine.ensemble, name, **ends))
