"""Splits the text of a weighed test into cells with their places; it knows no numbers.

Comma, semicolon or tab: whichever gives the header most names that are known. Comment lines
begin with '#'; one that reads '# name: value' before the header is a note.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.base import (
    WEIGHED_COLUMNS,
    WEIGHED_LINES,
    InputError,
    Span,
    Unit,
    WeighError,
    near_miss,
    parse_unit,
)
from advisor.weigh.weigh_data import Column, TableWords, load_words

__all__ = ["Cell", "Head", "TableLine", "column_of", "next_row", "notes_of", "split_table"]

_SAME = 1e-3  # flows of a row that are the same
_SEPARATORS = (";", "\t", ",")
_BRACKET = re.compile(r"(?P<name>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]$")
_NOTE = re.compile(r"#+\s*(?P<name>[A-Za-z][A-Za-z _-]*?)\s*[:=]\s*(?P<value>.*?)\s*$")


@dataclass(frozen=True, slots=True)
class Cell:
    """The text of one cell and its place."""

    text: str
    at: Span


@dataclass(frozen=True, slots=True)
class Head:
    """A column of the header: what it is, and the unit of its numbers."""

    column: Column
    unit: Unit | None
    cell: Cell


@dataclass(frozen=True, slots=True)
class TableLine:
    """A line below the header."""

    number: int
    cells: tuple[Cell, ...]


def split_table(text: str, file: str, words: TableWords) -> tuple[list[Cell], list[TableLine], str]:
    """Return the cells of the header, the lines below it and the separator.

    Raises
    ------
    WeighError
        If there is no header, or more of a table than a test has.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip(" \t;,") and not line.lstrip().startswith("#")
    ]
    if not lines:
        problem = "there is no table in this file"
        raise WeighError(problem, "fill in what 'feedwright weigh plan' writes", Span(file, 1))
    _within_budget(lines, file)
    number, header = lines[0]
    separator = max(_SEPARATORS, key=lambda mark: _known(header, mark, words))
    if not _known(header, separator, words):
        problem = f"this line is no header we know: '{header.strip()[:60]}'"
        remedy = "begin with a line such as 'flow [mm3/s]; length [mm]; mass [g]; skipped; note'"
        raise WeighError(problem, remedy, Span(file, number))
    head, *rest = (TableLine(n, tuple(_cells(line, separator, file, n))) for n, line in lines)
    return list(head.cells), rest, separator


def _within_budget(lines: list[tuple[int, str]], file: str) -> None:
    if len(lines) > WEIGHED_LINES:
        problem = f"this table has more than {WEIGHED_LINES} lines; no weighed test has"
        raise WeighError(problem, "give one test", Span(file, lines[WEIGHED_LINES][0]))
    number, header = lines[0]
    if max(map(header.count, _SEPARATORS)) > WEIGHED_COLUMNS:
        problem = f"this table has more than {WEIGHED_COLUMNS} columns"
        raise WeighError(problem, "keep those that are known", Span(file, number))


def notes_of(text: str, file: str) -> Iterator[tuple[str, Cell]]:
    """Yield the notes before the header: name in lower case, and value."""
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            return
        found = _NOTE.match(line.strip())
        if found is not None:
            column = line.find(found["value"]) + 1 if found["value"] else len(line)
            yield found["name"].lower(), Cell(found["value"], Span(file, number, column))


def column_of(cell: Cell, words: TableWords) -> Head | None:
    """Return what a header's cell names; None for an empty one.

    Raises
    ------
    WeighError
        If it is no column we know, or the unit does not suit it.
    """
    text = " ".join(cell.text.lower().split())
    if not text:
        return None
    column, unit_text = _named(cell.text.strip(), words.columns)
    if column is None:
        known = {name for row in words.columns.values() for name in row.names}
        hint = near_miss(text, known) or "call it a note, or take it out"
        raise WeighError(f"unknown column '{cell.text.strip()}'", hint, cell.at)
    if column.unit is None:
        return Head(column, None, cell)
    try:
        unit, due = parse_unit(unit_text or column.unit), parse_unit(column.unit)
    except InputError as err:
        raise WeighError(f"{column.name}: {err.problem}", err.remedy, cell.at) from None
    if unit.dimension != due.dimension:
        problem = f"{column.name} cannot be in '{unit_text}'"
        raise WeighError(problem, f"give it in {column.unit}", cell.at)
    return Head(column, unit, cell)


