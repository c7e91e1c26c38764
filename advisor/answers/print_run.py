"""A sliced print planned under the limits of one extruder: facts in, what it asks out.

The limits are held each over its own window; the verdict on a print follows from them. What the
print asks is told as facts, too, for `lint --print`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from advisor.answers.session import InputFiles
from advisor.base import (
    BOUNDING,
    LIMITS,
    AdvisorError,
    Fact,
    FileStatus,
    InputError,
    Origin,
    OriginKind,
    Span,
    UsageError,
)
from advisor.files import open_plain, unreadable
from advisor.machine import CAP_NAME as CAP, FactBook, settled_by_hotend
from advisor.prints import Allowed, MachineLimits, Peak, PrintReport, WindowDemand, Windows, analyse

__all__ = [
    "EXCEPT",
    "FITS",
    "NOT",
    "allowed_flows",
    "analyse_print",
    "cap_that_removes",
    "cures_of",
    "exceeded",
    "finite_nominal",
    "limit_words",
    "machine_limits",
    "nozzle_fact",
    "share_beyond",
    "sliced_facts",
    "verdict_of",
    "windows_of",
]

FITS, EXCEPT, NOT = "fits", "fits-except", "does-not-fit"
_OVER = {"melt": "melt", "heater": "heat"}  # the others feel the pressure
_WORDS = {"torque": "motor", "grip": "grip", "buckling": "gap", "melt": "melt zone",
          "heater": "heater"}  # fmt: skip
_LOSING = ("skip", "slip")  # here steps or filament are lost
_STEP = 0.1e-9  # m3/s; a cap is set in tenths of mm3/s
_USUAL_LAG, _USUAL_HEAT = 0.04, 10.0  # s; where a catalogue has none
_NEEDED = {"max_velocity": "motion.max_velocity", "max_accel": "motion.max_accel"}
_LEAST_MELT = 1e-9  # m3; taken where the melt length is not known
_USUAL_AREA = math.pi / 4.0 * 1.75e-3**2  # m2
_REFUSED = {
    "distance": ("demand.print_distance", "mm"),
    "section": ("demand.print_section", "mm2"),
    "hot": ("demand.print_temperature", "degC"),
    "cold": ("demand.print_temperature", "degC"),
}


def windows_of(book: FactBook) -> Windows:
    """Return what prints on an extruder are held to: its typical limits and their windows."""
    flows = {name: float(np.ravel(flow)[0]) for name, flow in allowed_flows(book).items()}
    return Windows(
        lag=_lag(book),
        heat=_nominal(book, "model.heater_window") or _USUAL_HEAT,
        allowed=tuple(
            Allowed(name, flow, _OVER.get(name, "lag"))
            for name, flow in flows.items()
            if math.isfinite(flow)
        ),
    )


def _lag(book: FactBook) -> float:
    """Return the pressure's lag where no pressure advance is set in config or print."""
    if advance := _nominal(book, "profile.pressure_advance"):
        return advance
    bowden = book.text("drive.path") == "bowden"
    return _nominal(book, "model.lag_bowden" if bowden else "model.lag_direct") or _USUAL_LAG


def allowed_flows(book: FactBook) -> Mapping[str, NDArray[np.float64]]:
    """Return the known limits over the ensemble, [m3/s].

    Where a weighed test holds the capacity below every limit, the lowest is held down with it.
    """
    flows = {name: book.samples(f"flow.{name}") for name in LIMITS}
    known = {
        name: np.asarray(flow, dtype=float) for name, flow in flows.items() if flow is not None
    }
    capacity, bounding = book.samples("flow.capacity"), [n for n in BOUNDING if n in known]
    if capacity is None or not bounding:
        return known
    least = np.minimum.reduce([known[name] for name in bounding])
    for name in bounding:
        lowest = known[name] <= least
        known[name] = np.where(lowest, np.minimum(known[name], capacity), known[name])
    return known


def exceeded(read: PrintReport) -> tuple[WindowDemand, ...]:
    """Return the limits a print is above at any time, in the order of the chain."""
    return tuple(window for window in read.windows if window.above > 0.0)


def limit_words(above: tuple[WindowDemand, ...]) -> str:
    """Return limits in words, the lowest first: ``grip 9.7, motor 12.4``.

    Where it skips or slips the motor or the grip is exceeded too, and named.
    """
    named = [window for window in above if window.limit in _WORDS]
    ordered = sorted(named, key=lambda window: window.allowed)
    return ", ".join(f"{_WORDS[one.limit]} {one.allowed * 1e9:.3g}" for one in ordered)


