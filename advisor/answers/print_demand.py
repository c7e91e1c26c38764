"""Answers `demand`: what a sliced print really asks over time, against the capacity."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import BinaryIO

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig, Family
from advisor.answers.demand_records import (
    DemandReport,
    DemandRow,
    ExcessPlace,
    RefusedMoves,
    SeriesRow,
    SlicerTime,
    SlowedMoves,
    WindowRow,
    WorstPlace,
)
from advisor.answers.flow_limit import chosen_extruder, made_for
from advisor.answers.lint import check_config
from advisor.answers.print_caps import cap_times_answer
from advisor.answers.print_run import (
    FITS,
    NOT,
    allowed_flows,
    analyse_print,
    cap_that_removes,
    finite_nominal,
    nozzle_fact,
    share_beyond,
    verdict_of,
)
from advisor.base import Band, Case, Fact, Finding, UsageError, parse_unit
from advisor.judge import evaluate_rules, load_rulebook
from advisor.machine import FactBook, Machine, band_of
from advisor.prints import FeatureDemand, LayerDemand, PrintReport, Refused, Slowed, WindowDemand

__all__ = ["demand"]

_MM, _MM3 = 1e3, 1e9
_NAMED = "filament.named_material"
_REFUSED = {"distance": "mm", "section": "mm2", "hot": "degC", "cold": "degC"}


def demand(
    stream: BinaryIO,
    path: str,
    config: str,
    asks: Asks,
    *,
    extruder: str | None = None,
    caps: Sequence[float] = (),
    progress: Callable[[int], None] | None = None,
    family: Family | None = None,
) -> DemandReport:
    """Return what a print asks, planned under a config's limits.

    Parameters
    ----------
    stream : binary stream
        The sliced print, plain or gzip.
    path : str
        How the print is called.
    config : str
        The config whose limits it runs under.
    asks : Asks
        Sheet, profiles and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    caps : sequence of float
        Flows the print is held to one after the other, [m3/s]; see `read_caps`.
    progress : callable, optional
        Called with the number of bytes read so far.
    family : Family, optional
        What was worked out of this config before.

    Raises
    ------
    UsageError
        If the config has no extruder, or no speed or acceleration limit to plan with.
    PrintError
        If the print cannot be read.
    """
    checked = check_config(config, asks, family=family)
    if checked.report.errors and not checked.books:
        raise UsageError(checked.report.errors[0], "name a config that can be read")
    name = chosen_extruder(checked, extruder)
    if name is None:
        raise UsageError("the config has no extruder section", "name the root config")
    book = checked.books[name]
    read = analyse_print(stream, path, book, caps=caps, progress=progress)
    return _report(read, path, name, checked)


def _report(read: PrintReport, path: str, name: str, checked: CheckedConfig) -> DemandReport:
    told = next(one for one in checked.report.extruders if one.name == name)
    machine = checked.machines[name]
    asked = _with_tables(_asked_of(read, machine.book, path), read)
    report = dataclasses.replace(
        _against_limits(asked, read, machine.book),
        extruder=name,
        lacking=tuple(_lacking(read, machine.book)),
        files=checked.report.files,
        errors=checked.report.errors,
        weighed=checked.weighed(name),
        gains=told.gains,
        caps=cap_times_answer(read),
        slicer_time=_slicer_time(read),
        findings=_on_temperature(nozzle_fact(path, read, machine.book), name, checked),
        **made_for(machine.book),
    )
    cases = tuple(_judged(read, machine, told.cases))
    hangs = report.verdict in (NOT, FITS) and len({case.exceeds for case in cases}) > 1
    verdict = None if hangs else report.verdict  # a bare yes or no only where all cases agree
    exceeds = None if verdict is None else verdict == NOT
    return dataclasses.replace(report, cases=cases, verdict=verdict, exceeds=exceeds)


def _on_temperature(sets: Fact | None, name: str, checked: CheckedConfig) -> tuple[Finding, ...]:
    """Return what is found of the temperature: the named material's, and the print's own."""
    found = [x for x in checked.report.findings if _NAMED in x.facts and x.extruder == name]
    if sets is not None:
        facts = {**checked.books[name].facts, sets.name: sets}
        told = evaluate_rules(load_rulebook(), {name: facts}, facts)
        found += [x for x in told if sets.name in x.facts]
    return tuple(found)


def _with_tables(report: DemandReport, read: PrintReport) -> DemandReport:
    """Return the answer with what the print asks by feature, layer, place and time."""
    return dataclasses.replace(
        report,
        features=tuple(_feature(row) for row in read.features),
        layers=tuple(_layer(row) for row in read.layers),
        worst=tuple(
            WorstPlace(p.line, _mm(p.height), p.flow * _MM3, p.feature) for p in read.worst
        ),
        series=tuple(_series(read)),
        remarks=tuple(f"{note.message} (line {note.line})" for note in read.notes),
    )


def _asked_of(read: PrintReport, book: FactBook, path: str) -> DemandReport:
    """Return what a print asks, and the figures of the machine that it is set against."""
    cap, sustained = finite_nominal(book, "demand.profile_flow"), read.sustained
    return DemandReport(
        path=path,
        extruder=None,
        moves=read.moves,
        time=read.time,
        volume=read.volume * _MM3,
        filament=read.filament_length * _MM,
        peak=read.peak.value * _MM3,
        peak_line=read.peak.line,
        sustained=None if sustained is None else sustained.value * _MM3,
        sustained_line=sustained.line if sustained is not None else 0,
        melt_volume=read.melt_volume * _MM3,
        capacity=band_of(book.facts["flow.capacity"]),
        skip=band_of(book.facts["flow.skip"]),
        cap=None if cap is None else cap * _MM3,
        above_capacity_time=read.share_of_time_above_capacity,
        above_capacity_volume=read.share_of_volume_above_capacity,
        above_skip_time=read.share_of_time_above_skip,
        above_skip_volume=read.share_of_volume_above_skip,
        sure=share_beyond(read, book),
        exceeds=None,
        extruder_peak_speed=read.extruder_peak_speed.value * _MM,
        extruder_peak_accel=read.extruder_peak_accel.value * _MM,
        advance_speed_share=_speed_share(read, book),
    )


def _against_limits(report: DemandReport, read: PrintReport, book: FactBook) -> DemandReport:
    """Return it with where the print is above a limit, and what the firmware does with it."""
    removing = cap_that_removes(read, book)
    return dataclasses.replace(
        report,
        verdict=verdict_of(read, book),
        windows=tuple(_windows(read, book)),
        places=tuple(
            ExcessPlace(x.line, _mm(x.height), x.feature, x.limit, x.asked * _MM3, x.allowed * _MM3,
                        x.time)
            for x in read.excesses
        ),
        place_count=read.excess_count,
        above_any=read.share_of_time_above_any_limit,
        cap_that_removes=None if removing is None else removing * _MM3,
        refused=tuple(_refused(one) for one in read.refused),
        slowed=tuple(_slowed(one) for one in read.slowed),
    )  # fmt: skip


def _slicer_time(read: PrintReport) -> SlicerTime | None:
    own = read.own_time
    return None if own is None else SlicerTime(own.time, own.line, own.plain, own.kind)


def _refused(one: Refused) -> RefusedMoves:
    unit = parse_unit(_REFUSED[one.kind])
    asked, allowed = float(unit.from_si(one.asked)), float(unit.from_si(one.allowed))
    return RefusedMoves(one.kind, one.count, one.line, asked, allowed)


def _slowed(one: Slowed) -> SlowedMoves:
    if one.kind == "speed":
        return SlowedMoves("speed", one.count, one.line, one.worse * _MM, one.better * _MM)
    return SlowedMoves(one.kind, one.count, one.line, one.better, one.worse)


def _judged(read: PrintReport, machine: Machine, cases: Iterable[Case]) -> Iterator[Case]:
    """Yield each case with whether the print is above any of its limits.

    The melt zone is asked over the window of the typical one: a longer zone is asked less.
    """
    for case in cases:
        stated = float(case.name) if machine.book.units[case.field] else case.name
        book = machine.with_({case.field: stated}).book
        flows = {name: float(np.ravel(flow)[0]) for name, flow in allowed_flows(book).items()}
        asked = [(one.asked.value, one.limit) for one in read.windows if one.asked is not None]
        above = any(flow > flows[limit] * (1.0 + 1e-9) for flow, limit in asked)
        yield dataclasses.replace(case, exceeds=above, sure=share_beyond(read, book))


def _windows(read: PrintReport, book: FactBook) -> Iterator[WindowRow]:
    flows = allowed_flows(book)
    for one in read.windows:
        allowed = band_of(Fact.of("", "mm3/s", flows[one.limit]))
        yield _window(one, allowed or Band(one.allowed * _MM3, one.allowed * _MM3, math.inf),
                      read.extruding_time)  # fmt: skip


def _window(one: WindowDemand, allowed: Band, extruding: float) -> WindowRow:
    volume = one.over == "melt"
    return WindowRow(
        limit=one.limit,
        window_s=None if volume else one.longest,
        window_mm3=one.longest * _MM3 if volume else None,
        shortest_s=None if volume else one.shortest,
        asked=None if one.asked is None else one.asked.value * _MM3,
        line=0 if one.asked is None else one.asked.line,
        allowed=allowed,
        share_above=min(one.above / extruding, 1.0) if extruding else 0.0,
    )


def _speed_share(read: PrintReport, book: FactBook) -> float | None:
    """Motor speed at the print's fastest filament over the corner speed."""
    travel, corner = (
        finite_nominal(book, "drive.travel_per_motor_turn"),
        finite_nominal(book, "motor.corner_speed"),
    )
    if not travel or not corner:
        return None
    return read.extruder_peak_speed.value / travel / corner


