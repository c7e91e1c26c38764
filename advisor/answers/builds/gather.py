"""Takes the machines to compare from a config and its sheets; the first is the machine as it is."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Iterator

from advisor.answers.asks import Asks
from advisor.answers.builds.machine import Build, restated
from advisor.answers.flow_limit import NO_EXTRUDER, chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet, read_given
from advisor.base import Fact, FileStatus, OriginKind, Report, Weighed
from advisor.catalog import Catalog
from advisor.machine import FactBook, Machine, merge_stated

__all__ = ["SheetOutcome", "take_all"]

AS_IT_IS = "as it is"
_RATIO_OFF = 1e-3  # ratios this near are written in other digits
_GEAR_OFF = 0.15  # a gear this far off the rotation distance stands for another gear


@dataclasses.dataclass(slots=True)
class SheetOutcome:
    """What came of a config with one sheet."""

    build: Build | None = None
    extruder: str | None = None
    called: str | None = None  # what the sheet that was named calls the machine
    weighed: Weighed | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()


def take_all(
    config: str, asks: Asks, sheets: Iterable[str | None], extruder: str | None, catalog: Catalog
) -> list[SheetOutcome]:
    """Return what came of the config with each sheet.

    Parameters
    ----------
    config : str
        The config, or ``-``.
    asks : Asks
        What the command line states for all; weighed tests were done on the first machine.
    sheets : iterable of str or None
        The sheets; None: the one beside the config.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    catalog : Catalog
        What is assumed for the rest.
    """
    found: list[SheetOutcome] = []
    for sheet in dict.fromkeys(sheets):
        first = found[0].build if found else None
        if found and first is None:
            break
        found.append(
            _taken(config, dataclasses.replace(asks, sheet=sheet), extruder, first, catalog)
        )
    return found


def _taken(
    config: str, asks: Asks, extruder: str | None, first: Build | None, catalog: Catalog
) -> SheetOutcome:
    sheet = asks.sheet
    if first is not None:
        asks = dataclasses.replace(asks, weighed=(), use_tests=False)
    checked = check_config(config, asks)
    need_sheet(checked.report.files)
    taken = SheetOutcome(files=checked.report.files, errors=checked.report.errors)
    if taken.errors:
        return taken
    name = chosen_extruder(checked, extruder)
    if name is None:
        taken.lacking = (NO_EXTRUDER,)
        return taken
    taken.extruder = name
    shown = AS_IT_IS if sheet is None else sheet
    taken.called = None if sheet is None else _called(checked.report, name)
    machine = checked.machines[name]
    if first is None:
        taken.weighed = checked.weighed(name)
        machine = _as_stated(machine, taken.weighed)
        notes = tuple(_kept(config, asks, name, machine.book, catalog))
        taken.build = Build(shown, machine, notes)
        return taken
    machine = _on_the_same_filament(machine, first.machine).benched(first.machine.bench)
    taken.build = _with_its_gears(Build(shown, machine), config, asks, catalog)
    return taken


def _called(report: Report, extruder: str) -> str | None:
    return next((one.called for one in report.extruders if one.name == extruder), None)


def _as_stated(machine: Machine, weighed: Weighed | None) -> Machine:
    """Take a test that contradicts the machine back out of it.

    Its limit holds the tested build down but no other: beside it every change would look a gain.
    """
    if weighed is None or weighed.contradiction is None:
        return machine
    return machine.on(machine.ensemble)


def _on_the_same_filament(machine: Machine, first: Machine) -> Machine:
    """Take what weighed tests were done with over to a machine whose sheet names no other."""
    inputs = machine.inputs
    told = {n: f for n, f in first.inputs.stated.items() if f.origin.kind is OriginKind.MEASURED}
    material, tested = (facts.get("filament.material") for facts in (inputs.stated, told))
    other = material is not None and tested is not None and material.text != tested.text
    stated = inputs.stated if other else merge_stated(inputs.stated, told)
    return machine.stating(dataclasses.replace(inputs, stated=stated))


def _kept(
    config: str, asks: Asks, extruder: str, book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Say where the sheet of the machine as it is states other gears than the config."""
    for name, value in _own_gears(config, asks, extruder, book, catalog).items():
        kept = "gear ratio" if name == "drive.gear_ratio" else "rotation distance"
        sheet = f"{value:.4g}" if name == "drive.gear_ratio" else f"{value * 1e3:.4g} mm"
        yield f"the {kept} is the config's; the sheet's would be {sheet}"


def _with_its_gears(build: Build, config: str, asks: Asks, catalog: Catalog) -> Build:
    """Take the kinematics of hardware the config does not describe from its sheet.

    The config's gear ratio and rotation distance are those of what is built in, the first
    machine; a sheet of another drive states its own ratio, and its gear's size.
    """
    made = _own_gears(config, asks, build.machine.inputs.name, build.book, catalog)
    if not made:
        return build
    notes = []
    if "drive.gear_ratio" in made:
        built = build.book.nominal("drive.gear_ratio")
        stated = made["drive.gear_ratio"]
        notes.append(f"gear ratio {stated:.4g} as the sheet says, not the config's {built:.4g}")
    if "drive.rotation_distance" in made:
        around = made["drive.rotation_distance"] * 1e3
        notes.append(f"rotation distance {around:.4g} mm for the sheet's gear")
    return Build(build.name, restated(build.machine, made), tuple(notes))


def _own_gears(
    config: str, asks: Asks, extruder: str, book: FactBook, catalog: Catalog
) -> dict[str, float]:
    """Return the kinematics by which a sheet departs from the config, in SI units."""
    sheet = read_given(config, asks, catalog).sheet
    facts = sheet.part(extruder).facts if sheet is not None else {}
    made: dict[str, float] = {}
    ratio, built = facts.get("drive.gear_ratio"), book.nominal("drive.gear_ratio")
    if ratio is not None and built:
        stated = _typical(ratio)
        if abs(stated / built - 1.0) > _RATIO_OFF:
            made["drive.gear_ratio"] = stated
    diameter = facts.get("drive.gear_diameter")
    distance = book.nominal("drive.rotation_distance")
    if diameter is not None and distance:
        around = math.pi * _typical(diameter)
        if abs(around / distance - 1.0) > _GEAR_OFF:
            made["drive.rotation_distance"] = around
    return made


def _typical(fact: Fact) -> float:
    value = fact.nominal
    assert value is not None, fact.name
    return value
