"""Checks the shape of a rule in YAML: keys, words and lists; it knows no rule by name."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, NoReturn

from advisor.errors import DataError, near_miss
from advisor.frozen import frozen
from advisor.model import Span
from advisor.rulebook.records import STAGES
from advisor.rulebook.source_text import locator
from advisor.yamlread import Placed

__all__ = ["CHOICES", "EventKind", "RuleFile", "RuleText"]

KEYS = (
    "name", "title", "level", "stage", "scope", "when", "event", "grouped", "words", "at",
    "message", "why", "fix", "advice", "caution", "source", "supersedes", "examples",
)  # fmt: skip
_REQUIRED = ("name", "title", "level", "stage", "message", "why", "source", "examples")
FIX_KEYS = ("set", "to", "round", "step", "unit")
CHOICES: Mapping[str, tuple[str, ...]] = {
    "level": ("error", "warning", "note"),
    "stage": STAGES,
    "scope": ("extruder", "machine"),
    "round": ("down", "up", "nearest"),
}
_WORD = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\Z")


@frozen
class EventKind:
    """A kind of event and the fields it brings."""

    name: str
    fields: tuple[str, ...]


@frozen
class RuleFile:
    """A file of rules: its YAML with places, and its lines."""

    placed: Placed
    lines: list[str]


class RuleText:
    """One rule of a file, read key by key with the place of each."""

    def __init__(self, file: RuleFile, index: int) -> None:
        self._file = file
        self._path: tuple[int, ...] = (index,)
        self.row = file.placed.data[index]
        if not isinstance(self.row, dict):
            self.fail("a rule must be a mapping", "begin it with '- name:'")
        self.name = str(self.row.get("name", "this rule"))
        self._check_keys(self.row, KEYS, _REQUIRED)
        self.name = self.word("name")

    def fail(self, problem: str, remedy: str, *path: str | int) -> NoReturn:
        """Raise a mistake at a value of the rule."""
        raise DataError(problem, remedy, self._file.placed.at(*self._path, *path))

    @property
    def place(self) -> Span:
        """Where the rule begins."""
        return self._file.placed.at(*self._path)

    def has(self, key: str) -> bool:
        """Whether the rule has this key."""
        return key in self.row

    def text(self, *path: str | int) -> str:
        """Return a text that must not be empty, on one line."""
        value = self._value(path)
        if not isinstance(value, str) or not value.strip():
            self.fail(f"'{self.name}': {path[-1]} must be a text", "write one", *path)
        return " ".join(value.split())

    def word(self, *path: str | int) -> str:
        """Return a word in lower case, joined by hyphens."""
        value = self._value(path)
        if not isinstance(value, str) or not _WORD.match(value):
            problem = f"'{self.name}': {path[0]} is '{value}'"
            self.fail(problem, "write words in lower case with hyphens", *path)
        return value

    def choice(self, *path: str, default: str | None = None) -> str:
        """Return one of the words that may stand here."""
        value, choices = self._value(path), CHOICES[path[-1]]
        if value is None and default is not None:
            return default
        if value not in choices:
            hint = near_miss(str(value), choices) or f"write one of {', '.join(choices)}"
            self.fail(f"'{self.name}': {path[-1]} is '{value}'", hint, *path)
        return str(value)

    def words(self, key: str) -> list[str]:
        """Return the hyphenated words of a list, or the one that stands alone."""
        value = self.row.get(key)
        if not isinstance(value, list):
            return [self.word(key)] if value is not None else []
        return [self.word(key, index) for index in range(len(value))]

    def listed(self, key: str) -> list[str]:
        """Return the texts of a list, or the one that stands alone."""
        value = self.row.get(key)
        if value is None:
            return []
        if not isinstance(value, list):
            return [self.text(key)]
        return [self.text(key, index) for index in range(len(value))]

    def locate(self, *path: str | int) -> Callable[[int], Span]:
        """Return what finds the place of a character of a text of the rule."""
        at = self._file.placed.at(*self._path, *path)
        value = " ".join(str(self._value(path)).split())
        return locator(value, at, self._file.lines)

    def check_fix(self) -> None:
        """Check the keys of the rule's fix."""
        fix = self.row["fix"]
        if not isinstance(fix, dict):
            remedy = "write '{set: ..., to: ..., round: ..., step: ...}'"
            self.fail(f"'{self.name}': fix must be a mapping", remedy, "fix")
        self._check_keys(fix, FIX_KEYS, ("set", "to", "round", "step"), "fix")
        step = fix["step"]
        if isinstance(step, bool) or not isinstance(step, int | float) or not step > 0:
            self.fail(f"'{self.name}': step is '{step}'", "write a number above 0", "fix", "step")

    def _value(self, path: tuple[str | int, ...]) -> Any:
        value: Any = self.row
        for part in path:
            if isinstance(value, dict):
                value = value.get(part)
            elif isinstance(value, list) and isinstance(part, int):
                value = value[part]
            else:
                return None
        return value

    def _check_keys(
        self, row: Mapping[str, Any], known: Iterable[str], required: Iterable[str], *path: str
    ) -> None:
        known = tuple(known)
        for key in row:
            if key not in known:
                hint = near_miss(key, known) or f"known are {', '.join(known)}"
                problem = f"'{self.name}' has an unknown key '{key}'"
                at = self._file.placed.key_at(*self._path, *path, key)
                raise DataError(problem, hint, at)
        for key in required:
            if row.get(key) is None:
                problem = f"'{' '.join((self.name, *path))}' has no {key}"
                self.fail(problem, f"add '{key}:'", *path)
