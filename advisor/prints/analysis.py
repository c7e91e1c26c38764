"""What a sliced print asks of its extruder: the one function that reads, plans and adds up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO, TypedDict

from advisor.base import InputError, PrintError, Span
from advisor.prints.caps import Capped, cap_times
from advisor.prints.dialect import Notes, PrintDialect, load_dialect
from advisor.prints.gathered import Group, Series, Worst
from advisor.prints.interpret import Interpreter
from advisor.prints.judged import Excesses, Judged
from advisor.prints.moves import Moves
from advisor.prints.path import Path
from advisor.prints.plan import MotionPlan, Planner
from advisor.prints.records import (
    Excess,
    FeatureDemand,
    LayerDemand,
    MachineLimits,
    Note,
    OwnTime,
    Peak,
    PrintReport,
    Stated,
    ToolDemand,
    WindowDemand,
    Windows,
)
from advisor.prints.refused import Refusals, Slowing
from advisor.prints.remarks import own_time
from advisor.prints.scan import Scanner
from advisor.prints.shape import shape_moves
from advisor.prints.source import PrintSource
from advisor.prints.tally import Tally

__all__ = ["BLOCK", "analyse", "read_moves"]

BLOCK = 1 << 18  # bytes read at a time: large beside the cost of a pass, small enough for the cache
_HOPELESS = 2000  # lines without one command from which a file is no print
_LEAST_MELT = 1e-9  # m3; no melt zone is smaller


@dataclass(slots=True)
class _Reading:
    """The parts that read a print, from bytes to moves."""

    dialect: PrintDialect
    limits: MachineLimits
    notes: Notes
    source: PrintSource
    interpreter: Interpreter
    name: str
    slowed: Slowing
    moves: int = 0
    pause: float = 0.0

    def portions(self) -> Iterator[Moves]:
        """Yield the moves of the print in portions."""
        scanner, path = Scanner(self.dialect), Path(self.dialect, self.notes)
        for block in self.source.blocks():
            lines = scanner.scan(block)
            before = self.source.lines
            self.interpreter.read(lines, before)
            timeline = self.interpreter.modal.take()
            ways = path.ways(lines, timeline, before)
            if ways is not None and len(ways.place):
                self.moves += len(ways.place)
                self.slowed.add(ways, timeline)
                yield from shape_moves(ways, timeline, self.limits)
            self._hope(before + len(lines), last=False)
        self.pause = path.pause
        self._hope(self.source.lines, last=True)

    def _hope(self, lines: int, *, last: bool) -> None:
        if self.moves or self.interpreter.commands or not (last or lines > _HOPELESS):
            return
        if not last and not self.notes.count("not-understood") > _HOPELESS:
            return
        problem = "there is no G-code command in this file"
        raise PrintError(problem, "give the sliced print", Span(self.name, 1))


def _reading(
    stream: BinaryIO, limits: MachineLimits, *, progress: Callable[[int], None] | None,
    obey_foreign_limits: bool, block_size: int, name: str,
) -> _Reading:  # fmt: skip
    dialect, notes = load_dialect(), Notes()
    source = PrintSource(stream, dialect=dialect, notes=notes, block_size=block_size,
                    progress=progress, name=name)  # fmt: skip
    interpreter = Interpreter(dialect, limits, notes, obey_foreign=obey_foreign_limits)
    slowed = Slowing(dialect.slowed)
    return _Reading(dialect, limits, notes, source, interpreter, name, slowed)


def read_moves(
    stream: BinaryIO,
    *,
    limits: MachineLimits,
    obey_foreign_limits: bool = False,
    block_size: int = BLOCK,
    name: str = "-",
) -> Iterator[Moves]:
    """Yield the moves of a print in portions, unplanned; see `analyse` for the parameters."""
    reading = _reading(stream, limits, progress=None, obey_foreign_limits=obey_foreign_limits,
                       block_size=block_size, name=name)  # fmt: skip
    return reading.portions()


def analyse(
    stream: BinaryIO,
    *,
    limits: MachineLimits,
    filament_area: float,
    capacity: float | None = None,
    skip: float | None = None,
    melt_volume: float,
    windows: Windows | None = None,
    caps: Sequence[float] = (),
    progress: Callable[[int], None] | None = None,
    worst: int = 10,
    series_points: int = 2000,
    obey_foreign_limits: bool = False,
    block_size: int = BLOCK,
    name: str = "-",
) -> PrintReport:
    """Return what a sliced print asks of the extruder, planned under the machine's limits.

    Memory stays flat: the print is read in blocks and nothing is kept of it but sums, the moves
    within one stopping distance and the melt volume. The result does not depend on the blocks.

    Parameters
    ----------
    stream : binary stream
        G-code, plain or gzip; need not be seekable.
    limits : MachineLimits
        What the config allows, SI.
    filament_area : float
        Cross-section of the filament, [m2]
    capacity, skip : float, optional
        Flow the extruder delivers, and flow from which it skips, [m3/s]
    melt_volume : float
        Volume of the melt zone: sustained flow is the mean over it; at least 1 mm3, [m3]
    windows : Windows, optional
        The limits the print is held to, each over its own window.
    caps : sequence of float
        Flows every move is held to by its speed, one after the other; each is a pass more, [m3/s]
    progress : callable, optional
        Called with the number of bytes read so far.
    worst : int
        How many of the worst places to tell.
    series_points : int
        Largest number of points of the time series.
    obey_foreign_limits : bool
        Obey limits that are written for firmwares other than the ini-style one.
    block_size : int
        Bytes read at a time.
    name : str
        How the print is called in errors.

    Returns
    -------
    PrintReport
        Sums, peaks, places and notes, SI.

    Raises
    ------
    PrintError
        If this is no G-code; it says what it is.
    InputError
        If an argument is out of range.
    """
    _hold_above_zero({"filament area": filament_area, "melt volume": melt_volume,
                      "capacity": capacity, "skip flow": skip})  # fmt: skip
    reading = _reading(stream, limits, progress=progress, obey_foreign_limits=obey_foreign_limits,
                       block_size=max(block_size, 1), name=name)  # fmt: skip
    places, series = Worst(worst, reading.interpreter.remarks.features), Series(series_points)
    volume = max(melt_volume, _LEAST_MELT)
    excesses = Excesses(worst, reading.interpreter.remarks.features)
    judged = None if windows is None else Judged(windows, volume, excesses)
    tally = Tally(filament_area=filament_area, capacity=capacity, skip=skip, melt_volume=volume,
                  worst=places, series=series, judged=judged)  # fmt: skip
    refusals = Refusals(limits, filament_area)
    capped = Capped(caps, filament_area, reading.dialect.caps["within"]) if caps else None
    for plan in _planned(reading, refusals, capped):
        tally.add(plan)
        if capped is not None:
            capped.without(plan)
    interpreter = reading.interpreter
    refused = refusals.records(interpreter.nozzle_temperature, interpreter.temperature_line,
                               extrudes=any(tally.filament.values()))  # fmt: skip
    found = _judgement(judged, excesses, _or_none(tally.sustained.peak))
    report = _report(reading, tally, places, series, volume, capacity, skip, found)
    report = replace(report, refused=tuple(refused), slowed=reading.slowed.records)
    if capped is None:
        return report
    return replace(report, caps=cap_times(capped, report, reading.pause, reading.dialect.caps))


def _planned(reading: _Reading, refusals: Refusals, capped: Capped | None) -> Iterator[MotionPlan]:
    """Yield the planned moves; what looks at them on the way does so."""
    planner = Planner(reading.notes)
    for moves in reading.portions():
        refusals.add(moves)
        if capped is not None:
            capped.push(moves)
        yield from planner.push(moves)
    if capped is not None:
        capped.finish()
    yield from planner.finish()


def _hold_above_zero(given: Mapping[str, float | None]) -> None:
    for what, value in given.items():
        if value is not None and not 0.0 < value < float("inf"):
            raise InputError(f"the {what} cannot be {value:g}", "state a number above 0")


def _report(
    reading: _Reading, tally: Tally, places: Worst, series: Series, melt_volume: float,
    capacity: float | None, skip: float | None, found: _Judgement,
) -> PrintReport:  # fmt: skip
    features = _features(tally, reading.interpreter.remarks.features)
    return PrintReport(
        filament_length=sum(tally.filament.values()),
        path_length=tally.path_length,
        peak=tally.peak.peak,
        sustained=_or_none(tally.sustained.peak),
        melt_volume=melt_volume,
        capacity=capacity,
        skip=skip,
        features=features,
        layers=_layers(tally),
        tools=_tools(tally),
        worst=places.places(),
        extruder_peak_speed=tally.speed.peak,
        extruder_peak_accel=tally.accel.peak,
        retract_peak_speed=tally.retract.peak,
        max_accel=tally.max_accel,
        series=series.points(),
        own_time=_own_time(reading, tally),
        **_of_text(reading),
        **_times(tally, reading.pause),
        **_sums(features),
        **found,
    )


def _own_time(reading: _Reading, tally: Tally) -> OwnTime | None:
    stated, pause = reading.interpreter.remarks.own_time, reading.pause
    if stated is None:
        return None
    planned, plain = tally.time + pause, tally.plain_time + pause
    return own_time(*stated, planned, plain, reading.dialect.own_time)


class _OfText(TypedDict):
    """The part of a `PrintReport` that the text tells, whatever the moves come to."""

    lines: int
    bytes: int
    moves: int
    nozzle_temperature: float | None
    last_temperature: float | None
    temperature_line: int
    stated: dict[str, Stated]
    notes: tuple[Note, ...]


def _of_text(reading: _Reading) -> _OfText:
    interpreter = reading.interpreter
    return {
        "lines": reading.source.lines,
        "bytes": reading.source.bytes_read,
        "moves": reading.moves,
        "nozzle_temperature": interpreter.nozzle_temperature,
        "last_temperature": interpreter.last_temperature,
        "temperature_line": interpreter.temperature_line,
        "stated": dict(sorted(interpreter.remarks.stated.items())),
        "notes": reading.notes.records(reading.dialect),
    }


class _Times(TypedDict):
    """What a print takes its time for, [s]."""

    time: float
    extruding_time: float
    travel_time: float
    extrude_only_time: float
    pause_time: float


def _times(tally: Tally, pause: float) -> _Times:
    rest = tally.extruding_time + tally.extrude_only_time + tally.pause_time
    return {
        "time": tally.time + pause,
        "extruding_time": tally.extruding_time,
        "travel_time": max(tally.time - rest, 0.0),
        "extrude_only_time": tally.extrude_only_time,
        "pause_time": tally.pause_time + pause,
    }


class _Sums(TypedDict):
    """What all features ask together."""

    volume: float
    over_time: float
    over_volume: float
    skip_time: float
    skip_volume: float


def _sums(features: Sequence[FeatureDemand]) -> _Sums:
    return {
        "volume": sum(one.volume for one in features),
        "over_time": sum(one.over_time for one in features),
        "over_volume": sum(one.over_volume for one in features),
        "skip_time": sum(one.skip_time for one in features),
        "skip_volume": sum(one.skip_volume for one in features),
    }


class _Judgement(TypedDict, total=False):
    """The part of a `PrintReport` that is known where there are limits to hold the print to."""

    windows: tuple[WindowDemand, ...]
    excesses: tuple[Excess, ...]
    excess_count: int
    excess_time: float


def _judgement(judged: Judged | None, excesses: Excesses, sustained: Peak | None) -> _Judgement:
    if judged is None:
        return {}
    places = judged.places()
    return {
        "windows": judged.demands(sustained),
        "excesses": places,
        "excess_count": excesses.count,
        "excess_time": excesses.time,
    }


def _or_none(peak: Peak) -> Peak | None:
    return peak if peak.value > 0.0 else None


def _features(tally: Tally, names: list[str | None]) -> tuple[FeatureDemand, ...]:
    features = []
    for number, group in sorted(tally.features.by_key.items()):
        name = names[number]
        title = name.replace("-", " ") if name else "no feature named"
        features.append(FeatureDemand(name, title, *_common(group), *_excess(group, "skip")))
    return tuple(sorted(features, key=lambda feature: -feature.volume))


def _common(group: Group) -> tuple[int, float, float, float, float | None, float, float]:
    sums, peaks = group.sums, group.peaks
    over_time, over_volume = _excess(group, "over")
    return (int(sums["moves"]), sums["time"], sums["volume"], peaks["peak"],
            _sustained(group), over_time, over_volume)  # fmt: skip


def _sustained(group: Group) -> float | None:
    """Return the largest mean, at most the group's own peak: it may reach into a faster one."""
    return min(group.peaks["sustained"], group.peaks["peak"]) or None


def _excess(group: Group, kind: str) -> tuple[float, float]:
    return group.sums.get(f"{kind}_time", 0.0), group.sums.get(f"{kind}_volume", 0.0)


def _layers(tally: Tally) -> tuple[LayerDemand, ...]:
    known = sorted(item for item in tally.heights.by_key.items() if item[0] > -(2**39))
    return tuple(
        LayerDemand(round(level * tally.grid, 9), group.line, *_common(group))
        for level, group in known
    )


def _tools(tally: Tally) -> tuple[ToolDemand, ...]:
    empty = Group(0, {"time": 0.0, "volume": 0.0}, {"peak": 0.0, "sustained": 0.0})
    tools = sorted(tally.tools.by_key.keys() | tally.filament.keys())
    demands = []
    for tool in tools:
        group = tally.tools.by_key.get(tool, empty)
        sums, peaks = group.sums, group.peaks
        demands.append(ToolDemand(tool, sums["time"], sums["volume"],
                                  tally.filament.get(tool, 0.0), peaks["peak"],
                                  _sustained(group)))  # fmt: skip
    return tuple(demands)
