"""What a profile's start code sets by a command: told, and read where it is literal.

Such fields are full of placeholders and conditions that the slicer works out. A line with one of
them in it, or between two of a condition, is not certain.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from advisor.base import Event, Fact, Origin, OriginKind
from advisor.data import Row
from advisor.inputs.macro_commands import MacroSetting, command_settings, macro_words
from advisor.inputs.macro_values import Variables
from advisor.inputs.profile.pool import PresetPool
from advisor.inputs.profile.records import ProfileSetting

__all__ = ["said_advance", "start_settings", "told_texts"]

_ADVANCE = "motion.pressure_advance"
_FACT = "profile.pressure_advance"
_OPEN = re.compile(r"[{}\[\]]")
_IF, _END = re.compile(r"\{\s*if\b"), re.compile(r"\{\s*endif\b")
_COMMENT = re.compile(r";.*")
_MAX_LINES = 5_000  # of one field; no start code comes near


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


def start_settings(pool: PresetPool) -> Iterator[MacroSetting]:
    """Yield what the start code of the profiles sets for certain, as macros would."""
    for setting in _texts(pool):
        yield from _set(setting)


def _texts(pool: PresetPool) -> Iterator[ProfileSetting]:
    for key in pool.dialect.start_keys:
        setting = pool.settings.get(key)
        if setting is not None:
            yield setting


def _plain(setting: ProfileSetting) -> str:
    return setting.text.replace("\\n", "\n")


def _literal(setting: ProfileSetting) -> float | None:
    """Return the one pressure advance that a field states for certain, [s].

    None where a line that is not certain may set another one.
    """
    commands = macro_words()["commands"]
    may_change = any(
        _ADVANCE in _facts_in(line, commands)
        for line, certain in _lines(_plain(setting))
        if not certain
    )
    said = {one.value for one in _set(setting) if one.fact == _ADVANCE}
    return said.pop() if len(said) == 1 and not may_change else None


def _set(setting: ProfileSetting) -> list[MacroSetting]:
    """Return what the certain lines of a field set."""
    words, text = macro_words(), _plain(setting)
    known = (*words["commands"], words["kept"]["set_by"]["command"])
    if not any(word in text.upper() for word in known):
        return []
    at, unset = setting.at, Variables()  # the place costs a scan of the file
    lines = [line for line, certain in _lines(text) if certain]
    made = (command_settings(one, setting.key, at, unset, words, profile=True) for one in lines)
    return [one for found in made for one in found]


def _lines(text: str) -> Iterator[tuple[str, bool]]:
    """Yield the lines of a field without comments, and whether each runs for certain as it is."""
    inside = 0
    for raw in text.strip(" \"'").splitlines()[:_MAX_LINES]:
        line = _COMMENT.sub("", raw).strip(" \"'")
        yield line, not inside and _OPEN.search(line) is None
        inside = max(inside + len(_IF.findall(line)) - len(_END.findall(line)), 0)


def _facts_in(line: str, commands: Row) -> Iterable[str]:
    """Return the facts that the commands named anywhere in a line could set."""
    named = [commands[word] for word in re.findall(r"\w+", line.upper()) if word in commands]
    return [gives["fact"] for command in named for gives in command["gives"].values()]
