"""Takes out of a parent outside of the profile's folder what may be shown: values of known keys.

What is left is a preset of its own: keys of our dialects, and values that are numbers, shares or
words we know, written anew. Its names are not shown, and what it calls its own parents neither.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from advisor.base import Span
from advisor.files import NOT_SHOWN
from advisor.inputs.profile.dialects import Dialects, Known, ProfileDialect
from advisor.inputs.profile.records import Preset, ProfileSetting
from advisor.inputs.profile.shapes import Shape, classify, is_on

__all__ = ["place_shown", "shown_of"]

_NO_NUMBER = "not shown"  # without the brackets, in which it would be an expression


def shown_of(preset: Preset, name: str, file: str, dialects: Dialects) -> Preset:
    """Return what may be shown of a preset outside.

    Parameters
    ----------
    preset : Preset
        The preset as it was read.
    name, file : str
        What it is called instead, and how its places name its file.
    dialects : Dialects
        The keys that are known.
    """
    dialect = dialects.choose(preset.settings, preset.sections, preset.container)
    texts = {key: _items(dialect, dialects, setting) for key, setting in preset.settings.items()}
    marks = frozenset[str]().union(*(one.sections for one in dialects.all))
    named = preset.parent_setting
    return replace(
        preset,
        name=name,
        file=file,
        settings={
            key: _setting(preset.settings[key], items, file)
            for key, items in texts.items()
            if items is not None
        },
        at=replace(preset.at, file=file),
        sections=preset.sections & marks,
        parent_setting=_setting(named, (NOT_SHOWN,), file) if named else None,
        outside=preset,
    )


def place_shown(preset: Preset, name: str, *, own: bool) -> str:
    """Return how a file outside is named: by its path only where that holds `name` and no more.

    `own` says whether the name comes from a file inside.
    """
    known = own and preset.file == preset.outer and preset.base.rpartition(".")[0] == name
    return preset.file if known else f"parent '{name}'" if own else f"parent {NOT_SHOWN}"


def _setting(setting: ProfileSetting, items: tuple[str, ...], file: str) -> ProfileSetting:
    place: Callable[[], Span] = setting.place
    return ProfileSetting(setting.key, ", ".join(items), items, lambda: replace(place(), file=file))


def _items(
    dialect: ProfileDialect, dialects: Dialects, setting: ProfileSetting
) -> tuple[str, ...] | None:
    """Return the elements as they may be shown; None for a key that states nothing we know."""
    if setting.key not in dialects.known_keys:
        return None
    of = next(one for one in (dialect, *dialects.all) if setting.key in one.spellings)
    key = of.spellings[setting.key]
    if key in of.start_keys:
        words = of.advance_words
        found = words.search(setting.text.replace("\\n", "\n")) if words else None
        return (found.group(),) if found else None
    known = of.settings[key]
    return tuple(_text(known, item, dialects.materials) for item in setting.items)


def _text(known: Known, text: str, materials: Mapping[str, object]) -> str:
    if known.type == "switch":
        on = is_on(text)
        return _NO_NUMBER if on is None else str(int(on))
    if known.type == "number":
        return _number(text)
    word = "".join(char for char in text.upper() if char not in " -_")
    return word if word in materials else NOT_SHOWN if word else ""


def _number(text: str) -> str:
    shape, number = classify(text)
    if shape in (Shape.NUMBER, Shape.PERCENT):
        return f"{number:.12g}{'%' if shape is Shape.PERCENT else ''}"
    return {Shape.NOTHING: "", Shape.OFF: "!", Shape.EXPRESSION: NOT_SHOWN}.get(shape, _NO_NUMBER)
