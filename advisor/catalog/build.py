"""Reads and checks rules/sources.yaml, rules/facts.yaml and rules/catalogue/, into plain JSON.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since; it makes no records (see `load`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.catalog.records import CATEGORIES
from advisor.errors import DataError, InputError, near_miss
from advisor.model import Span
from advisor.resources import data_files, folder
from advisor.units import Unit, parse_unit
from advisor.yamlread import Placed, read_yaml

__all__ = ["build_catalog", "read_rules"]

STATUSES = ("found", "memory", "common-practice", "derived")
STAGES = ("motor", "gears", "grip", "gap", "melt", "heater", "firmware", "slicer")
_SOURCE_KEYS = ("what", "status", "used_for")
_FACT_KEYS = ("unit", "title", "about", "stage", "scope", "type", "sheet", "measure", "choices")
_CHOICES = {
    "stage": STAGES,
    "scope": ("extruder", "machine"),
    "type": ("number", "text", "flag"),
    "status": STATUSES,
}
_NUMBER_KEYS = ("low", "typical", "high", "value", "unit", "source", "status", "about")
_ENTRY_KEYS = ("title", "about", "suggest", "shares_with", "shares_when")
_LEVELS = ("low", "typical", "high")


def read_rules() -> dict[str, str]:
    """Return the texts of the files the catalogue is made of, by path under rules/."""
    root = folder("rules")
    names = [root / "sources.yaml", root / "facts.yaml", *data_files("rules", "catalogue/*.yaml")]
    return {path.relative_to(root).as_posix(): path.read_text(encoding="utf-8") for path in names}


def build_catalog(texts: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return the catalogue as JSON types: the artifact ``catalog``.

    Parameters
    ----------
    texts : mapping of str to str, optional
        The files by path under rules/; the installed ones where not given.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    texts = read_rules() if texts is None else texts
    sources = _sources(_document(texts, "sources.yaml"))
    facts = _facts(_document(texts, "facts.yaml"))
    checker = _Checker(sources, facts)
    known = [f"catalogue/{word}.yaml" for word in (*CATEGORIES, "model")]
    for path in texts:
        if path.startswith("catalogue/") and path not in known:
            hint = near_miss(path, known) or f"known are {', '.join(known)}"
            raise DataError(
                "no part of the catalogue is read from here", hint, Span(f"rules/{path}", 1)
            )
    entries = {
        word: checker.entries(_document(texts, f"catalogue/{word}.yaml")) for word in CATEGORIES
    }
    model = checker.entries(_document(texts, "catalogue/model.yaml"))
    if list(model) != ["chain"]:
        at = Span("rules/catalogue/model.yaml", 1)
        raise DataError("the model has one entry, named 'chain'", "put the numbers there", at)
    checker.check_names(model["chain"], entries)
    return {"sources": sources, "facts": facts, "model": model["chain"], **entries}


def _document(texts: Mapping[str, str], path: str) -> Placed:
    at = Span(f"rules/{path}", 1)
    if path not in texts:
        raise DataError(f"the file rules/{path} is missing", "install the package again", at)
    try:
        placed = read_yaml(texts[path], at.file)
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    if not isinstance(placed.data, dict):
        raise DataError("this file must be a mapping of names", "write 'name: {...}'", at)
    return placed


def _row(placed: Placed, name: str, known: Iterable[str], required: Iterable[str]) -> Any:
    """Return the mapping at `name` after checking its keys and the words it may choose."""
    row = placed.data[name]
    if not isinstance(row, dict):
        raise DataError(f"'{name}' must be a mapping", "write '{...}'", placed.at(name))
    _check_keys(placed, row, (name,), known, required)
    for key, choices in _CHOICES.items():
        if key in row and row[key] not in choices:
            hint = near_miss(str(row[key]), choices) or f"write one of {', '.join(choices)}"
            raise DataError(f"'{name}': {key} is '{row[key]}'", hint, placed.at(name, key))
    return row


def _check_keys(
    placed: Placed,
    row: Mapping[str, Any],
    path: tuple[str, ...],
    known: Iterable[str],
    required: Iterable[str],
) -> None:
    name = " ".join(path)
    for key in row:
        if key not in tuple(known):
            hint = near_miss(key, known) or f"known are {', '.join(known)}"
            raise DataError(f"'{name}' has an unknown key '{key}'", hint, placed.key_at(*path, key))
    for key in required:
        if row.get(key) is None:
            problem = f"'{name}' has no {key.replace('_', ' ')}"
            raise DataError(problem, f"add '{key}:'", placed.key_at(*path))


def _sources(placed: Placed) -> dict[str, Any]:
    return {
        name: {key: str(value) for key, value in row.items()}
        for name in placed.data
        for row in [_row(placed, name, _SOURCE_KEYS, _SOURCE_KEYS)]
    }


def _facts(placed: Placed) -> dict[str, Any]:
    facts: dict[str, Any] = {}
    fields: dict[str, str] = {}
    for name in placed.data:
        row = _row(placed, name, _FACT_KEYS, ("unit", "title", "stage"))
        _unit(str(row["unit"]), placed.at(name, "unit"))
        field = row.get("sheet")
        if field is not None and fields.setdefault(field, name) != name:
            problem = f"the sheet field '{field}' already states '{fields[field]}'"
            raise DataError(problem, "give each fact its own field", placed.at(name, "sheet"))
        facts[name] = {key: str(value) for key, value in row.items() if key != "choices"}
        if "choices" in row:
            facts[name]["choices"] = _words(placed, name, row["choices"])
    return facts


def _words(placed: Placed, name: str, choices: Any) -> dict[str, list[str]]:
    """Return the words that a text may be, with the facts that each of them needs."""
    at = placed.at(name, "choices")
    if not isinstance(choices, dict):
        raise DataError(f"'{name}': choices must be a mapping", "write '{word: [facts]}'", at)
    for needed in choices.values():
        for fact in needed if isinstance(needed, list) else [needed]:
            if fact not in placed.data:
                hint = near_miss(str(fact), placed.data) or "add it"
                raise DataError(f"'{name}': '{fact}' is no fact", hint, at)
    return {str(word): list(needed) for word, needed in choices.items()}


def _unit(text: str, at: Span) -> Unit:
    try:
        return parse_unit(text)
    except InputError as err:
        raise DataError(err.problem, err.remedy, at) from None


class _Checker:
    """Checks catalogue entries against the sources and the vocabulary."""

    def __init__(self, sources: Mapping[str, Any], facts: Mapping[str, Any]) -> None:
        self._sources = sources
        self._facts = facts

    def entries(self, placed: Placed) -> dict[str, Any]:
        return {name: self._entry(placed, name) for name in placed.data}

    def check_names(self, model: Mapping[str, Any], entries: Mapping[str, Any]) -> None:
        """Check that the classes the model assumes are entries of the catalogue."""
        for fact, category in _ASSUMED.items():
            name = model["texts"].get(fact)
            if name is not None and name not in entries[category]:
                at = Span(model["file"], model["line"])
                hint = near_miss(name, entries[category]) or None
                raise DataError(f"{fact} is no {CATEGORIES[category]}: '{name}'", hint, at)

    def _entry(self, placed: Placed, name: str) -> dict[str, Any]:
        row = placed.data[name]
        if not isinstance(row, dict) or not row.get("title"):
            raise DataError(f"'{name}' has no title", "add 'title:'", placed.key_at(name))
        at = placed.key_at(name)
        entry: dict[str, Any] = {"file": at.file, "line": at.line, "numbers": {}, "texts": {}}
        for key, value in row.items():
            if key in _ENTRY_KEYS:
                entry[key] = str(value)
            elif self._type(placed, name, key) == "number":
                entry["numbers"][key] = self._number(placed, (name, key), value)
            elif isinstance(value, str) and value.strip():
                entry["texts"][key] = value
            else:
                raise DataError(f"'{name} {key}' must be a text", "write one", placed.at(name, key))
        for key, word in entry["texts"].items():
            self._chosen(placed, name, key, word, entry["numbers"])
        return entry

    def _chosen(
        self, placed: Placed, name: str, key: str, word: str, numbers: Mapping[str, Any]
    ) -> None:
        """Refuse a word that the fact does not know, or that lacks numbers it needs."""
        choices = self._facts[key].get("choices")
        if choices is None:
            return
        at = placed.at(name, key)
        if word not in choices:
            hint = near_miss(word, choices) or f"write one of {', '.join(choices)}"
            raise DataError(f"'{name}': {key} is '{word}'", hint, at)
        lacking = [fact for fact in choices[word] if fact not in numbers]
        if lacking:
            problem = f"'{name}': {key} '{word}' needs {lacking[0]}"
            raise DataError(problem, f"add '{lacking[0]}:'", at)

    def _type(self, placed: Placed, name: str, key: str) -> str:
        fact = self._facts.get(key)
        if fact is None:
            known = [*_ENTRY_KEYS, *self._facts]
            hint = near_miss(key, known) or "add it to rules/facts.yaml"
            problem = f"'{name}' names '{key}', which is no fact"
            raise DataError(problem, hint, placed.key_at(name, key))
        return str(fact.get("type", "number"))

    def _number(self, placed: Placed, path: tuple[str, str], row: Any) -> list[Any]:
        at = placed.at(*path)
        what = " ".join(path)
        if not isinstance(row, dict):
            remedy = "write '{low, typical, high, unit, source, status}'"
            raise DataError(f"'{what}' must be a number with its source", remedy, at)
        _check_keys(placed, row, path, _NUMBER_KEYS, ("unit", "source", "status"))
        if row["status"] not in STATUSES:
            hint = near_miss(str(row["status"]), STATUSES) or f"write {', '.join(STATUSES)}"
            raise DataError(f"'{what}': status is '{row['status']}'", hint, at)
        if row["source"] not in self._sources:
            hint = near_miss(str(row["source"]), self._sources) or "add it to rules/sources.yaml"
            raise DataError(f"'{what}': unknown source '{row['source']}'", hint, at)
        unit = self._unit_of(path[1], what, str(row["unit"]), at)
        levels = [float(unit.to_si(level)) for level in _levels(row, what, at)]
        about = [str(row["about"])] if row.get("about") else []
        return [*levels, str(row["unit"]), row["source"], row["status"], *about]

    def _unit_of(self, fact: str, what: str, text: str, at: Span) -> Unit:
        unit, due = _unit(text, at), _unit(self._facts[fact]["unit"], at)
        if unit.dimension != due.dimension or unit.kind != due.kind:
            problem = f"'{what}' is in '{text}', the fact is in '{self._facts[fact]['unit']}'"
            raise DataError(problem, "write it in a unit of the same kind", at)
        return unit


_ASSUMED = {
    "filament.material": "materials",
    "hotend.class": "hotends",
    "hotend.insert": "inserts",
    "drive.class": "drives",
    "drive.mount": "mounts",
    "drive.path": "paths",
    "motor.class": "motors",
}


def _levels(row: Mapping[str, Any], what: str, at: Span) -> list[float]:
    """Return low, typical and high; one exact `value` stands for all three."""
    given = [key for key in _LEVELS if key in row]
    if "value" in row:
        if given:
            raise DataError(f"'{what}' has a value and a {given[0]}", "keep one form", at)
        levels = [row["value"]] * 3
    else:
        absent = [key for key in _LEVELS if key not in given]
        if absent:
            raise DataError(f"'{what}' has no {absent[0]}", f"add '{absent[0]}:'", at)
        levels = [row[key] for key in _LEVELS]
    for level in levels:
        if isinstance(level, bool) or not isinstance(level, int | float):
            raise DataError(f"'{what}': '{level}' is no number", "write a number", at)
        if not math.isfinite(level):
            raise DataError(f"'{what}': '{level}' is not finite", "write a number", at)
    if not levels[0] <= levels[1] <= levels[2]:
        problem = f"'{what}': low {levels[0]}, typical {levels[1]}, high {levels[2]} do not rise"
        raise DataError(problem, "put them in order", at)
    return [float(level) for level in levels]
