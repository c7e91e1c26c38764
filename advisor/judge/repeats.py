"""Leaves out what says nothing new: what two extruders share, and events beyond a file's budget.

It judges no rule. What is true of two extruders, or of two configs that share a file, is told once.
Of each file as many events are told as its budget allows, and the others are counted; the last of
each kind on a setting is always told: it is the one that counts.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence

from advisor.base import EVENTS_PER_FILE, Event, Finding, Report, Span
from advisor.inputs import ExtruderFacts
from advisor.judge import load_rulebook

__all__ = ["joined", "told_once", "within_budget"]

_Said = tuple[str | None, str, object, str]
KIND = "events-left-out"


def told_once(
    findings: Iterable[Finding], extruders: Iterable[ExtruderFacts]
) -> tuple[Finding, ...]:
    """Return the findings without those an extruder has from the partner it shares settings with.

    Parameters
    ----------
    findings : iterable of Finding
        On all extruders.
    extruders : iterable of ExtruderFacts
        Which of them takes settings from another's section.
    """
    found, every = tuple(findings), tuple(extruders)
    owners = {one.section: one.name for one in every if one.partner is None}
    partners = {one.name: owners[one.partner] for one in every if one.partner in owners}
    if not partners:
        return found
    said = {_said(finding, finding.extruder) for finding in found}

    def repeats(finding: Finding) -> bool:
        partner = partners.get(finding.extruder or "")
        return partner is not None and _said(finding, partner) in said

    return tuple(finding for finding in found if finding.at is None or not repeats(finding))


def joined(reports: Sequence[Report]) -> Report:
    """Return several reports as one.

    An allowance in a file that several configs share (the sheet, an include) is unused only
    where all of them say so; and it is told once.
    """
    return Report(
        files=tuple(dict.fromkeys(file for one in reports for file in one.files)),
        extruders=tuple(extruder for one in reports for extruder in one.extruders),
        findings=tuple(_without_used(reports)),
        allowed=tuple(finding for one in reports for finding in one.allowed),
        errors=tuple(dict.fromkeys(error for one in reports for error in one.errors)),
        later=tuple(dict.fromkeys(row for one in reports for row in one.later)),
        unread_moves=sum(one.unread_moves for one in reports),
        draws=next((one.draws for one in reports), None),
    )


def _without_used(reports: Sequence[Report]) -> Iterable[Finding]:
    unused = {rule.name for rule in load_rulebook().by_event.get("allowance-unused", ())}
    files = [{_real(file.path) for file in one.files} for one in reports]
    notes = [{_note(f) for f in one.findings if f.rule in unused} for one in reports]
    told = set()
    for report in reports:
        for finding in report.findings:
            if finding.rule in unused and finding.at is not None:
                note, file = _note(finding), _real(finding.at.file)
                asked = (said for read, said in zip(files, notes, strict=True) if file in read)
                if note in told or not all(note in said for said in asked):
                    continue
                told.add(note)
            yield finding


def _said(finding: Finding, extruder: str | None) -> _Said:
    return extruder, finding.rule, finding.at, finding.message


def _note(finding: Finding) -> tuple[str, int, int, str]:
    at = finding.at
    place = (_real(at.file), at.line, at.column) if at is not None else ("", 0, 0)
    return *place, finding.message


def _real(path: str) -> str:
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):
        return path


def within_budget(events: Iterable[Event], most: int = EVENTS_PER_FILE) -> list[Event]:
    """Return the events in their order, of each file at most `most`.

    What is left out is one event more, at the first place that is not told. Readers that
    counted events themselves have left such an event, whose count is added.
    """
    by_file: dict[str, list[Event]] = {}
    for event in events:
        by_file.setdefault(event.at.file, []).append(event)
    told: list[Event] = []
    for alike in by_file.values():
        told += _of_file(alike, most)
    return told


def _of_file(events: Sequence[Event], most: int) -> list[Event]:
    plain = [event for event in events if event.kind != KIND]
    counted = [event for event in events if event.kind == KIND]
    kept = _kept(plain, most)
    out = [event for event, keep in zip(plain, kept, strict=True) if not keep]
    if not out and not counted:
        return plain
    told = [event for event, keep in zip(plain, kept, strict=True) if keep]
    count = len(out) + sum(int(event.fields["count"]) for event in counted)
    first = min((event.at for event in (*out, *counted)), key=_place)
    return [*told, Event(KIND, first, {"count": str(count)})]


def _kept(events: Sequence[Event], most: int) -> list[bool]:
    """Return whether each event is told: the last of a kind on a setting first, then in order."""
    last = {_about(event): number for number, event in enumerate(events)}
    kept = [False] * len(events)
    for number in sorted(last.values())[:most]:
        kept[number] = True
    left = most - sum(kept)
    for number, keep in enumerate(kept):
        if left <= 0:
            break
        if not keep:
            kept[number] = True
            left -= 1
    return kept


def _about(event: Event) -> tuple[str | None, ...]:
    fields = event.fields
    names = (fields.get(name) for name in ("section", "key", "setting"))
    return event.kind, *names, event.fact, event.extruder


def _place(at: Span) -> tuple[int, int]:
    return at.line, at.column
