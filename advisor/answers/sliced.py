"""What a sliced print asks, as facts, for `lint --print`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.answers.print_run import analyse_print, cures_of, exceeded, limit_words, verdict_of
from advisor.answers.session import InputFiles
from advisor.base import AdvisorError, Fact, FileStatus, InputError, Origin, OriginKind, Span
from advisor.files import open_plain, unreadable
from advisor.machine import FactBook
from advisor.prints import Peak, PrintReport

__all__ = ["nozzle_fact", "sliced_facts"]


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


_REFUSED = {
    "distance": ("demand.print_distance", "mm"),
    "section": ("demand.print_section", "mm2"),
    "hot": ("demand.print_temperature", "degC"),
    "cold": ("demand.print_temperature", "degC"),
}


def _fact(name: str, path: str, peak: Peak | None) -> Fact | None:
    if peak is None:
        return None
    origin = Origin(OriginKind.PROFILE, at=Span(path, max(peak.line, 1)))
    return Fact.of(name, "mm3/s", peak.value, origin=origin)


def _refused(path: str, err: AdvisorError, given: InputFiles) -> Mapping[str, Fact]:
    given.errors.append(err if isinstance(err, InputError) else InputError(err.problem, err.remedy))
    given.files.append(FileStatus(path, "unreadable", "print"))
    return {}
