"""Tells of each file as many events as its budget allows, and counts the others.

The last of each kind on a setting is always told: it is the one that counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.base import EVENTS_PER_FILE, Event, Span

__all__ = ["within_budget"]

KIND = "events-left-out"


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
