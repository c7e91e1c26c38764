"""Reads the texts of profiles, ini-style or JSON, into settings, and tells what a value's text is.

Of the ini style, section and continuation rules are those of the common ini readers: a line that is
indented deeper than its setting goes on with the setting's value, unless it states a key we know.
There are no comments behind a value, for values hold '#' and ';'. A line without '=' is passed
over.

Of JSON, places are looked up only when asked for. Numbers keep the text they were written in.
Nested objects hold nothing we read and are skipped.

A value's text is a number, a share, nothing, switched off or an expression. No key is known: what 0
or a negative number means is said by the dialect.
"""

from __future__ import annotations

import bisect
import enum
import functools
import itertools
import json
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from advisor.base import ELEMENTS, PRESETS, ProfileError, Span
from advisor.data import parse_number
from advisor.inputs.profile.records import ProfileSetting

__all__ = [
    "IniSection",
    "Shape",
    "classify",
    "elements",
    "is_on",
    "parse_ini",
    "parse_json",
    "too_many",
    "unquote",
]

_LINE_END = re.compile(r"\r\n|\n|\r")
_COMMENTED = re.compile(r";\s*([A-Za-z_][A-Za-z0-9_]*)\s*=(.*)")
_SEPARATOR = re.compile(r"""("(?:[^"\\]|\\.)*")|([,;])""")
_TOKEN = re.compile(r'("[^"\\]*(?:\\.[^"\\]*)*")(\s*:)?|[{}\[\]]', re.DOTALL)
_NOTHING = frozenset({"", "nil", "none", "null"})
_ON = frozenset({"1", "true", "yes", "on", "enabled"})
_OFF = frozenset({"0", "false", "no", "off", "disabled"})
_EXPRESSION = re.compile(r"^=|[{}()]|\[[A-Za-z_]")
_LARGEST = 1e9  # no setting of a profile is larger; products of a few stay finite


@dataclass(slots=True)
class IniSection:
    """A section (or JSON object) with its settings; the later of two equal keys wins.

    ``repeats`` are pairs of settings with the same key and another text.
    """

    name: str
    at: Span
    settings: dict[str, ProfileSetting] = field(default_factory=dict)
    repeats: list[tuple[ProfileSetting, ProfileSetting]] = field(default_factory=list)

    def add(self, setting: ProfileSetting) -> None:
        """Add a setting; remember a value that it replaces."""
        before = self.settings.get(setting.key)
        if before is not None and before.text != setting.text:
            self.repeats.append((before, setting))
        self.settings[setting.key] = setting


@dataclass(slots=True)
class _Open:
    """A setting whose value may go on."""

    section: IniSection
    key: str
    indent: int
    place: functools.partial[Span]
    lines: list[str]


def parse_ini(text: str, file: str, *, wanted: Collection[str] | None = None) -> list[IniSection]:
    """Return the sections of `text`, the settings before any header in the one named ''.

    Parameters
    ----------
    text : str
        The whole text, without a byte order mark.
    file : str
        How the file is named in places.
    wanted : collection of str, optional
        The keys to keep; None keeps all.

    Raises
    ------
    ProfileError
        If there are more sections than presets may be.
    """
    reader = _IniReader(file, wanted)
    for number, line in enumerate(_LINE_END.split(text), 1):
        reader.line(number, line)
    reader.close()
    if not reader.live:
        reader.commented(text)
    return list(reader.sections.values())


