"""Splits the text of an ini-style profile into sections and settings.

Section and continuation rules are those of the common ini readers: a line that is indented
deeper than its setting goes on with the setting's value, unless it states a key we know. There
are no comments behind a value, for values hold '#' and ';'. A line without '=' is passed
over.
"""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from advisor.base import ELEMENTS, PRESETS, ProfileError, Span
from advisor.inputs.profile.records import ProfileSetting

__all__ = ["IniSection", "elements", "parse_ini", "too_many", "unquote"]

_LINE_END = re.compile(r"\r\n|\n|\r")
_COMMENTED = re.compile(r";\s*([A-Za-z_][A-Za-z0-9_]*)\s*=(.*)")
_SEPARATOR = re.compile(r"""("(?:[^"\\]|\\.)*")|([,;])""")


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
