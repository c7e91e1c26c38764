"""Which tests belong to a machine: by the sheet of a table, by what it says, and of which roll.

Where several drives are compared each table has its own sheet: by its place on the command line, or
by a line '# sheet: FILE' in the table's head, beside the table.

A test fits where all that its table states of motor, gears, nozzle and filament is as on the
machine; what it does not say is taken to be so. The roll asked about is the sheet's, else that of
the newest test: a test of another roll counts with what rolls of one material are apart.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence

from advisor.answers.input_files import InputFiles
from advisor.base import (
    KEPT_USED,
    InputError,
    LeftOutTest,
    Span,
    UsageError,
    UsedTest,
    WeighError,
    frozen,
    parse_unit,
)
from advisor.catalog import Catalog
from advisor.files import OUTSIDE, reach_of, real_path
from advisor.machine import FEWEST, ExtruderInputs, Machine, machine_of, plausible
from advisor.mend import Snapshot
from advisor.weigh import SkipTable, WeighedTable, load_words, read_weighed, weigh_numbers

__all__ = [
    "KeptTest",
    "is_for",
    "is_of_sheet",
    "is_own",
    "kept_for",
    "tables_by_sheet",
    "used_tests",
]

_MATERIAL, _ROLL = "filament.material", "filament.roll"


def tables_by_sheet(
    paths: Sequence[str], sheets: Sequence[str], allowed: Sequence[str]
) -> dict[str | None, list[str]]:
    """Return the tables of each sheet; None: the sheet beside the config.

    Parameters
    ----------
    paths : sequence of str
        The tables.
    sheets : sequence of str
        None, one for all tables that name no other, or one a table.
    allowed : sequence of str
        Folders a table may name a sheet in, beside its own.

    Raises
    ------
    UsageError
        If there are several sheets, but not one a table.
    WeighError
        If a table names a sheet that lies elsewhere.
    """
    if len(sheets) > 1 and len(sheets) != len(paths):
        problem = f"there are {len(sheets)} sheets for {len(paths)} tables"
        raise UsageError(problem, "name one sheet for all, or one a table in the same order")
    found: dict[str | None, list[str]] = {}
    for number, path in enumerate(paths):
        if len(sheets) > 1:
            sheet: str | None = sheets[number]
        else:
            sheet = _named_in(path, allowed) or (sheets[0] if sheets else None)
        found.setdefault(sheet, []).append(path)
    return found


def is_of_sheet(table: WeighedTable | SkipTable, sheet: str | None) -> bool:
    """Whether a table names no sheet, or the one that is used."""
    named = table.conditions.sheet
    if named is None:
        return True
    return sheet is not None and real_path(_beside(table.file, named)) == real_path(sheet)


def _named_in(path: str, allowed: Sequence[str]) -> str | None:
    try:
        named = read_weighed(Snapshot().read(path), path).conditions.sheet
    except (InputError, OSError):
        return None  # told where the tables are read
    if named is None:
        return None
    sheet = _beside(path, named)
    if not reach_of(path, allowed).holds(sheet):
        raise WeighError(f"sheet: {OUTSIDE}", "name it with --sheet", Span(path, 1))
    return sheet


def _beside(table: str, named: str) -> str:
    return os.path.join(os.path.dirname(table), named)


@frozen
class KeptTest:
    """A test that is used: whether it was kept, and how far its roll is from the one asked about.

    ``apart`` is a standard deviation of flows, [-].
    """

    table: WeighedTable
    kept: bool
    apart: float = 0.0

    def told(self, name: str) -> UsedTest:
        """Return what is said of it; `name` is the test's."""
        given = self.table.conditions
        return UsedTest(
            self.table.file, name, given.date, given.roll, self.kept, other_roll=self.apart > 0.0
        )


def is_for(table: WeighedTable | SkipTable, extruder: str, *, first: bool) -> bool:
    """Whether a test is of an extruder; one that names none is of the first."""
    named = table.conditions.extruder
    return first if named is None else named == extruder


def is_own(table: WeighedTable | SkipTable, given: InputFiles) -> bool:
    """Whether a test was done on this build of the machine, as far as the table says."""
    sheet = given.sheet.file if given.sheet is not None else None
    return table.conditions.hardware is None and is_of_sheet(table, sheet)