def verdict_of(read: PrintReport, book: FactBook) -> str | None:
    """Return whether a print fits; None where the capacity is not known.

    A print that skips or loses filament anywhere does not fit; one that is above another limit
    for less than a thousandth of its extruding time fits except there.
    """
    above = exceeded(read)
    if not above:
        return FITS if read.capacity is not None else None
    tolerance = _nominal(book, "model.print_tolerance") or 0.0
    losing = any(window.limit in _LOSING for window in above)
    return NOT if losing or read.share_of_time_above_any_limit >= tolerance else EXCEPT


def cap_that_removes(read: PrintReport, book: FactBook) -> float | None:
    """Return a largest flow to set with which no window is above its limit, [m3/s].

    No mean over any window is above the largest flow; so the lowest limit exceeded will do. Where
    the flow to set in a profile is known and lower, it is that one: one figure in all commands.
    None where nothing is exceeded, or no flow would do, or where the flow to set hangs on the
    hotend, which nobody states.
    """
    above = exceeded(read)
    if not above or settled_by_hotend(book):
        return None
    lowest = min(window.allowed for window in above)
    lowest = min(lowest, _nominal(book, CAP) or lowest)
    cap = math.floor(lowest / _STEP + 1e-6) * _STEP
    return cap if cap > 0.0 else None


def cures_of(read: PrintReport, book: FactBook) -> str:
    """Return what to do about a print that is above a limit, as an instruction."""
    cap = cap_that_removes(read, book)
    if cap is not None:
        return f"Set the slicer's largest flow to {cap * 1e9:.3g} mm3/s and slice again"
    if settled_by_hotend(book):
        return "State the hotend's class; `feedwright flow` gives the flow to set for each"
    return "Make stronger what limits first, or print with thinner and slower lines"


def share_beyond(read: PrintReport, book: FactBook) -> float | None:
    """Return the share of machines like this one in which a window is above its limit."""
    flows = allowed_flows(book)
    if read.capacity is None or not flows:
        return None
    beyond = np.zeros(book.ensemble.size, dtype=bool)
    for window in read.windows:
        if window.asked is not None:
            beyond |= window.asked.value > flows[window.limit] * (1.0 + 1e-9)
    return float(beyond.mean())


def _nominal(book: FactBook, name: str) -> float | None:
    samples = book.samples(name)
    value = math.nan if samples is None else float(np.ravel(samples)[0])
    return value if math.isfinite(value) else None


_LIMITS = {
    **_NEEDED,
    "square_corner_velocity": "motion.square_corner_velocity",
    "min_cruise_ratio": "motion.min_cruise_ratio",
    "max_extrude_only_velocity": "motion.max_extrude_only_velocity",
    "max_extrude_only_accel": "motion.max_extrude_only_accel",
    "corner_velocity": "motion.corner_velocity",
    "pressure_advance": "motion.pressure_advance",
    "smooth_time": "motion.smooth_time",
    "retract_length": "motion.retract_length",
    "retract_speed": "motion.retract_speed",
    "unretract_speed": "motion.unretract_speed",
    "max_extrude_only_distance": "motion.max_extrude_only_distance",
    "max_cross_section": "motion.max_cross_section",
    "nozzle_diameter": "nozzle.diameter",
    "max_temperature": "hotend.max_temperature",
    "min_extrude_temperature": "hotend.min_extrude_temperature",
}


def analyse_print(
    stream: BinaryIO,
    path: str,
    book: FactBook,
    *,
    caps: Sequence[float] = (),
    progress: Callable[[int], None] | None = None,
) -> PrintReport:
    """Return what a print asks, planned under the limits of an extruder, in SI.

    `caps` are flows its time is told for, [m3/s].

    Raises
    ------
    UsageError
        If speed or acceleration limit are not known.
    PrintError
        If the print cannot be read.
    """
    return analyse(
        stream,
        limits=machine_limits(book),
        filament_area=finite_nominal(book, "filament.area") or _USUAL_AREA,
        capacity=finite_nominal(book, "flow.capacity"),
        skip=finite_nominal(book, "flow.skip"),
        melt_volume=_melt_volume(book),
        windows=windows_of(book),
        caps=caps,
        progress=progress,
        name=path,
    )


def machine_limits(book: FactBook) -> MachineLimits:
    """Return the limits a print runs under, from the facts of an extruder.

    Raises
    ------
    UsageError
        If speed or acceleration limit are not known.
    """
    values = {field: finite_nominal(book, fact) for field, fact in _LIMITS.items()}
    absent = [fact for field, fact in _NEEDED.items() if values[field] is None]
    if absent:
        words = " and ".join(fact.partition(".")[2].replace("_", " ") for fact in absent)
        raise UsageError(f"the config states no {words}", "a print is planned with these limits")
    return MachineLimits(**{field: v for field, v in values.items() if v is not None})


