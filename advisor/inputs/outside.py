"""Takes out of a config outside of the folder what may be shown: values of settings we know.

What is left is a config of its own, line for line: section names and keys of the dialect, and
values that are numbers, ratios or words of the dialect, written anew. Nothing else of the file's
text is in it, so nothing else can get into any output.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from advisor.config import Document, Include, Section, Setting
from advisor.data import parse_integer, parse_number, parse_ratio
from advisor.files import NOT_SHOWN
from advisor.inputs.dialect import Dialect, Key, Role, load_dialect
from advisor.inputs.settings import FLAGS

__all__ = ["Outside"]

_FREE = r"\S.*"  # a name that the user is free to choose, in the dialect's patterns
_ALIAS = "outside"


@dataclass(slots=True)
class Outside:
    """Redacts the documents of one config that lie outside.

    ``names`` are the section names of the files inside; a name chosen freely in a file outside is
    kept only where it is one of these, and else replaced.
    """

    names: set[str] = field(default_factory=set)
    dialect: Dialect = field(default_factory=load_dialect)
    _aliases: dict[str, str] = field(default_factory=dict)
    _patterns: dict[str, re.Pattern[str]] = field(default_factory=dict)

    def know(self, document: Document) -> None:
        """Take note of the section names of a document inside."""
        for section in document.sections:
            self.names.update((section.name, *section.name.split()))

    def text(self, document: Document) -> str:
        """Return the text of a document outside that may be shown; its lines keep their number."""
        lines = [""] * len(document.kinds)
        for item in document.items:
            if isinstance(item, Include):
                lines[item.line] = f"[include {NOT_SHOWN}]"
            else:
                self._section(item, lines)
        return "\n".join(lines) + "\n"

    def _section(self, section: Section, lines: list[str]) -> None:
        name = " ".join(section.name.split())
        role = next((one for one in self.dialect.roles.values() if one.match(name)), None)
        if role is None:
            return
        lines[section.line] = f"[{self._named(name, role)}]"
        for setting in section.settings:
            key = role.keys.get(setting.key)
            if key is not None:
                lines[setting.line] = f"{key.name}: {_value(key, setting)}"
            elif setting.key == role.partner:
                lines[setting.line] = f"{role.partner}: {self._partner(setting.value)}"

    def _named(self, name: str, role: Role) -> str:
        """Return a section's name with what the user chose in it replaced."""
        match = self._pattern(role).fullmatch(name)
        free = [(key, text) for key, text in (match.groupdict() if match else {}).items()
                if key.startswith("free") and text is not None]  # fmt: skip
        if match is None or not free:
            return name
        start = match.start(free[0][0])
        return name[:start] + self._alias(free[0][1])

    def _partner(self, value: str) -> str:
        name = " ".join(value.split())
        for role in self.dialect.roles.values():
            if role.scope == "extruder" and not role.drives and role.match(name):
                return self._named(name, role)
        return NOT_SHOWN

    def _alias(self, name: str) -> str:
        if name in self.names:
            return name
        return self._aliases.setdefault(name, f"{_ALIAS}-{len(self._aliases) + 1}")

    def _pattern(self, role: Role) -> re.Pattern[str]:
        """Return the role's pattern with a group around each name that is free."""
        if role.name not in self._patterns:
            pieces = role.pattern.pattern.split(_FREE)
            text = pieces[0]
            for number, piece in enumerate(pieces[1:]):
                text += f"(?P<free{number}>{_FREE}){piece}"
            self._patterns[role.name] = re.compile(text)
        return self._patterns[role.name]


def _value(key: Key, setting: Setting) -> str:
    """Return a value as it was parsed, or that it is not shown."""
    text = setting.value
    if key.type == "flag":
        word = text.strip().lower()
        return word if word in FLAGS else NOT_SHOWN
    if key.type == "ratio":
        ratio = parse_ratio(text)
        if ratio is None:
            return NOT_SHOWN
        return ", ".join(
            f"{_figure(driven)}:{_figure(driving)}" for driven, driving in ratio.stages
        )
    whole = parse_integer(text) if key.type == "integer" else None
    if whole is not None:
        return str(whole)
    number = parse_number(text)
    return NOT_SHOWN if number is None else _figure(number)


def _figure(number: float) -> str:
    return f"{number:.12g}"
