"""Takes skip tests in: what their tables say, as the machine's driver applied it.

It decides nothing of what they make of the machine: see `weighed`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.input_files import InputFiles, table_bytes
from advisor.base import Band, Fact, Origin, OriginKind, Span, UsedTest
from advisor.catalog import Catalog
from advisor.machine import DriverModel, FactBook, Machine, driver_of
from advisor.mend import Snapshot
from advisor.weigh import (
    SkipPoint,
    SkipResult,
    SkipRow,
    SkipSeenPoint,
    SkipTable,
    SkipTest,
    click_flow,
    read_skip_table,
    rotor_rate,
    skip_numbers,
    weighed_as,
)

if TYPE_CHECKING:
    from advisor.inputs import Measurement

__all__ = ["conditions_of", "of_sheet", "read_skip_tables", "skip_seen", "used_skip"]

_MM3, _LOW, _HIGH = 1e9, 0.05, 0.95
_OFF = 0.05  # by which a reported current may be off the one that was set, untold
_DISTANCE = "drive.rotation_distance"
_MEASURED = "measured_skip"


def read_skip_tables(
    paths: Sequence[str], given: InputFiles, catalog: Catalog, files: Snapshot
) -> None:
    """Read the tables of skip tests into what was given; each mistake is told there.

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
        "skip-test",
        given.skips,
        lambda path: read_skip_table(table_bytes(path, files), path, catalog=catalog),
    )


def conditions_of(table: SkipTable) -> dict[str, Fact]:
    """Return what the table says the test was done with."""
    given = table.conditions
    values = {
        "filament.material": ("", given.material),
        "hotend.temperature": ("degC", given.temperature),
        "nozzle.diameter": ("mm", given.nozzle),
    }
    return _stated(values, Origin(OriginKind.MEASURED, at=Span(table.file, 1)))


def _stated(
    values: Mapping[str, tuple[str, str | float | None]], origin: Origin
) -> dict[str, Fact]:
    return {
        name: Fact.of(name, unit, value, origin=origin)
        for name, (unit, value) in values.items()
        if value is not None
    }


def used_skip(table: SkipTable) -> UsedTest:
    """Return what is said of a skip test that is used."""
    given = table.conditions
    return UsedTest(table.file, given.name or table.file, given.date, given.roll, kind="skip")


def skip_seen(table: SkipTable, machine: Machine, catalog: Catalog) -> tuple[SkipResult, SkipTest]:
    """Return what a skip test showed: for the narrowing, and to be told.

    Parameters
    ----------
    table : SkipTable
        The test.
    machine : Machine
        The machine, without any test.
    catalog : Catalog
        The driver chips.
    """
    conditions = conditions_of(table)
    empty = SkipResult(Span(table.file, 1), conditions)
    book = weighed_as(empty, machine, machine.book).book
    driver = driver_of(book, catalog)
    turned = _turned(table, machine)
    joined = [_joined(rows, driver, turned) for rows in _by_current(table.rows)]
    applied = None if table.empty is None else _applied(table.empty, driver)[0]
    slips = [row.last * turned for row in table.rows if row.noticed == "slip"]
    slipped = min(slips) if slips else None
    seen = SkipResult(
        Span(table.file, 1), conditions, tuple(point for point, _ in joined), applied, slipped
    )
    test = SkipTest(
        name=table.conditions.name or table.file,
        file=table.file,
        conditions=_words(table),
        points=tuple(_told(point, rows, book) for point, rows in joined),
        empty_run=table.empty,
        slipped=any(row.noticed == "slip" for row in table.rows),
        remarks=tuple(_remarks(table, driver)),
        date=table.conditions.date,
        roll=table.conditions.roll,
    )
    return seen, test


def of_sheet(machine: Machine, measured: Sequence[Measurement], catalog: Catalog) -> SkipResult:
    """Return clicks that the sheet states, `motor.measured_skip`, as one test.

    Parameters
    ----------
    machine : Machine
        The machine.
    measured : sequence of Measurement
        Current and flow, and perhaps material, temperature and nozzle.
    catalog : Catalog
        The driver chips.
    """
    driver, reading = driver_of(machine.book, catalog), skip_numbers("reading")
    points = []
    for record in measured:
        current, flow = record.nominal("current"), record.nominal("flow")
        if current is None or flow is None:
            continue
        applied, error = _applied(current, driver)
        last = flow / (1.0 + reading["sheet_interval"])
        points.append(SkipPoint(applied, error, last, flow))
    first = measured[0]
    at = first.at or Span("", 1)
    values = {
        "filament.material": ("", first.text("material")),
        "hotend.temperature": ("degC", first.nominal("temperature")),
        "nozzle.diameter": ("mm", first.nominal("nozzle")),
    }
    return SkipResult(at, _stated(values, Origin(OriginKind.MEASURED, at=at)), tuple(points))


