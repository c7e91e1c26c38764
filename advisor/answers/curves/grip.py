"""The grip made visible: what the teeth do to the filament, by material and size of gears.

The push needed at a flow is set against the force at which the filament slips. The flow is one
for all: what is asked of the machine, else what it delivers as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.curve_records import LEVEL, GripReport, GripRow
from advisor.answers.curves.force import needed_force
from advisor.answers.curves.samples import Array, arguments, band, column, nominal, of_extruder
from advisor.answers.flow_limit import NO_EXTRUDER, chosen_extruder
from advisor.answers.lint import check_config
from advisor.base import Band, Origin, OriginKind, Quantity, UsageError, frozen, near_miss
from advisor.catalog import Catalog, load_catalog
from advisor.inputs import Measurement, load_fields
from advisor.machine import (
    BRACKET,
    HOTEND_INPUTS,
    Change,
    FactBook,
    Machine,
    band_of,
    stated_classes,
)
from advisor.physics import grip, limits

__all__ = [
    "AS_IT_IS",
    "Gears",
    "grip_answer",
    "grip_report",
    "slipped_in",
    "with_material",
    "without_pull",
]


_ORIGIN = Origin(OriginKind.COMMAND, setting="another material")
_PROFILE_HEAT = ("profile.temperature", "profile.first_layer_temperature")


def with_material(machine: Machine, material: str, wanted: Iterable[str]) -> Machine:
    """Return the machine with another material, at its own usual temperature; all else stays.

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
    return machine.with_(changes, origin=_ORIGIN, measured=_unpulled(machine), wanted=wanted)


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


AS_IT_IS = "as it is"
_NEEDS = {
    "grip": "force.grip",
    "usable": "force.grip_usable",
    "area": "grip.engaged_area",
    "radius": "drive.gear_radius",
    "gears": "drive.driven_gears",
    "yield": "material.yield_strength",
    "capacity": "flow.capacity",
    **HOTEND_INPUTS,
}
_OF_OTHERS = {name: fact for name, fact in _NEEDS.items() if name != "capacity"}
_WANTED = frozenset((*_OF_OTHERS.values(), "drive.teeth_engaged"))
_PULLED = (
    "The pull test was made in the present gears on the present filament and counts there alone: "
    "all else is reckoned without it."
)
_CAUTIONS = (
    "Gears pull in fingers and hair: open the idler with the machine off and the hotend cold.",
)


@frozen
class Gears:
    """Gears of one size: a class of the catalogue, or those of the machine (diameter None)."""

    name: str
    diameter: float | None = None  # m
    driven: float | None = None


def grip_answer(
    config: str, asks: Asks, *, extruder: str | None = None, materials: Sequence[str] = ()
) -> GripReport:
    """Return what the gears of an extruder do to the filament.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    materials : sequence of str
        Materials to look at beside the machine's own; all of the catalogue where empty.

    Raises
    ------
    UsageError
        For an extruder or a material that there is not, or a command line that cannot be.
    """
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (NO_EXTRUDER,)
        return GripReport(extruder=None, lacking=lacking, files=report.files, errors=report.errors)
    return grip_report(checked, name, materials=materials)


def grip_report(
    checked: CheckedConfig, extruder: str, *, materials: Sequence[str] = ()
) -> GripReport:
    """Return what the gears do to the filament, per material and size of gears.

    Parameters
    ----------
    checked : CheckedConfig
        The config worked out.
    extruder : str
        The extruder's section name.
    materials : sequence of str
        Materials to look at beside the machine's own; all of the catalogue where empty.

    Raises
    ------
    UsageError
        For a material the catalogue does not have.
    """
    machine, catalog = checked.machines[extruder], load_catalog()
    book = machine.book
    plain = of_extruder(checked, extruder, _CAUTIONS)
    _, absent = arguments(book, _NEEDS)
    if absent:
        return GripReport(lacking=tuple(_lacking(absent, catalog)), **plain)
    flow, words = _flow(book)
    names = (name for name in _materials(materials, catalog) if name != _material(book))
    others = {name: with_material(machine, name, _WANTED).book for name in names}
    return GripReport(
        flow=band(flow, "mm3/s"),
        flow_is=words,
        push=band(needed_force(book, column(book, flow))[:, 0], "N"),
        usable_share=nominal(book, "model.grip_share"),
        rows=tuple(sorted(_rows(machine, flow, others, catalog), key=_softest_first)),
        assumed=tuple(
            catalog.facts[n].title for n in sorted(book.facts["force.grip"].trace.assumed)
        ),
        remarks=(_PULLED,) if slipped_in(machine) else (),
        **plain,
    )


def _softest_first(row: GripRow) -> tuple[float, str, bool, float]:
    return row.yield_strength.value, row.material, not row.present, row.gear_diameter