def finite_nominal(book: FactBook, name: str) -> float | None:
    """Return the typical value of a fact in SI; None where it is not known or not finite."""
    value = book.nominal(name)
    if value is None:
        return None
    return value if math.isfinite(value) else None


def _melt_volume(book: FactBook) -> float:
    length, area = finite_nominal(book, "hotend.melt_length"), finite_nominal(book, "filament.area")
    return max((length or 0.0) * (area or _USUAL_AREA), _LEAST_MELT)


def sliced_facts(path: str, book: FactBook, given: InputFiles) -> Mapping[str, Fact]:
    """Return the peak and the sustained flow of a print, planned under an extruder's limits.

    What cannot be read, or planned for want of limits, is an error of `given`.
    """
    try:
        with open_plain(path) as stream:
            read = analyse_print(stream, path, book)
    except (OSError, ValueError) as err:
        return _refused(path, unreadable(path, err), given)
    except AdvisorError as err:
        return _refused(path, err, given)
    given.files.append(FileStatus(path, "read", "print"))
    facts = (
        _fact("demand.print_peak", path, read.peak),
        _fact("demand.print_sustained", path, _asked(read, "melt") or read.sustained),
        _fact("demand.print_push", path, _asked(read, "lag")),
        _fact("demand.print_heat", path, _asked(read, "heat")),
        *_verdict_facts(path, read, book),
        *_refused_facts(path, read),
        nozzle_fact(path, read, book),
    )
    return {fact.name: fact for fact in facts if fact is not None}


def nozzle_fact(path: str, read: PrintReport, book: FactBook) -> Fact | None:
    """Return the temperature that a print sets: of the highest and the last the nearer to ours.

    None where it sets none, or where the command line states what is to be worked out for.
    """
    ours = book.facts.get("hotend.temperature")
    kelvin = None if ours is None else ours.nominal
    if ours is None or kelvin is None or ours.origin.kind is OriginKind.COMMAND:
        return None
    sets = [x for x in (read.nozzle_temperature, read.last_temperature) if x is not None]
    if not sets:
        return None
    nearest = min(sets, key=lambda x: abs(x - kelvin))
    origin = Origin(OriginKind.PROFILE, at=Span(path, max(read.temperature_line, 1)))
    return Fact.of("demand.print_nozzle", "degC", nearest, origin=origin)


def _asked(read: PrintReport, over: str) -> Peak | None:
    return next((window.asked for window in read.windows if window.over == over), None)


def _verdict_facts(path: str, read: PrintReport, book: FactBook) -> Iterator[Fact]:
    """Yield the verdict, how much of the print is above a limit, where, and what would do."""
    above = exceeded(read)
    line = read.excesses[0].line if read.excesses else read.peak.line
    origin = Origin(OriginKind.PROFILE, at=Span(path, max(line, 1)))
    yield Fact.of("demand.print_above", "%", read.share_of_time_above_any_limit, origin=origin)
    yield Fact.of("demand.print_places", "-", float(read.excess_count), origin=origin)
    verdict = verdict_of(read, book)
    if verdict is not None:
        yield Fact.of("demand.print_verdict", "", verdict, origin=origin)
    if above:
        yield Fact.of("demand.print_limits", "", limit_words(above), origin=origin)
        yield Fact.of("demand.print_cures", "", cures_of(read, book), origin=origin)


def _refused_facts(path: str, read: PrintReport) -> Iterator[Fact]:
    """Yield what the firmware stops the print at, and what it slows, at its line."""
    for one in read.refused:
        name, unit = _REFUSED[one.kind]
        origin = Origin(OriginKind.PROFILE, at=Span(path, max(one.line, 1)))
        yield Fact.of(name, unit, one.asked, origin=origin)
    for slow in read.slowed:
        if slow.kind == "speed":
            origin = Origin(OriginKind.PROFILE, at=Span(path, max(slow.line, 1)))
            yield Fact.of("demand.print_slowed", "mm/s", slow.worse, origin=origin)


def _fact(name: str, path: str, peak: Peak | None) -> Fact | None:
    if peak is None:
        return None
    origin = Origin(OriginKind.PROFILE, at=Span(path, max(peak.line, 1)))
    return Fact.of(name, "mm3/s", peak.value, origin=origin)


def _refused(path: str, err: AdvisorError, given: InputFiles) -> Mapping[str, Fact]:
    given.errors.append(err if isinstance(err, InputError) else InputError(err.problem, err.remedy))
    given.files.append(FileStatus(path, "unreadable", "print"))
    return {}