def _named(text: str, columns: Mapping[str, Column]) -> tuple[Column | None, str]:
    """Return the column a header names and its unit: 'mass [g]', 'mass (g)', 'mass_g'."""
    by_name = {name: column for column in columns.values() for name in column.names}
    bracket = _BRACKET.match(text)
    if bracket is not None:
        return by_name.get(_plain(bracket["name"])), bracket["unit"].strip()
    if _plain(text) in by_name:
        return by_name[_plain(text)], ""
    parts = re.split(r"[ _]", text)
    for size in range(len(parts) - 1, 0, -1):
        column = by_name.get(_plain(" ".join(parts[:size])))
        if column is not None:
            return column, "/".join(parts[size:])
    return None, ""


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("_", " ").split())


def _known(line: str, separator: str, words: TableWords) -> int:
    cells = _cells(line, separator, "", 1)
    return sum(_named(cell.text.strip(), words.columns)[0] is not None for cell in cells)


def _cells(line: str, separator: str, file: str, number: int) -> Iterator[Cell]:
    column = 1
    try:
        cells = next(csv.reader([line], delimiter=separator), [])
    except csv.Error:
        problem = "this line is no line of a table"
        raise WeighError(problem, "take it out", Span(file, number)) from None
    for cell in cells:
        text = cell.strip()
        found = line.find(text, column - 1) if text else -1
        first = found + 1 if found >= 0 else column
        yield Cell(text, Span(file, number, first, first + len(text)))
        column += len(cell) + 1


def next_row(text: str, file: str, values: Mapping[str, float | str]) -> str:
    """Return a row for a table, in its own columns and units; empty where it is there, to fill in.

    Parameters
    ----------
    text, file : str
        The table, and its path to show.
    values : mapping
        What is known of the row, by the names of the columns; numbers in SI units.

    Raises
    ------
    WeighError
        If the table has no header we know.
    """
    words = load_words()
    cells, lines, separator = split_table(text, file, words)
    heads = [column_of(cell, words) for cell in cells]
    if any(_waits(line, heads, values) for line in lines):
        return ""
    made = []
    for head in heads:
        value = None if head is None else values.get(head.column.name)
        if isinstance(value, float) and head is not None and head.unit is not None:
            shown = f"{float(head.unit.from_si(value)):.6g}"
            value = shown.replace(".", ",") if separator != "," and _has_commas(text) else shown
        made.append("" if value is None else str(value))
    gap = separator if separator == "\t" else f"{separator} "
    return gap.join(made).rstrip()


def _waits(line: TableLine, heads: list[Head | None], values: Mapping[str, float | str]) -> bool:
    """Whether a line is for the flow or speed of `values` and its mass is not filled in yet."""
    shown = {
        head.column.name: (head, cell.text.strip().replace(",", "."))
        for head, cell in zip(heads, line.cells, strict=False)
        if head is not None
    }
    if "mass" in shown and shown["mass"][1]:
        return False
    for name in ("flow", "speed"):
        head, text = shown.get(name, (None, ""))
        value = values.get(name)
        if head is not None and head.unit is not None and isinstance(value, float) and text:
            try:
                return abs(float(head.unit.to_si(float(text))) / value - 1.0) < _SAME
            except ValueError:
                return False
    return False


def _has_commas(text: str) -> bool:
    """Whether the numbers below the header are written with a decimal comma."""
    rows = [
        line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")
    ]
    return any(re.search(r"\d,\d", line) for line in rows[1:])
