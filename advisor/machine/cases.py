"""An unstated hotend as cases: the machine with each class of the catalogue, side by side.

Averaging over all hotends answers a question nobody asked: the classes lie further apart than
anything else that is not known.
"""

from __future__ import annotations

from advisor.facts.cap import NAME, SETTLED_BY
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of
from advisor.machine.machine import Machine
from advisor.model import HotendCase
from advisor.units import parse_unit

__all__ = ["cap_of", "hotend_cases", "settled_by_hotend"]

_CAPACITY = "flow.capacity"


def settled_by_hotend(book: FactBook) -> bool:
    """Whether the flow to set is open because nobody states the hotend."""
    cap = book.facts.get(NAME)
    return cap is not None and not cap.known and cap.inputs == (SETTLED_BY,)


def cap_of(book: FactBook) -> float | None:
    """Return the largest flow to set in a profile, in mm3/s; None where there is none."""
    samples = book.samples(NAME)
    return None if samples is None else round(float(parse_unit("mm3/s").from_si(samples)), 1)


def hotend_cases(machine: Machine) -> tuple[HotendCase, ...]:
    """Return capacity and flow to set with each class of hotend.

    Empty where the hotend is stated, measured or weighed. Each case is what a sheet that states
    the class gives.
    """
    if not settled_by_hotend(machine.book):
        return ()
    unstated = machine.catalog.model.texts.get(SETTLED_BY)
    found = []
    for name in machine.catalog.hotends:
        if name != unstated:
            book = machine.with_({SETTLED_BY: name}, wanted=(_CAPACITY, NAME)).book
            capacity = band_of(book.facts.get(_CAPACITY))
            if capacity is not None:
                found.append(HotendCase(name, capacity, cap_of(book)))
    return tuple(found)