def _mm(length: float | None) -> float | None:
    return None if length is None else length * _MM


def _feature(row: FeatureDemand) -> DemandRow:
    return _row(row.title, None, row)


def _layer(row: LayerDemand) -> DemandRow:
    return _row(f"line {row.line}", row.height * _MM, row)


def _row(name: str, height: float | None, row: FeatureDemand | LayerDemand) -> DemandRow:
    return DemandRow(
        name=name,
        height=height,
        time=row.time,
        volume=row.volume * _MM3,
        peak=row.peak * _MM3,
        sustained=None if row.sustained is None else row.sustained * _MM3,
        above_time=row.over_time / row.time if row.time else 0.0,
        above_volume=row.over_volume / row.volume if row.volume else 0.0,
    )


def _series(read: PrintReport) -> Iterator[SeriesRow]:
    for point in read.series:
        yield SeriesRow(
            point.time,
            point.duration,
            point.mean * _MM3,
            point.peak * _MM3,
            _mm(point.height),
            point.line,
        )


def _lacking(read: PrintReport, book: FactBook) -> Iterator[str]:
    if read.capacity is None:
        yield "The capacity is not known, so nothing is compared with it; lint says why."
    if read.volume and read.sustained is None:
        yield "The print is shorter than what the melt zone holds, so its melting is not judged."
    if not read.volume:
        yield "Nothing is extruded along a path in this file."
    if book.samples("hotend.melt_length") is None:
        yield "The melt length is not known; sustained flow is the mean over 1 mm3."
