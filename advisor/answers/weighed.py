"""Takes weighed tests and skip tests into an extruder, and says what they made of the capacity."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.checked import CheckedExtruder
from advisor.answers.input_files import InputFiles, table_bytes
from advisor.answers.kept_tests import broken_test
from advisor.answers.matched_tests import KeptTest, is_for, is_own, kept_for, used_tests
from advisor.answers.skip_tests import of_sheet, skip_seen, used_skip
from advisor.base import (
    Band,
    Fact,
    LeftOutTest,
    Origin,
    OriginKind,
    Span,
    UsedTest,
    Weighed,
    WeighError,
)
from advisor.catalog import Catalog
from advisor.machine import Ensemble, ExtruderInputs, FactBook, Machine, machine_of, merge_stated
from advisor.weigh import (
    Evaluation,
    Setup,
    SkipResult,
    SkipTable,
    SkipTest,
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
    from advisor.mend import Snapshot

__all__ = ["conditions_of_table", "read_tables", "seen_of", "setup_of", "take_in"]

_BITE = "drive.bite_depth"
_SHEET_CLICKS = "motor.measured_skip of the sheet"


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
    given.read_tables(
        paths,
        "weighed",
        given.weighed,
        lambda path: read_weighed(table_bytes(path, files), path, catalog=catalog),
    )


_MEASURED = Origin(OriginKind.MEASURED)
_DISTANCE = "drive.rotation_distance"
_ONE_SIDED = 1.6448536269514722  # standard deviations below which 5 % lie


def take_in(
    inputs: ExtruderInputs,
    given: InputFiles,
    catalog: Catalog,
    ensemble: Ensemble,
    *,
    extruders: Sequence[str],
) -> CheckedExtruder:
    """Return one extruder worked out with the weighed tests that were done on it.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of it.
    given : InputFiles
        What was given beside the config; a test by hand that cannot be evaluated is told there.
    catalog : Catalog
        What is assumed for the rest.
    ensemble : Ensemble
        The plausible machines.
    extruders : sequence of str
        The config's; a table that names none is of the first.
    """
    first = extruders[0] == inputs.name
    tables = [table for table in given.weighed if is_for(table, inputs.name, first=first)]
    skips = [table for table in given.skips if is_for(table, inputs.name, first=first)]
    kept, left_out = kept_for(inputs, given, catalog, extruders)
    tests = used_tests(inputs, [*kept, *tables], kept)
    if not (tests or skips or inputs.skips):
        note = Weighed(files=(), left_out=left_out) if left_out else None
        return CheckedExtruder(machine_of(inputs, catalog, ensemble), note)
    tables = [one.table for one in tests]
    asked = _with_bite(_with_conditions(inputs, [*tables, *skips], catalog), tables, given)
    machine = machine_of(asked, catalog, ensemble)
    read = _Read(given, machine, list(left_out))
    for one in tests:
        read.take(one)
    for table in skips:
        read.take_clicks(table, catalog)
    if inputs.skips:
        read.take_sheet(of_sheet(machine, inputs.skips, catalog))
    return read.made(inputs.name)


@dataclass(slots=True)
class _Read:
    """The tests of an extruder as they are read, one after the other."""

    given: InputFiles
    machine: Machine
    left_out: list[LeftOutTest]
    tests: list[Evaluation] = field(default_factory=list)
    used: list[UsedTest] = field(default_factory=list)
    seen: list[WeighedResult | SkipResult] = field(default_factory=list)
    skips: list[SkipTest] = field(default_factory=list)
    clean: list[float] = field(default_factory=list)
    off: list[Evaluation] = field(default_factory=list)  # whose rotation distance may still be off

    def take(self, one: KeptTest) -> None:
        """Read a test; one by hand that cannot be is an error, one that is kept is left out."""
        table = one.table
        try:
            test = evaluate(table, setup_of(table, self.machine))
        except WeighError as err:
            if one.kept:
                self.left_out.append(broken_test(table.file, err))
            else:
                self.given.errors.append(err)
            return
        self.tests.append(test)
        if not is_own(table, self.given):
            return
        turned = self._turned(table, test)
        seen = seen_of(test, table, apart=one.apart, turned=turned)
        self.seen.append(seen)
        self.used.append(one.told(test.name))
        if self._still_off(one, test):
            self.off.append(test)
        if bench_of(seen, self.machine, self.machine).is_of(self.machine.book):
            least = np.exp(-_ONE_SIDED * one.apart) * turned * fed_share(test).value
            self.clean.append((test.clean or 0.0) * float(least))

    def take_clicks(self, table: SkipTable, catalog: Catalog) -> None:
        """Read a skip test."""
        seen, told = skip_seen(table, self.machine, catalog)
        self.skips.append(told)
        if is_own(table, self.given):  # another build tells nothing of this one
            self.seen.append(seen)
            self.used.append(used_skip(table))

    def take_sheet(self, seen: SkipResult) -> None:
        """Take in the clicks that the sheet states."""
        if seen.points:
            self.seen.append(seen)
            self.used.append(UsedTest(seen.at.file, _SHEET_CLICKS, kind="skip"))

    def _turned(self, table: WeighedTable, test: Evaluation) -> float:
        """Return what a flow of the test is now commanded as, where the calibration was changed."""
        then = table.conditions.stated.get(_DISTANCE)
        now = self.machine.book.nominal(_DISTANCE)
        if not isinstance(then, float) or not now or fed_share(test).value != 1.0:
            return 1.0
        return now / then

    def _still_off(self, one: KeptTest, test: Evaluation) -> bool:
        """Whether what a test says of the rotation distance is not set yet, as far as it says."""
        then, now = one.table.conditions.stated.get(_DISTANCE), self.machine.book.nominal(_DISTANCE)
        if then is None or now is None or test.rotation_distance is None:
            return not one.kept
        return not test.rotation_distance.low <= now <= test.rotation_distance.high

    def made(self, extruder: str) -> CheckedExtruder:
        """Return the extruder with what all tests showed taken in."""
        machine, left_out, tests = self.machine, tuple(self.left_out), tuple(self.tests)
        skips = tuple(self.skips)
        if not self.seen:
            note = Weighed(files=(), left_out=left_out) if left_out else None
            return CheckedExtruder(machine, note, tests=tests, skips=skips)
        if self.clean:  # other filaments or temperatures tell nothing of what comes out whole here
            machine = machine.with_({"weighed.clean_flow": min(self.clean)}, origin=_MEASURED)
        machine, narrowing = narrowed(machine, self.seen)
        note = weighed_note(narrowing, {test.file: test.name for test in self.used})
        note = dataclasses.replace(note, tests=tuple(self.used), left_out=left_out)
        events = tuple(weighed_events(narrowing, self.off, extruder))
        return CheckedExtruder(machine, note, events, tests, skips)


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
    seen = WeighedResult(Span(table.file, 1), conditions_of_table(table))
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
        rotation_distance=_distance(table, book),
        expected=_expected(book),
        tooth_pitch=_tooth_pitch(book),
    )


def _distance(table: WeighedTable, book: FactBook) -> float | None:
    """Return the rotation distance a test was done with, as its table or else the machine says."""
    stated = table.conditions.stated.get(_DISTANCE)
    return stated if isinstance(stated, float) else _typical(book, _DISTANCE)


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


def conditions_of_table(table: WeighedTable | SkipTable) -> dict[str, Fact]:
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
    inputs: ExtruderInputs, tables: Sequence[WeighedTable | SkipTable], catalog: Catalog
) -> ExtruderInputs:
    """Ask about the filament and temperature of the test where nobody names another."""
    if not tables:
        return inputs
    conditions = conditions_of_table(tables[0])
    material = inputs.stated.get("filament.material")
    tested = conditions.get("filament.material")
    if material is not None and material.known and (
        tested is None or tested.text != material.text
    ):  # fmt: skip
        return inputs
    if any(
        conditions_of_table(table) != {**conditions, **conditions_of_table(table)}
        for table in tables
    ):
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
        if not is_own(table, given) or table.conditions.material not in own:
            continue
        found = [run for run in table.runs if run.mark_depth is not None]
        band = depth_of_marks([run.mark_depth for run in found if run.mark_depth is not None])
        if band is not None:
            origin = Origin(OriginKind.MEASURED, at=found[0].at)
            bite = Fact.of(_BITE, "mm", (band.low, band.value, band.high), origin=origin)
            stated = merge_stated(inputs.stated, {_BITE: bite})
            return dataclasses.replace(inputs, stated=stated)
    return inputs


def seen_of(
    test: Evaluation, table: WeighedTable, *, apart: float = 0.0, turned: float = 1.0
) -> WeighedResult:
    """Return what a test showed, as the narrowing takes it.

    Parameters
    ----------
    test : Evaluation
        What it shows.
    table : WeighedTable
        The test as it was written down.
    apart : float, optional
        Standard deviation by which flows of the roll asked about may be apart, [-]
    turned : float, optional
        What a flow of then is commanded as now, where the rotation distance was changed, [-]

    Flows are those that went in where a ruler told them, else those commanded.
    """
    fed = fed_share(test)
    fed = Band(fed.value * turned, fed.low * turned, fed.high * turned)
    fastest = test.intact if test.knee is None else test.steps[-1].flow
    return WeighedResult(
        at=Span(table.file, 1),
        conditions=conditions_of_table(table),
        knee=scaled(test.knee, fed),
        draws=scaled_draws(test.came_out, fed),
        fastest=fastest * fed.value,
        delivered=_times(test.delivered, fed),
        carried=_times(test.carried, fed),
        last_without_skips=_times(test.last_without_skips, fed),
        first_skip=_times(test.first_skip, fed),
        reference_ratio=test.reference_ratio,
        apart=apart,
    )


def _times(flow: float | None, fed: Band) -> float | None:
    return flow * fed.value if flow else None