def kept_for(
    inputs: ExtruderInputs, given: InputFiles, catalog: Catalog, extruders: Sequence[str]
) -> tuple[list[WeighedTable], tuple[LeftOutTest, ...]]:
    """Return the tests of the folder that fit an extruder, the oldest first, and the others.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the extruder.
    given : InputFiles
        The tests, and what of the folder could not be read.
    catalog : Catalog
        What is assumed for the rest.
    extruders : sequence of str
        The config's extruders; what is of none of them is told with the first.
    """
    first = extruders[0] == inputs.name
    left = list(given.left_out) if first else []
    if not given.kept:
        return [], tuple(left)
    if first:
        left += _of_nobody(given.kept, extruders)
    tables = _newest_last([t for t in given.kept if is_for(t, inputs.name, first=first)])
    machine = machine_of(inputs, catalog, plausible(FEWEST))
    material = _material(inputs, machine, [*tables, *given.weighed])
    fitting: list[WeighedTable] = []
    for table in tables:
        reason = _misfit(table, machine, material, given, catalog)
        if reason is None:
            fitting.append(table)
        else:
            left.append(_left_out(table, reason))
    newest = f"older than the {KEPT_USED} newest that fit"
    left += [_left_out(table, newest) for table in fitting[:-KEPT_USED]]
    return fitting[-KEPT_USED:], tuple(left)


def _of_nobody(tables: Sequence[WeighedTable], extruders: Sequence[str]) -> Iterator[LeftOutTest]:
    for table in tables:
        named = table.conditions.extruder
        if named is not None and named not in extruders:
            yield _left_out(table, f"the config has no extruder '{named}'")


def _left_out(table: WeighedTable, reason: str) -> LeftOutTest:
    return LeftOutTest(table.file, table.conditions.name or table.file, reason)


def _material(
    inputs: ExtruderInputs, machine: Machine, tables: Sequence[WeighedTable]
) -> str | None:
    """Return the filament asked about; None: nobody states one, and the tests are all of one."""
    stated = inputs.stated.get(_MATERIAL)
    if stated is not None and stated.known:
        return stated.text
    if len({table.conditions.material for table in tables} - {None}) <= 1:
        return None
    return machine.book.text(_MATERIAL)


def used_tests(
    inputs: ExtruderInputs, tables: Sequence[WeighedTable], kept: Sequence[WeighedTable]
) -> list[KeptTest]:
    """Return tests with how far their rolls are from the one asked about.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the extruder.
    tables : sequence of WeighedTable
        The tests that are used, the last one the newest.
    kept : sequence of WeighedTable
        Those of them that lay in the folder.

    Notes
    -----
    What a roll adds is common to its tests: n of them together count as one that is so far apart.
    """
    stated = inputs.stated.get(_ROLL)
    rolls = [_roll(table.conditions.roll) for table in tables]
    asked = _roll(stated.text) if stated is not None and stated.known else None
    asked = asked or next((roll for roll in reversed(rolls) if roll), None)
    spread = weigh_numbers("rolls")["spread"]
    return [
        KeptTest(
            table,
            kept=any(table is one for one in kept),
            apart=spread * math.sqrt(rolls.count(roll)) if roll and roll != asked else 0.0,
        )
        for table, roll in zip(tables, rolls, strict=True)
    ]


def _roll(text: str | None) -> str | None:
    return " ".join(text.lower().split()) if text else None


def _newest_last(tables: Sequence[WeighedTable]) -> list[WeighedTable]:
    """Return tests by day, those that state none first; else by file."""
    return sorted(tables, key=lambda table: (table.conditions.date or "", table.file))


def _misfit(
    table: WeighedTable, machine: Machine, material: str | None, given: InputFiles, catalog: Catalog
) -> str | None:
    """Return why a test was not done on this machine and filament; None where it was.

    `material` is the filament asked about; None where any will do.
    """
    if table.conditions.hardware is not None:
        return f"it is of the build '{table.conditions.hardware}'"
    if not is_own(table, given):
        return f"it is of the sheet '{table.conditions.sheet}'"
    return next(_differences(table, machine, material, catalog), None)


def _differences(
    table: WeighedTable, machine: Machine, material: str | None, catalog: Catalog
) -> Iterator[str]:
    notes = {row.fact: row for row in load_words().notes.values() if row.fact is not None}
    for name, stated in table.conditions.stated.items():
        title = catalog.facts[name].title
        if name == _MATERIAL:
            if material is not None and stated != material:
                yield f"{title}: {stated}, here {material}"
            continue
        fact = machine.facts.get(name)
        if fact is None or not fact.known or fact.trace.assumed:
            continue
        if isinstance(stated, str):
            if name in machine.inputs.stated and fact.text != stated:
                yield f"{title}: {stated}, here {fact.text}"
            continue
        here = fact.nominal
        if here and abs(stated / here - 1.0) > notes[name].within / 100.0:
            unit = parse_unit(catalog.facts[name].unit)
            shown = "" if unit.symbol in ("", "-") else f" {unit.symbol}"
            theirs, ours = (f"{float(unit.from_si(value)):.4g}" for value in (stated, here))
            yield f"{title}: {theirs}{shown}, here {ours}{shown}"