def _by_current(rows: Sequence[SkipRow]) -> list[list[SkipRow]]:
    """Return the runs of each lowered current, by falling current."""
    currents = sorted({row.current for row in rows}, reverse=True)
    return [[row for row in rows if row.current == one] for one in currents]


def _joined(
    rows: list[SkipRow], driver: DriverModel | None, turned: float
) -> tuple[SkipPoint, list[SkipRow]]:
    """Return the runs at one current as one point.

    Where all but few clicked, the middle of them counts; what they scatter is part of the point.
    """
    reading = skip_numbers("reading")
    reported = [row.reported for row in rows if row.reported is not None]
    applied, error = _applied(float(np.median(reported)) if reported else rows[0].current, driver)
    clicked = [row for row in rows if row.first is not None]
    if 2 * len(clicked) <= len(rows):
        last = max(row.last for row in rows if row.first is None)
        return SkipPoint(applied, error, last * turned, None), rows
    middles = [math.sqrt(row.last * (row.first or row.last)) for row in clicked]
    middle = float(np.median(middles))
    width = float(np.median([math.log((row.first or row.last) / row.last) for row in clicked]))
    spread = float(np.std(np.log(middles), ddof=1)) if len(middles) > 1 else 0.0
    scatter = spread / math.sqrt(len(middles))
    if all(row.noticed == "unsure" for row in clicked):
        scatter = math.hypot(scatter, reading["unsure_scatter"])
    last, first = (turned * middle * math.exp(part * width) for part in (-0.5, 0.5))
    return SkipPoint(applied, error, last, first, scatter), rows


def _applied(current: float, driver: DriverModel | None) -> tuple[float, float]:
    """Return a current as the driver applies it, and what it may be off beside the common, [A]."""
    reading = skip_numbers("reading")
    if driver is None:
        return current, reading["plain_error"]
    found = driver.setting(current)
    return float(found.current), reading["step_error"] / (float(found.step) + 1.0) / math.sqrt(3.0)


def _turned(table: SkipTable, machine: Machine) -> float:
    """Return what a flow of the test is now commanded as, where the calibration was changed."""
    then = table.conditions.stated.get(_DISTANCE)
    now = machine.book.nominal(_DISTANCE)
    return now / then if isinstance(then, float) and now else 1.0


def _told(point: SkipPoint, rows: Sequence[SkipRow], book: FactBook) -> SkipSeenPoint:
    flows = click_flow(book, point.current)
    expected = None
    if flows is not None:
        low, high = (float(end) * _MM3 for end in np.quantile(flows, (_LOW, _HIGH)))
        expected = Band(float(flows[0]) * _MM3, low, high)
    rate = rotor_rate(book, point.current, point.first or point.last)
    near = rate is not None and abs(float(np.ravel(rate)[0]) - 1.0) < _band()
    return SkipSeenPoint(
        current=rows[0].current,
        applied=point.current,
        last_good=point.last * _MM3,
        first_click=None if point.first is None else point.first * _MM3,
        runs=len(rows),
        noticed=tuple(dict.fromkeys(row.noticed for row in rows)),
        expected=expected,
        near_rotor=near,
        lines=tuple(row.at.line for row in rows),
    )


def _band() -> float:
    return skip_numbers("plan")["rotor_band"]


def _words(table: SkipTable) -> dict[str, str]:
    given = table.conditions
    words = {"material": given.material or ""}
    if given.temperature is not None:
        words["temperature"] = f"{given.temperature - 273.15:.0f} degC"
    if given.nozzle is not None:
        words["nozzle"] = f"{given.nozzle * 1e3:.4g} mm"
    return {name: text for name, text in words.items() if text}


def _remarks(table: SkipTable, driver: DriverModel | None) -> Iterator[str]:
    """Yield what is to be said of a table beside its points."""
    if driver is None:
        yield "the driver is not known: currents are taken as they were set"
    off = [
        row
        for row in table.rows
        if row.reported is not None and abs(row.reported / row.current - 1.0) > _OFF
    ]
    for row in off[:1]:
        yield (
            f"the firmware reports {row.reported:.2f} A RMS where {row.current:.2f} was set "
            f"(line {row.at.line}): read as {row.reported:.2f}"
        )
    if any(row.noticed == "slip" for row in table.rows):
        yield "the gears slipped: that run says only that the motor pushed as hard as they hold"
    for row in table.rows:
        if row.note:
            yield f"line {row.at.line}: {row.note}"
