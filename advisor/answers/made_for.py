"""What the figures of an answer are for: filament, nozzle temperature and bore."""

from __future__ import annotations

from typing import TypedDict

from advisor.machine import FactBook, band_of

__all__ = ["MadeFor", "made_for"]

_MM = 1e3


class MadeFor(TypedDict):
    """The filament, the nozzle's temperature [degC] and its bore [mm]; None where not known."""

    material: str | None
    temperature: float | None
    nozzle: float | None


def made_for(book: FactBook) -> MadeFor:
    """Return what the figures of an extruder are worked out for."""
    heat, bore = band_of(book.facts.get("hotend.temperature")), book.nominal("nozzle.diameter")
    return {
        "material": book.text("filament.material"),
        "temperature": None if heat is None else heat.value,
        "nozzle": None if bore is None else bore * _MM,
    }
