"""What a motor is looked for to serve, and what no motor makes up for: flows and sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from advisor.answers.curves.points import Flows
from advisor.answers.curves.samples import nominal
from advisor.base import parse_unit
from advisor.catalog import Catalog
from advisor.machine import FactBook

__all__ = ["flows_to_serve", "remarks_on"]

_FLOW = parse_unit("mm3/s")
_OTHERS = {
    "flow.grip": "the gears slip",
    "flow.buckling": "the filament buckles in the gap",
    "flow.heater": "the heater cannot keep temperature",
}
_SHORT_ZONE = (
    "The melt zone melts {0} at most, below the {1} requested: no motor makes up for that. What a "
    "motor must have is worked out for {0}."
)
_OTHER_LIMIT = "Above {0} {1}, below the {2} requested: no motor makes up for that either."
_NOTHING_ASKED = (
    "No flow is requested, so the motor is sized for the capacity of {0}; state what you want with "
    "--asked or a profile."
)
_DRIVER = (
    "The driver is rated for {0:.0f} V: {1} V takes another one, and a board, a heater and fans "
    "for that voltage."
)
_ASKED = {"flow.melt": "demand.asked_flow", "flow.heater": "demand.asked_heat"}


def flows_to_serve(book: FactBook) -> Flows:
    """Return the flows a motor is to serve: what is asked, as far as the melt zone lets it.

    Returns
    -------
    dict
        Arguments of `points_of`, [m3/s]
    """
    capacity, asked = book.samples("flow.capacity"), book.samples("demand.asked_push")
    if asked is not None and _beyond(book, "flow.melt"):
        asked = np.minimum(asked, np.asarray(book.samples("flow.melt")))
    return {"capacity": capacity, "asked": asked}


def remarks_on(book: FactBook, catalog: Catalog, voltages: Sequence[float]) -> tuple[str, ...]:
    """Return what to say of the search for a motor: what it is for, and what it cannot cure."""
    return (*_of_flow(book), *_of_driver(book, catalog, voltages))


def _of_flow(book: FactBook) -> Iterator[str]:
    asked = nominal(book, "demand.asked_push")
    if asked is None:
        capacity = nominal(book, "flow.capacity")
        if capacity is not None:
            yield _NOTHING_ASKED.format(_flow(capacity))
        return
    if _beyond(book, "flow.melt"):
        yield _SHORT_ZONE.format(_flow(nominal(book, "flow.melt") or 0.0), _flow(asked))
    for name, words in _OTHERS.items():
        if _beyond(book, name):
            yield _OTHER_LIMIT.format(_flow(nominal(book, name) or 0.0), words, _flow(asked))


def _beyond(book: FactBook, limit: str) -> bool:
    """Whether the flow asked over a limit's own window lies beyond it, nominally."""
    asked, flow = nominal(book, _ASKED.get(limit, "demand.asked_push")), nominal(book, limit)
    return asked is not None and flow is not None and asked > flow


def _of_driver(book: FactBook, catalog: Catalog, voltages: Sequence[float]) -> Iterator[str]:
    chip = catalog.drivers.get(str(book.text("driver.chip")))
    number = chip.numbers.get("driver.supply_high") if chip is not None else None
    if number is None:
        return
    above = [f"{voltage:.0f}" for voltage in voltages if voltage > number.typical]
    if above:
        yield _DRIVER.format(number.typical, " and ".join(above))


def _flow(flow: float) -> str:
    return f"{_FLOW.from_si(flow):.3g} mm3/s"
