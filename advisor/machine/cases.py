"""What decides and nobody states, as cases: the machine with each class, side by side.

The hotend first, then how many gears are driven. Averaging over all hotends answers a question
nobody asked: the classes lie further apart than anything else that is not known.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Case, Fact, Number, OriginKind, parse_unit
from advisor.catalog import Entry
from advisor.machine.catalogue_inputs import band_samples
from advisor.machine.graph import FactBook
from advisor.machine.machine import Machine
from advisor.machine.summary import CAP_NAME, SETTLED_BY, band_of
from advisor.machine.sweep import side_by_side

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["cap_of", "cases_of", "settled_by_hotend"]

_CAPACITY, _GEARS = "flow.capacity", "drive.driven_gears"
_APART = 0.85  # cases nearer to each other than this are told as one


def settled_by_hotend(book: FactBook) -> bool:
    """Whether the flow to set is open because nobody states the hotend."""
    cap = book.facts.get(CAP_NAME)
    return cap is not None and not cap.known and cap.trace.inputs == (SETTLED_BY,)


def cap_of(book: FactBook) -> float | None:
    """Return the largest flow to set in a profile, in mm3/s; None where there is none."""
    samples = book.samples(CAP_NAME)
    return None if samples is None else _in_trade(float(samples))


def _in_trade(cap: float) -> float | None:
    """Return a flow in whole tenths of mm3/s; None below one: to slicers 0 means no limit."""
    flow = float(parse_unit("mm3/s").from_si(cap))
    return round(flow, 1) if flow > 0.05 else None


def cases_of(machine: Machine) -> tuple[Case, ...]:
    """Return capacity and flow to set for each class of what decides: the hotend, then the gears.

    Empty where neither is open, or hardly matters. Each case is what a sheet that states it gives.
    """
    return machine.told("cases", _open_cases)


def _open_cases(machine: Machine) -> tuple[Case, ...]:
    book = machine.book
    if settled_by_hotend(book):
        unstated = machine.catalog.model.texts.get(SETTLED_BY)
        entries = {name: one for name, one in machine.catalog.hotends.items() if name != unstated}
        return _cases(machine, SETTLED_BY, tuple(entries), _numbers(machine, entries.values()))
    gears = book.facts.get(_GEARS)
    if gears is None or not gears.trace.assumed or gears.number is None or gears.number.size == 1:
        return ()
    counts = np.unique(np.asarray(gears.number.si))
    if counts.size < 2:
        return ()
    names = [f"{count:.0f}" for count in counts]
    made = _cases(machine, _GEARS, names, {_GEARS: counts[:, None]})
    flows = [case.capacity.value for case in made]
    return made if flows and min(flows) < _APART * max(flows) else ()


def _cases(
    machine: Machine,
    field: str,
    names: Sequence[str],
    stated: Mapping[str, NDArray[np.float64]],
) -> tuple[Case, ...]:
    """Return a case a row of what is stated."""
    made = side_by_side(machine, stated, (_CAPACITY, CAP_NAME))
    if _CAPACITY not in made:
        return ()
    caps = made.get(CAP_NAME, np.full((len(names), 1), np.nan))[:, 0]
    asked = machine.book.nominal("demand.asked_flow")
    found = []
    for name, flows, cap in zip(names, made[_CAPACITY], caps, strict=True):
        band = band_of(Fact(_CAPACITY, Number(flows, "mm3/s")))
        if band is None:
            continue
        case = Case(field, name, band, None if np.isnan(cap) else _in_trade(cap))
        if asked is not None:
            above = asked > flows
            case = dataclasses.replace(case, exceeds=bool(above[0]), sure=float(above.mean()))
        found.append(case)
    return tuple(found)


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
