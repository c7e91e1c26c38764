"""The words of events as facts and as fields of a message."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from advisor.model import Event, Fact, State
from advisor.number import Text

__all__ = ["event_facts", "joined_fields", "unknown_settings"]

_NAMED = 5  # so many of a group are named, the others counted
_FIRST = ("drive", "motor")  # no limit of the drive can be reckoned without them
_LONG = 60  # characters they may take together, so that the count is never cut off


def event_facts(event: Event) -> dict[str, Fact]:
    """Return the fields of an event as text facts ``event.<field>``, for conditions."""
    return {
        f"event.{name}": Fact(f"event.{name}", Text(str(value)))
        for name, value in event.fields.items()
    }


def joined_fields(events: Sequence[Event]) -> dict[str, str]:
    """Return the fields of several events as one: different values joined, and their count."""
    names = events[0].fields
    joined = {
        name: _listed(dict.fromkeys(str(event.fields.get(name, "")) for event in events))
        for name in names
    }
    return {**joined, "count": str(len(events))}


def unknown_settings(views: Iterable[Mapping[str, Fact]]) -> str:
    """Return the user's keys that may stand in what could not be read: those of the drive first."""
    unknown = [
        (fact.name.split(".")[0] not in _FIRST, fact.origin.setting)
        for facts in views
        for fact in facts.values()
        if fact.state is State.UNKNOWN and fact.origin.setting and not fact.trace.inputs
    ]
    keys = dict.fromkeys(key for _, key in sorted(unknown, key=lambda pair: pair[0]))
    return _listed(keys) if keys else "none that matters here"


def _listed(words: Iterable[str]) -> str:
    listed = list(words)
    named = len(listed) if len(listed) <= _NAMED + 1 else _NAMED
    while named > 1 and len(", ".join(listed[:named])) > _LONG:
        named -= 1
    told = ", ".join(listed[:named])
    return told if named == len(listed) else f"{told} and {len(listed) - named} more"
