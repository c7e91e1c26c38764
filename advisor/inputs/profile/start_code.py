"""Pressure advance that a profile's G-code sets by a command: told, and read where it is literal.

Such fields are full of placeholders and conditions that the slicer works out; with one of them in
the field nothing in it is taken for certain.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from advisor.base import Event, Fact, Origin, OriginKind
from advisor.inputs.macro_commands import MacroSetting, command_settings
from advisor.inputs.macro_data import macro_words
from advisor.inputs.macro_values import Variables
from advisor.inputs.profile.pool import PresetPool
from advisor.inputs.profile.records import ProfileSetting

__all__ = ["said_advance", "told_texts"]

_ADVANCE = "motion.pressure_advance"
_FACT = "profile.pressure_advance"
_OPEN = re.compile(r"[{}\[\]]")
_COMMENT = re.compile(r";.*")


def told_texts(pool: PresetPool) -> list[Event]:
    """Return an event for each G-code field that seems to set pressure advance by itself."""
    events = []
    words = pool.dialect.advance_words
    for setting in _texts(pool):
        found = words.search(_plain(setting)) if words else None
        if found is None:
            continue
        value = _literal(setting)
        says = "to what only the slicer knows" if value is None else f"to {value:.4g} s"
        fields = {"setting": setting.key, "command": found.group(), "says": says}
        events.append(Event("profile-advance-in-text", setting.at, fields, _FACT))
    return events


def said_advance(pool: PresetPool) -> Fact | None:
    """Return the pressure advance that the only such command states; None where it is not known."""
    for setting in _texts(pool):
        value = _literal(setting)
        if value is not None:
            origin = Origin(OriginKind.PROFILE, setting.at, setting=setting.key)
            return Fact.of(_FACT, "s", value, origin=origin)
    return None


def _texts(pool: PresetPool) -> Iterator[ProfileSetting]:
    for key in pool.dialect.advance_keys:
        setting = pool.settings.get(key)
        if setting is not None:
            yield setting


def _plain(setting: ProfileSetting) -> str:
    return setting.text.replace("\\n", "\n")


def _literal(setting: ProfileSetting) -> float | None:
    """Return the one value that a field without placeholders states, [s]."""
    text = _COMMENT.sub("", _plain(setting).strip(" \"'"))
    if _OPEN.search(text):
        return None
    said = {one.value for line in text.splitlines() for one in _set(line, setting)
            if one.fact == _ADVANCE}  # fmt: skip
    return said.pop() if len(said) == 1 else None


def _set(line: str, setting: ProfileSetting) -> Iterator[MacroSetting]:
    return command_settings(line.strip(" \"'"), setting.key, setting.at, Variables(), macro_words())
