"""Takes weighed tests into the facts of an extruder, and says what they made of the capacity."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.checked_extruder import CheckedExtruder
from advisor.answers.weighed_sheet import is_of_sheet
from advisor.base import Band, Fact, FileStatus, InputError, Origin, OriginKind, Span, WeighError
from advisor.catalog import Catalog
from advisor.machine import Ensemble, ExtruderInputs, FactBook, Machine, machine_of, merge_stated
from advisor.weigh import (
    Evaluation,
    Setup,
    WeighedResult,
    WeighedTable,
    bench_of,
    depth_of_marks,
    evaluate,
    fed_share,
    first_loss,
    narrowed,
    read_weighed,
    scaled,
    scaled_draws,
    weighed_as,
    weighed_events,
    weighed_note,
)

if TYPE_CHECKING:
    from advisor.answers.input_files import InputFiles
    from advisor.mend import Snapshot

__all__ = ["read_tables", "seen_of", "setup_of", "take_in"]

_BITE = "drive.bite_depth"


def read_tables(paths: Sequence[str], given: InputFiles, catalog: Catalog, files: Snapshot) -> None:
    """Read the tables of weighed tests into what was given; each mistake is told there.

    Parameters
    ----------
    paths : sequence of str
        The tables.
    given : InputFiles
        Where the tables, files and errors are added.
    catalog : Catalog
        Where materials are looked up.
    files : Snapshot
        Where files are read from.
    """
    for path in paths:
        try:
            table = read_weighed(_bytes(path, files), path, catalog=catalog)
            given.weighed.append(table)
            called = table.conditions.name
            given.files.append(FileStatus(path, "read", "weighed", called=called))
        except InputError as err:
            given.errors.append(err)
            given.files.append(FileStatus(path, "unreadable", "weighed"))


def _bytes(path: str, files: Snapshot) -> bytes:
    from advisor.files import unreadable

    try:
        return files.read(path)
    except FileNotFoundError as err:
        raise unreadable(path, err) from None


_MEASURED = Origin(OriginKind.MEASURED)


def take_in(
    inputs: ExtruderInputs, given: InputFiles, catalog: Catalog, ensemble: Ensemble, *, first: bool
) -> CheckedExtruder:
    """Return one extruder worked out with the weighed tests that were done on it.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of it.
    given : InputFiles
        What was given beside the config; a test that cannot be evaluated is told there.
    catalog : Catalog
        What is assumed for the rest.
    ensemble : Ensemble
        The plausible machines.
    first : bool
        Whether this is the config's first extruder: a table that names none is its own.
    """
    tables = [table for table in given.weighed if _is_for(table, inputs.name, first=first)]
    if not tables:
        return CheckedExtruder(machine_of(inputs, catalog, ensemble))
    asked = _with_bite(_with_conditions(inputs, tables, catalog), tables, given)
    machine = machine_of(asked, catalog, ensemble)
    tests: list[Evaluation] = []
    seen: list[WeighedResult] = []
    clean: list[float] = []
    for table in tables:
        try:
            tests.append(evaluate(table, setup_of(table, machine)))
        except WeighError as err:
            given.errors.append(err)
            continue
        if not _is_own(table, given):
            continue
        seen.append(seen_of(tests[-1], table))
        if bench_of(seen[-1], machine, machine).is_of(machine.book):
            clean.append((tests[-1].clean or 0.0) * fed_share(tests[-1]).value)
    if not seen:
        return CheckedExtruder(machine, tests=tuple(tests))
    if clean:  # other filaments or temperatures tell nothing of what comes out whole here
        machine = machine.with_({"weighed.clean_flow": min(clean)}, origin=_MEASURED)
    machine, narrowing = narrowed(machine, seen)
    note = weighed_note(narrowing, {test.file: test.name for test in tests})
    events = tuple(weighed_events(narrowing, tests, inputs.name))
    return CheckedExtruder(machine, note, events, tuple(tests))


def _is_for(table: WeighedTable, extruder: str, *, first: bool) -> bool:
    named = table.conditions.extruder
    return first if named is None else named == extruder


def _is_own(table: WeighedTable, given: InputFiles) -> bool:
    """Whether a test was done on this build of the machine, as far as the table says."""
    sheet = given.sheet.file if given.sheet is not None else None
    return table.conditions.hardware is None and is_of_sheet(table, sheet)


def setup_of(table: WeighedTable, machine: Machine) -> Setup:
    """Return what must be known of the machine to read a test, under the test's conditions.

    Parameters
    ----------
    table : WeighedTable
        The test.
    machine : Machine
        The machine.

    Raises
    ------
    WeighError
        If the filament's diameter is not known.
    """
    seen = WeighedResult(Span(table.file, 1), _conditions(table))
    book = weighed_as(seen, machine, machine.book).book
    area, diameter = (_typical(book, name) for name in ("filament.area", "filament.diameter"))
    density = book.samples("material.density")
    if area is None or diameter is None or density is None:
        problem = "the filament's diameter is not known: the config's value is no number"
        raise WeighError(problem, "mend the config first", Span(table.file, 1))
    spread = np.atleast_1d(np.asarray(density, dtype=np.float64))
    return Setup(
        area=area,
        diameter=diameter,
        density=(float(spread.min()), float(spread[0]), float(spread.max())),
        rotation_distance=_typical(book, "drive.rotation_distance"),
        expected=_expected(book),
        tooth_pitch=_tooth_pitch(book),
    )


def _typical(book: FactBook, name: str) -> float | None:
    return book.nominal(name)


def _tooth_pitch(book: FactBook) -> tuple[float, float] | None:
    """Return the pitch of the gear's teeth, if they were counted, and how sure it is, [m], [-]."""
    count, radius = book.facts.get("drive.tooth_count"), book.samples("drive.gear_radius")
    teeth = None if count is None or count.trace.assumed else count.nominal
    if teeth is None or radius is None:
        return None
    spread = np.atleast_1d(np.asarray(radius, dtype=np.float64))
    return 2.0 * np.pi * float(spread[0]) / teeth, float(spread.std() / spread[0])