def _lacking(absent: Iterable[str], catalog: Catalog) -> Iterator[str]:
    words = ", ".join(catalog.facts[name].title for name in dict.fromkeys(absent))
    yield f"The grip is not known; it needs: {words}." if words else "There is no extruder."


def _flow(book: FactBook) -> tuple[Quantity, str]:
    asked = book.samples("demand.asked_push")
    if asked is not None:
        return asked, "the requested flow"
    capacity = book.samples("flow.capacity")
    assert capacity is not None  # one of `_NEEDS`
    return capacity, "the capacity as it is"


def _materials(wanted: Sequence[str], catalog: Catalog) -> tuple[str, ...]:
    known = catalog.category("materials")
    for name in wanted:
        if name.lower() not in known:
            hint = near_miss(name, known) or f"known are {', '.join(known)}"
            raise UsageError(f"unknown material '{name}'", hint)
    return tuple(name.lower() for name in wanted) or tuple(known)


@frozen(eq=False)
class _Filament:
    """A filament on the machine: its facts, their samples, and the push the flow asks of it."""

    book: FactBook
    x: Mapping[str, Array]
    push: Array

    @classmethod
    def of(cls, book: FactBook, flow: Quantity) -> _Filament:
        """Return the filament of a book at a flow."""
        return cls(book, arguments(book, _OF_OTHERS)[0], needed_force(book, column(book, flow)))


def _rows(
    machine: Machine, flow: Quantity, others: Mapping[str, FactBook], catalog: Catalog
) -> Iterator[GripRow]:
    """Yield the rows; in other gears the machine's own filament is without what was pulled."""
    book, classes = machine.book, tuple(_classes(catalog))
    yield _row(_material(book), _Filament.of(book, flow), Gears(AS_IT_IS), present=True)
    reckoned = _Filament.of(without_pull(machine) if slipped_in(machine) else book, flow)
    for gears in classes:
        yield _row(_material(book), reckoned, gears)
    for name, other in others.items():
        if arguments(other, _OF_OTHERS)[1]:
            continue
        filament = _Filament.of(other, flow)
        for gears in (Gears(AS_IT_IS), *classes):
            yield _row(name, filament, gears)


def _material(book: FactBook) -> str:
    return str(book.text("filament.material"))


def _classes(catalog: Catalog) -> Iterator[Gears]:
    """Yield the sizes of gears the catalogue's drive classes usually have."""
    for name, entry in catalog.category("drives").items():
        size, driven = (
            entry.numbers.get(fact) for fact in ("drive.usual_diameter", "drive.driven_gears")
        )
        if size is not None and driven is not None:
            yield Gears(name, size.typical, driven.typical)


def _row(material: str, filament: _Filament, gears: Gears, *, present: bool = False) -> GripRow:
    book, x, push = filament.book, filament.x, filament.push
    scale = _scale(gears, x)
    most, usable = x["grip"] * scale, x["usable"] * scale
    area, driven = x["area"] * scale, _driven(gears, x["gears"])
    radius = x["radius"][0, 0] if gears.diameter is None else gears.diameter / 2.0
    return GripRow(
        material=material,
        gears=gears.name,
        gear_diameter=2e3 * float(radius),
        driven_gears=_told(driven, "-"),
        present=present,
        engaged_area=_told(area, "mm2"),
        teeth_engaged=band_of(book.facts.get("drive.teeth_engaged"))
        if gears.diameter is None
        else None,
        grip=_told(most, "N"),
        usable=_told(usable, "N"),
        pressure=_told(push / np.maximum(area, 1e-12), "MPa"),
        yield_strength=_told(x["yield"], "MPa"),
        share=_told(push / np.maximum(most, 1e-9), "-"),
        marks=float(np.mean(push > usable * LEVEL)),
        grinds=float(np.mean(push >= most)),
        grip_flow=_grip_flow(usable, x),
    )


def _told(values: Array, unit: str) -> Band:
    return band(np.asarray(values)[:, 0], unit)


def _driven(gears: Gears, present: Array) -> Array:
    return present if gears.driven is None else np.full_like(present, gears.driven)


def _scale(gears: Gears, x: Mapping[str, Array]) -> Quantity:
    """Return by what the bitten area, and the grip with it, changes with other gears."""
    if gears.diameter is None:
        return 1.0
    bite = {"engagement": 1.0, "filament_radius": 1.0}
    here = grip.engaged_area(gear_radius=x["radius"], **bite)
    there = grip.engaged_area(gear_radius=gears.diameter / 2.0, **bite)
    return there / here * _driven(gears, x["gears"]) / x["gears"]


def _grip_flow(usable: Array, x: Mapping[str, Array]) -> Band:
    hotend = {name: x[name] for name in HOTEND_INPUTS}
    found = limits.flow_where_force_is(usable, bracket=BRACKET, **hotend)
    return band(np.where(found.beyond, np.inf, found.flow)[:, 0], "mm3/s")
