"""The machine with another filament in the gears, and without a pull test of the present one.

A spring scale that made the filament slip told of the grip of these gears on this filament, and of
nothing else: for any other pair the grip is reckoned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.facts.graph import FactBook
from advisor.facts.other_machine import stated_classes
from advisor.intake.sheet_fields import load_fields
from advisor.intake.sheet_records import Measurement
from advisor.machine import Change, Machine
from advisor.model import Origin, OriginKind

__all__ = ["slipped_in", "with_material", "without_pull"]

_ORIGIN = Origin(OriginKind.COMMAND, setting="another material")
_PROFILE_HEAT = ("profile.temperature", "profile.first_layer_temperature")


def with_material(machine: Machine, material: str, wanted: Iterable[str]) -> FactBook:
    """Return the facts with another material, at its own usual temperature; all else stays.

    Parameters
    ----------
    machine : Machine
        The machine.
    material : str
        Name in the catalogue.
    wanted : iterable of str
        The facts asked for.
    """
    changes: dict[str, Change] = dict(stated_classes(machine.book))
    changes |= dict.fromkeys((*_renewed(), *_PROFILE_HEAT))
    changes["filament.material"] = material
    made = machine.with_(changes, origin=_ORIGIN, measured=_unpulled(machine), wanted=wanted)
    return made.book


def without_pull(machine: Machine) -> FactBook:
    """Return the machine's own facts as they are without a pull test in which it slipped."""
    return machine.with_(stated_classes(machine.book), measured=_unpulled(machine)).book


def slipped_in(machine: Machine) -> bool:
    """Whether a pull test told of the grip: the filament slipped in it."""
    return any(_slipped(name, record) for name, record in machine.inputs.measured.items())


def _unpulled(machine: Machine) -> dict[str, Measurement]:
    return {k: v for k, v in machine.inputs.measured.items() if not _slipped(k, v)}


def _slipped(name: str, record: Measurement) -> bool:
    return name == "measured_force" and record.text("outcome") == "slipped"


def _renewed() -> Iterator[str]:
    fields = load_fields()
    for path in fields.renews.get("filament.material", ()):
        yield fields.fields[path].fact
