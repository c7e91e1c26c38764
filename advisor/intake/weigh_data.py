"""The numbers and words of weighed tests, read from rules/ into frozen records.

It knows the syntax of the two files, explained in each, and computes nothing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from advisor.catalog import load_catalog
from advisor.errors import DataError, InputError
from advisor.intake.rule_reader import RuleReader
from advisor.resources import artifact, read_text
from advisor.units import parse_unit
from advisor.yamlread import read_yaml

__all__ = ["ARTIFACTS", "Column", "Words", "build_weigh_data", "load_words", "weigh_numbers"]

_NUMBERS, _WORDS = "weigh/test.yaml", "dialects/weighed.yaml"
_NUMBER = ("value", "unit", "source", "status", "about")
_COLUMN = ("names", "unit", "needed", "title", "range")
_PARTS = ("columns", "notes", "skipped", "causes", "gcode", "cautions")


@dataclass(frozen=True, slots=True)
class Column:
    """A column or a note of the table: how it may be called, its usual unit (None for words)."""

    name: str
    names: tuple[str, ...]
    unit: str | None = None
    needed: bool = False
    title: str = ""
    range: tuple[float, float] | None = None  # what a note's number could be, in its unit


@dataclass(frozen=True, slots=True)
class Words:
    """All words of the table; `skipped` maps a spelling to yes, no or unsure.

    ``causes`` says why a test may contradict every machine: less, more, or together; ``gcode``
    holds the lines of a test's G-code.
    """

    columns: Mapping[str, Column]
    notes: Mapping[str, Column]
    skipped: Mapping[str, str]
    causes: Mapping[str, tuple[str, ...]]
    gcode: Mapping[str, str]
    cautions: tuple[str, ...]


@functools.cache
def weigh_numbers(part: str) -> Mapping[str, float]:
    """Return the numbers of one part of rules/weigh/test.yaml in SI units, by name."""
    numbers: dict[str, float] = artifact("weigh", build_weigh_data)["numbers"][part]
    return numbers


@functools.cache
def load_words() -> Words:
    """Return the words of the table; they are read once."""
    data = artifact("weigh", build_weigh_data)["words"]
    columns, notes = (
        {name: Column(name, **{**row, "names": tuple(row["names"])}) for name, row in rows.items()}
        for rows in (data["columns"], data["notes"])
    )
    skipped = {text: name for name, texts in data["skipped"].items() for text in texts}
    causes = {name: tuple(texts) for name, texts in data["causes"].items()}
    return Words(columns, notes, skipped, causes, data["gcode"], tuple(data["cautions"]))


def build_weigh_data() -> dict[str, Any]:
    """Return both files as JSON types: the artifact ``weigh``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    return {"numbers": _numbers(_reader(_NUMBERS)), "words": _words(_reader(_WORDS))}


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"weigh": build_weigh_data}


def _reader(name: str) -> RuleReader:
    try:
        return RuleReader(read_yaml(read_text("rules", name), f"rules/{name}"), load_catalog())
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None


def _numbers(reader: RuleReader) -> dict[str, dict[str, float]]:
    return {
        part: {name: _number(reader, (part, name)) for name in reader.mapping((part,))}
        for part in reader.mapping(())
    }


def _number(reader: RuleReader, path: tuple[str, ...]) -> float:
    row = reader.mapping(path, _NUMBER)
    reader.source(path, row)
    if not isinstance(row.get("value"), int | float):
        raise reader.mistake(path, "has no number", "add 'value:'")
    try:
        return float(parse_unit(str(row.get("unit", ""))).to_si(float(row["value"])))
    except InputError as err:
        raise reader.mistake((*path, "unit"), f"cannot be: {err.problem}", "mend it") from None


def _words(reader: RuleReader) -> dict[str, Any]:
    for part in ("columns", "notes"):
        for name in reader.mapping((part,)):
            row = reader.mapping((part, name), _COLUMN)
            if not isinstance(row.get("names"), list):
                raise reader.mistake((part, name), "has no names", "add 'names: [...]'")
    return reader.mapping((), _PARTS)