def _expected(book: FactBook) -> Band | None:
    loss = first_loss(book)
    if loss is None:
        return None
    low, high = (float(end) for end in np.quantile(loss, (0.05, 0.95)))
    return Band(float(loss[0]), low, high)


def _conditions(table: WeighedTable) -> dict[str, Fact]:
    """Return what the table says the test was done with."""
    given = table.conditions
    origin = Origin(OriginKind.MEASURED, at=Span(table.file, 1))
    values = {
        "filament.material": ("", given.material),
        "hotend.temperature": ("degC", given.temperature),
        "nozzle.diameter": ("mm", given.nozzle),
        "material.density": ("g/cm3", given.density),
    }
    return {
        name: Fact.of(name, unit, value, origin=origin)
        for name, (unit, value) in values.items()
        if value is not None
    }


def _with_conditions(
    inputs: ExtruderInputs, tables: Sequence[WeighedTable], catalog: Catalog
) -> ExtruderInputs:
    """Ask about the filament and temperature of the test where nobody names another."""
    conditions = _conditions(tables[0])
    material = inputs.stated.get("filament.material")
    tested = conditions.get("filament.material")
    if material is not None and material.known and (
        tested is None or tested.text != material.text
    ):  # fmt: skip
        return inputs
    if any(_conditions(table) != {**conditions, **_conditions(table)} for table in tables):
        return inputs
    names = ("filament.material", "hotend.temperature", "material.density")
    added = {name: conditions[name] for name in names if name in conditions}
    stated = merge_stated(inputs.stated, added)
    return dataclasses.replace(inputs, stated=stated)


def _with_bite(
    inputs: ExtruderInputs, tables: Sequence[WeighedTable], given: InputFiles
) -> ExtruderInputs:
    """Take the depth of the tooth marks for the bite, where nobody states another.

    Tests of another filament or another build tell nothing of it.
    """
    material = inputs.stated.get("filament.material")
    own = {None, None if material is None else material.text}
    for table in tables:
        if not _is_own(table, given) or table.conditions.material not in own:
            continue
        found = [run for run in table.runs if run.mark_depth is not None]
        band = depth_of_marks([run.mark_depth for run in found if run.mark_depth is not None])
        if band is not None:
            origin = Origin(OriginKind.MEASURED, at=found[0].at)
            bite = Fact.of(_BITE, "mm", (band.low, band.value, band.high), origin=origin)
            stated = merge_stated(inputs.stated, {_BITE: bite})
            return dataclasses.replace(inputs, stated=stated)
    return inputs


def seen_of(test: Evaluation, table: WeighedTable) -> WeighedResult:
    """Return what a test showed, as the narrowing takes it.

    Parameters
    ----------
    test : Evaluation
        What it shows.
    table : WeighedTable
        The test as it was written down.

    Flows are those that went in where a ruler told them, else those commanded.
    """
    fed = fed_share(test)
    fastest = test.intact if test.knee is None else test.steps[-1].flow
    return WeighedResult(
        at=Span(table.file, 1),
        conditions=_conditions(table),
        knee=scaled(test.knee, fed),
        draws=scaled_draws(test.came_out, fed),
        fastest=fastest * fed.value,
        delivered=_times(test.delivered, fed),
        carried=_times(test.carried, fed),
        last_without_skips=_times(test.last_without_skips, fed),
        first_skip=_times(test.first_skip, fed),
        reference_ratio=test.reference_ratio,
    )


def _times(flow: float | None, fed: Band) -> float | None:
    return flow * fed.value if flow else None
