"""Tells where profiles that are given together state the same setting differently.

It does not decide which of them counts; see `pool`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from advisor.intake.profile.door import plain
from advisor.intake.profile.parents import Resolved
from advisor.intake.profile.records import Setting
from advisor.model import Event

__all__ = ["conflicts", "live_settings"]

_SHOWN = 4  # settings in a sentence


def live_settings(member: Resolved) -> dict[str, Setting]:
    """Return the settings that the profile's dialect knows, by the key's first spelling."""
    live: dict[str, Setting] = {}
    for spelling, key in member.dialect.spellings.items():
        if spelling in member.settings:
            live.setdefault(key, member.settings[spelling])
    return live


def conflicts(members: Sequence[Resolved]) -> Iterator[Event]:
    """Yield one event for each two profiles of one dialect that differ in a setting."""
    for first, second in combinations(members, 2):
        before, after = live_settings(first), live_settings(second)
        pairs = [(before[key], after[key]) for key in after if key in before]
        pairs = [(old, new) for old, new in pairs if old.items != new.items]
        if pairs:
            yield _event(first.preset.name, second.preset.name, pairs)


def _event(first: str, second: str, pairs: Sequence[tuple[Setting, Setting]]) -> Event:
    old, new = pairs[0]
    keys = [setting.key for _, setting in pairs]
    more = f" and {len(keys) - _SHOWN} more" if len(keys) > _SHOWN else ""
    fields = {
        "first": first,
        "second": second,
        "setting": new.key,
        "settings": ", ".join(keys[:_SHOWN]) + more,
        "old": plain(old.text),
        "new": plain(new.text),
    }
    return Event("profile-conflict", new.at, fields)
