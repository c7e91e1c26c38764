"""Reads the text of a JSON profile into settings; their places are looked up only when asked for.

Numbers keep the text they were written in. Nested objects hold nothing we read and are skipped.
"""

from __future__ import annotations

import bisect
import functools
import json
import re
from collections.abc import Collection, Iterator
from typing import Any, TypeAlias

from advisor.base import ELEMENTS, PRESETS, ProfileError, Span
from advisor.inputs.profile.ini_text import IniSection, elements, too_many
from advisor.inputs.profile.records import ProfileSetting

__all__ = ["parse_json"]

_TOKEN = re.compile(r'("[^"\\]*(?:\\.[^"\\]*)*")(\s*:)?|[{}\[\]]', re.DOTALL)


class _Pairs(list["tuple[str, Loaded]"]):
    """The members of an object, repeated keys too."""


Loaded: TypeAlias = "_Pairs | list[Loaded] | str | bool | None"
"""A value of the text; a number is the text of it."""


def parse_json(text: str, file: str, *, wanted: Collection[str] | None = None) -> list[IniSection]:
    """Return the settings of the object in `text`, or of each object of a list.

    Parameters
    ----------
    text : str
        The whole text.
    file : str
        How the file is named in places.
    wanted : collection of str, optional
        The keys to keep; None keeps all.

    Raises
    ------
    ProfileError
        With the place, if it is no JSON or no object, or holds too many of them.
    """
    data = _load(text, file)
    objects = [data] if isinstance(data, _Pairs) else data
    listed = objects if isinstance(objects, list) else []
    found = [item for item in listed if isinstance(item, _Pairs)]
    if objects is not listed or len(found) < len(listed):
        problem = "a JSON profile must be an object of settings"
        raise ProfileError(problem, "export the profile anew", Span(file, 1))
    if len(found) > PRESETS:
        raise too_many(Span(file, 1))
    places = _Places(text, file, inside_list=objects is data)
    return [_section(item, i, places, wanted) for i, item in enumerate(found)]


def _load(text: str, file: str) -> Loaded:
    keep: Any = str
    try:
        loaded: Loaded = json.loads(
            text, object_pairs_hook=_Pairs, parse_int=keep, parse_float=keep, parse_constant=keep
        )
        return loaded
    except json.JSONDecodeError as err:
        at = Span(file, err.lineno, err.colno)
        words = err.msg[:1].lower() + err.msg[1:]
        raise ProfileError(f"this is broken JSON: {words}", "mend this line", at) from None
    except RecursionError:
        problem = "this JSON nests deeper than any profile"
        raise ProfileError(problem, "give the profile itself", Span(file, 1)) from None


def _section(
    members: _Pairs, index: int, places: _Places, wanted: Collection[str] | None
) -> IniSection:
    section = IniSection("", Span(places.file, 1))
    for key, value in members:
        if wanted is not None and key not in wanted:
            continue
        text, items = _texts(value)
        if text is not None:
            place = functools.partial(places.at, index, key)
            section.add(ProfileSetting(key, text, items, place))
    return section


def _texts(value: Loaded) -> tuple[str | None, tuple[str, ...]]:
    """Return the text of a value and of its elements; None for what is no setting."""
    if not isinstance(value, list):
        text = _scalar(value)
        return text, elements(text)
    if isinstance(value, _Pairs) or any(isinstance(item, list) for item in value):
        return None, ()
    items = tuple(_scalar(item) for item in value[:ELEMENTS])
    return ", ".join(items), items


def _scalar(value: Loaded) -> str:
    if isinstance(value, str):
        return value.strip().encode("utf-8", "replace").decode("utf-8")
    return "1" if value is True else "0" if value is False else ""


class _Places:
    """Where the keys of the outer objects stand; one scan of the text, when first asked."""

    def __init__(self, text: str, file: str, *, inside_list: bool) -> None:
        self.text = text
        self.file = file
        self.depth = 2 if inside_list else 1

    def at(self, index: int, key: str) -> Span:
        """Return the place of the last `key` in the outer object number `index`."""
        return self._all.get((index, key), Span(self.file, 1))

    @functools.cached_property
    def _all(self) -> dict[tuple[int, str], Span]:
        ends = [found.start() for found in re.finditer("\n", self.text)]
        places = {}
        for index, key, first, last in self._keys():
            line = bisect.bisect_left(ends, first)
            start = ends[line - 1] + 1 if line else 0
            places[index, key] = Span(self.file, line + 1, first - start + 1, last - start + 1)
        return places

    def _keys(self) -> Iterator[tuple[int, str, int, int]]:
        """Yield object number, key, and the offsets of its quotes."""
        depth, index = 0, -1
        for found in _TOKEN.finditer(self.text):
            token = found.group(1)
            if token is None:
                opens = found.group() in "{["
                depth += 1 if opens else -1
                index += opens and depth == self.depth
            elif found.group(2) and depth == self.depth:
                yield index, json.loads(token, strict=False), found.start(1), found.end(1)