class _IniReader:
    """The state of the reader between two lines."""

    def __init__(self, file: str, wanted: Collection[str] | None) -> None:
        self.file = file
        self.wanted = wanted
        self.sections: dict[str, IniSection] = {"": IniSection("", Span(file, 1))}
        self.section = self.sections[""]
        self.open: _Open | None = None
        self.live = False

    def line(self, number: int, line: str) -> None:
        """Take one line."""
        bare = line.strip()
        if not bare or bare[0] in "#;":
            return
        self.live = True
        indent = len(line) - len(line.lstrip())
        key, equals, value = bare.partition("=")
        key = key.rstrip()
        if self.open is not None and indent > self.open.indent and not self._known(key, equals):
            self.open.lines.append(bare)
            return
        self.close()
        if bare[0] == "[" and (name := _header(bare)) is not None:
            at = Span(self.file, number, indent + 1, indent + len(bare) + 1)
            if len(self.sections) > PRESETS:
                raise too_many(at)
            self.section = self.sections.setdefault(name, IniSection(name, at))
        elif equals and key:
            at_key = functools.partial(Span, self.file, number, indent + 1, indent + len(key) + 1)
            self.open = _Open(self.section, key, indent, at_key, [value.strip()])

    def _known(self, key: str, equals: str) -> bool:
        return bool(equals) and self.wanted is not None and key in self.wanted

    def close(self) -> None:
        """Store the setting that was open."""
        if self.open is not None and (self.wanted is None or self.open.key in self.wanted):
            text = "\n".join(self.open.lines)
            setting = ProfileSetting(self.open.key, text, elements(text), self.open.place)
            self.open.section.add(setting)
        self.open = None

    def commented(self, text: str) -> None:
        """Take `; key = value` lines: a settings block without any live line."""
        for number, line in enumerate(_LINE_END.split(text), 1):
            found = _COMMENTED.match(line)
            if found and (self.wanted is None or found[1] in self.wanted):
                value = found[2].strip()
                first, last = found.span(1)
                place = functools.partial(Span, self.file, number, first + 1, last + 1)
                self.section.add(ProfileSetting(found[1], value, elements(value), place))


def too_many(at: Span) -> ProfileError:
    """Return the error of a file with more presets than we look at."""
    problem = f"this has more than {PRESETS} presets; no slicer's bundle has"
    return ProfileError(problem, "export those you print with", at)


def _header(bare: str) -> str | None:
    """Return the name in a section header; it may hold brackets itself."""
    end = bare.rfind("]")
    rest = bare[end + 1 :].lstrip()
    return bare[1:end] if end > 1 and (not rest or rest[0] in "#;") else None


def elements(text: str) -> tuple[str, ...]:
    """Return the elements of ``12,14`` or ``12;14``; an expression is one element."""
    if text[:1] in ("=", "{") or not ("," in text or ";" in text):
        return (unquote(text),)
    return tuple(unquote(part) for part in itertools.islice(_split(text), ELEMENTS))


def _split(text: str) -> Iterator[str]:
    start = 0
    for found in _SEPARATOR.finditer(text):
        if found[2]:
            yield text[start : found.start()]
            start = found.end()
    yield text[start:]


def unquote(text: str) -> str:
    """Return `text` without the blanks and the pair of quotes around it."""
    bare = text.strip()
    return bare[1:-1] if len(bare) > 1 and bare[0] == bare[-1] == '"' else bare


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


class Shape(enum.Enum):
    """The shape of a value."""

    NUMBER = "number"
    PERCENT = "percent"
    NOTHING = "nothing"  # nil, None, an empty text
    OFF = "off"  # a leading '!'
    EXPRESSION = "an expression"
    WORDS = "no number"


def classify(text: str) -> tuple[Shape, float]:
    """Return the shape of `text`, and its number (of a percentage: before the sign), else 0.0."""
    bare = text.strip()
    if bare.lower() in _NOTHING:
        return Shape.NOTHING, 0.0
    if bare[0] == "!":
        return Shape.OFF, 0.0
    if _EXPRESSION.search(bare):
        return Shape.EXPRESSION, 0.0
    percent = bare.endswith("%")
    number = parse_number(bare[:-1] if percent else bare)
    if number is None or abs(number) > _LARGEST:
        return Shape.WORDS, 0.0
    return (Shape.PERCENT if percent else Shape.NUMBER), number


def is_on(text: str) -> bool | None:
    """Return whether a switch is on; None if the text is neither on nor off."""
    bare = text.strip().lower()
    if bare in _ON:
        return True
    return False if bare in _OFF or bare in _NOTHING else None
