"""What a sliced print asks, as facts, for `lint --print`."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.errors import AdvisorError, InputError
from advisor.facts.graph import FactBook
from advisor.files.plain import open_plain, unreadable
from advisor.lint.gather import Given
from advisor.model import Fact, FileStatus, Origin, OriginKind, Span
from advisor.prints import Peak

__all__ = ["sliced_facts"]


def sliced_facts(path: str, book: FactBook, given: Given) -> Mapping[str, Fact]:
    """Return the peak and the sustained flow of a print, planned under an extruder's limits.

    What cannot be read, or planned for want of limits, is an error of `given`.
    """
    from advisor.lint.demand import analyse_print

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
        _fact("demand.print_sustained", path, read.sustained),
    )
    return {fact.name: fact for fact in facts if fact is not None}


def _fact(name: str, path: str, peak: Peak | None) -> Fact | None:
    if peak is None:
        return None
    origin = Origin(OriginKind.PROFILE, at=Span(path, max(peak.line, 1)))
    return Fact(name, "mm3/s", peak.value, origin=origin)


def _refused(path: str, err: AdvisorError, given: Given) -> Mapping[str, Fact]:
    given.errors.append(err if isinstance(err, InputError) else InputError(err.problem, err.remedy))
    given.files.append(FileStatus(path, "unreadable", "print"))
    return {}
