"""The numbers and words of weighed tests, read from rules/ into frozen records.

It knows the syntax of the two files, explained in each, and computes nothing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.base import parse_unit
from advisor.catalog import CATEGORIES, load_catalog
from advisor.data import Row, artifact

if TYPE_CHECKING:
    from advisor.data import Node

__all__ = [
    "ARTIFACTS",
    "Column",
    "TableWords",
    "build_weigh_data",
    "columns_of",
    "load_words",
    "read_numbers",
    "weigh_numbers",
]

_NUMBERS, _WORDS = "weigh/test.yaml", "dialects/weighed.yaml"


@dataclass(frozen=True, slots=True)
class Column:
    """A column or a note of the table: how it may be called, its usual unit (None for words)."""

    name: str
    names: tuple[str, ...]
    unit: str | None = None
    needed: bool = False
    title: str = ""
    range: tuple[float, float] | None = None  # what a note's number could be, in its unit
    fact: str | None = None  # of the machine, that a note states
    within: float = 2.0  # per cent by which a number may be off the machine's
    catalogue: str | None = None
    date: bool = False
    ask: bool = False


@dataclass(frozen=True, slots=True)
class TableWords:
    """All words of the table; `skipped` maps a spelling to yes, no or unsure.

    ``causes`` says why a test may contradict every machine: less, more, or together; ``gcode``
    holds the lines of a test's G-code, ``stops`` when to stop one.
    """

    columns: Mapping[str, Column]
    notes: Mapping[str, Column]
    skipped: Mapping[str, str]
    causes: Mapping[str, tuple[str, ...]]
    gcode: Mapping[str, str]
    cautions: tuple[str, ...]
    stops: Mapping[str, str]


@functools.cache
def weigh_numbers(part: str) -> Mapping[str, float]:
    """Return the numbers of one part of rules/weigh/test.yaml in SI units, by name."""
    numbers: dict[str, float] = artifact("weigh", build_weigh_data)["numbers"][part]
    return numbers


@functools.cache
def load_words() -> TableWords:
    """Return the words of the table; they are read once."""
    data = artifact("weigh", build_weigh_data)["words"]
    columns, notes = columns_of(data["columns"]), columns_of(data["notes"])
    skipped = {text: name for name, texts in data["skipped"].items() for text in texts}
    causes = {name: tuple(texts) for name, texts in data["causes"].items()}
    return TableWords(columns, notes, skipped, causes, data["gcode"], tuple(data["cautions"]),
                 data["stops"])  # fmt: skip


def columns_of(rows: Row) -> dict[str, Column]:
    """Return columns, or notes, of their rows in the data."""
    return {
        name: Column(name, **{**row, "names": tuple(row["names"])}) for name, row in rows.items()
    }


def build_weigh_data() -> Row:
    """Return both files as JSON types: the artifact ``weigh``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import schema as s

    words = s.read_data(_WORDS, s.row(_words_schema()))
    return {"numbers": read_numbers(_NUMBERS), "words": words}


def _words_schema() -> Row:
    """Return the schema of the words: by key, what it holds."""
    from advisor.data import schema as s

    texts = s.listed(s.text, least=1)
    told = {"unit": s.unit(), "title": s.text, "range": s.ends()}
    column = s.row({"names": texts}, {**told, "needed": s.flag})
    catalog = load_catalog()
    of_notes = {
        "fact": s.word(catalog.facts, "fact"),
        "within": s.number(),
        "catalogue": s.word(CATEGORIES, "catalogue"),
        "date": s.flag,
        "ask": s.flag,
    }
    return {
        "columns": s.names(column),
        "notes": s.names(s.row({"names": texts}, {**told, **of_notes})),
        "skipped": s.names(s.listed(s.string)),
        "causes": s.names(texts),
        "gcode": s.names(s.text),
        "cautions": texts,
        "stops": s.names(s.text),
    }


def read_numbers(file: str) -> Row:
    """Return the numbers of a file of tests in SI units, by part and name."""
    from advisor.data import schema as s

    number = s.row(
        {"value": s.number(), "unit": s.unit(), **s.sourced(load_catalog().sources)},
        {"about": s.text},
    )
    made: Row = s.read_data(file, s.names(s.names(s.checked(number, _in_si))))
    return made


def _in_si(_: Node, row: Row) -> float:
    return float(parse_unit(row["unit"]).to_si(row["value"]))


ARTIFACTS: Mapping[str, Callable[[], object]] = {"weigh": build_weigh_data}
