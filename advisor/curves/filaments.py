"""The machine with another filament in the gears, and without a pull test of the present one.

A spring scale that made the filament slip told of the grip of these gears on this filament, and of
nothing else: for any other pair the grip is reckoned.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

from advisor.catalog import Catalog
from advisor.facts.assemble import ExtruderInputs
from advisor.facts.graph import FactBook
from advisor.facts.other_machine import WeighedBench, facts_of, keeping_classes
from advisor.intake.sheet_fields import load_fields
from advisor.model import Fact, Origin, OriginKind

__all__ = ["slipped_in", "with_material", "without_pull"]

_ORIGIN = Origin(OriginKind.COMMAND, setting="another material")
_PROFILE_HEAT = ("profile.temperature", "profile.first_layer_temperature")


def with_material(
    inputs: ExtruderInputs,
    book: FactBook,
    material: str,
    catalog: Catalog,
    bench: WeighedBench | None,
) -> FactBook:
    """Return the facts with another material, at its own usual temperature; all else stays.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the machine.
    book : FactBook
        Its facts, for the classes it keeps.
    material : str
        Name in the catalogue.
    catalog : Catalog
        What is assumed.
    bench : WeighedBench or None
        What weighed tests left of the likely machines; None where there were none.
    """
    stated = keeping_classes(inputs, book)
    for name in (*_renewed(), *_PROFILE_HEAT):
        stated.pop(name, None)
    stated["filament.material"] = Fact("filament.material", "", material, origin=_ORIGIN)
    return facts_of(_unpulled(inputs, stated), catalog, bench)


def without_pull(
    inputs: ExtruderInputs, book: FactBook, catalog: Catalog, bench: WeighedBench | None
) -> FactBook:
    """Return the machine's own facts as they are without a pull test in which it slipped.

    Parameters
    ----------
    inputs, book, catalog, bench
        As of `with_material`.
    """
    return facts_of(_unpulled(inputs, keeping_classes(inputs, book)), catalog, bench)


def slipped_in(inputs: ExtruderInputs) -> bool:
    """Whether a pull test told of the grip: the filament slipped in it."""
    return any(_slipped(name, record) for name, record in inputs.measured.items())


def _unpulled(inputs: ExtruderInputs, stated: Mapping[str, Fact]) -> ExtruderInputs:
    measured = {k: v for k, v in inputs.measured.items() if not _slipped(k, v)}
    return dataclasses.replace(inputs, stated=stated, measured=measured)


def _slipped(name: str, record: Any) -> bool:
    return bool(name == "measured_force" and record["outcome"] == "slipped")


def _renewed() -> Iterator[str]:
    fields = load_fields()
    for path in fields.renews.get("filament.material", ()):
        yield fields.fields[path].fact
