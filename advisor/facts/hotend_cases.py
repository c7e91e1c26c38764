"""An unstated hotend as cases: the capacity with each class of the catalogue, side by side.

Averaging over all hotends answers a question nobody asked. Every limit but the heater's goes with
the melt limit, and that with a power of the zone's length: a class is worked out from the machine
as it is, sample by sample, with the class's own length and heater.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.catalog import Catalog, Entry
from advisor.facts.catalogue_inputs import band_samples
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of
from advisor.model import Fact, HotendCase, OriginKind

__all__ = ["hotend_cases"]

_SCALED = ("flow.torque", "flow.grip", "flow.buckling", "flow.melt")
_NEEDED = (*_SCALED, "flow.heater", "hotend.melt_length", "hotend.heater_power",
           "hotend.heat_loss", "hotend.max_power", "model.length_exponent")  # fmt: skip
_OPEN = (OriginKind.CATALOGUE,)


def hotend_cases(book: FactBook, catalog: Catalog) -> tuple[HotendCase, ...]:
    """Return the capacity with each hotend class; empty where the hotend is stated or measured.

    Torque is taken as at low speed.
    """
    facts = book.facts
    length, kind = facts.get("hotend.melt_length"), facts.get("hotend.class")
    if length is None or kind is None or "hotend.measured_flow" in facts:
        return ()
    if length.origin.kind not in _OPEN or kind.origin.kind not in _OPEN:
        return ()
    if any(name not in facts or not facts[name].known for name in _NEEDED):
        return ()
    entries = catalog.category("hotends").items()
    made = ((name, _Case(entry, book).capacity()) for name, entry in entries if name != "unstated")
    found = []
    for name, capacity in made:
        band = band_of(Fact("flow.capacity", "mm3/s", capacity))
        if band is not None:
            found.append(HotendCase(name, band))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Case:
    entry: Entry
    book: FactBook

    def capacity(self) -> np.ndarray:
        longer = self._of("hotend.melt_length") / self._full("hotend.melt_length")
        longer = longer ** self._full("model.length_exponent")
        flows = [self._full(name) * longer for name in _SCALED]
        return np.asarray(np.minimum.reduce([*flows, self._heater()]))

    def _heater(self) -> np.ndarray:
        """The heater's flow, scaled by the power this class leaves for the melt."""
        share = self._full("hotend.max_power")
        here, there = (
            np.maximum(of("hotend.heater_power") * share - of("hotend.heat_loss"), 1e-9)
            for of in (self._full, self._of)
        )
        return np.asarray(self._full("flow.heater") * there / here)

    def _of(self, name: str) -> np.ndarray:
        """The class's number, or what is stated of the machine."""
        number, fact = self.entry.numbers.get(name), self.book.facts[name]
        if number is None or fact.origin.kind not in _OPEN:
            return self._full(name)
        ends = {"low": number.low, "typical": number.typical, "high": number.high}
        return self._sized(band_samples(self.book.ensemble, name, **ends))

    def _full(self, name: str) -> np.ndarray:
        return self._sized(self.book.facts[name].samples)

    def _sized(self, samples: Any) -> np.ndarray:
        return np.broadcast_to(np.asarray(samples, dtype=np.float64), (self.book.ensemble.size,))
