"""Reads the table of a weighed test: what was commanded, what it weighed, whether it skipped.

All mistakes of a table are gathered and told together, each with its place and what to do. It
judges no physics: see `advisor.weigh`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields
from typing import Any, TypeAlias

from advisor.base import (
    HINTS,
    WEIGHED_BYTES,
    InputError,
    Span,
    UnreadableError,
    WeighError,
    near_miss,
    parse_unit,
)
from advisor.catalog import Catalog, load_catalog
from advisor.data import Quantity, Range, parse_quantity, parse_ratio, within
from advisor.weigh.table import Cell, Head, TableLine, column_of, notes_of, split_table
from advisor.weigh.table_records import (
    Conditions,
    Run,
    Skipped,
    WeighedTable,
    WeighMistakes,
    day_of,
)
from advisor.weigh.weigh_data import Column, TableWords, load_words

Cells: TypeAlias = "dict[str, tuple[Head, Cell]]"
"""The cells of a line by the name of their column."""

_Stated: TypeAlias = "str | float | tuple[float, float, float] | None"

__all__ = [
    "Conditions",
    "Run",
    "Skipped",
    "TableReader",
    "WeighMistakes",
    "WeighedTable",
    "read_weighed",
    "text_of",
]

_OWN = frozenset(one.name for one in fields(Conditions))
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?$")
_MOST_PIECES = 1000
_FEWEST_FLOWS = 3
_MARKED = 0.01  # m; the marks are counted on so much filament
_FED = (0.2, 1.5)  # of the length commanded: what a ruler shows beyond is another piece's
_RANGE = {  # SI: what no bench does is a slip of the pen
    "flow": (1e-12, 400e-9, "0.001 to 400 mm3/s"),
    "speed": (1e-6, 1.0, "0.001 to 1000 mm/s"),
    "length": (1e-3, 100.0, "1 mm to 100 m"),
    "fed_length": (1e-3, 100.0, "1 mm to 100 m"),
    "mark_depth": (1e-6, 1e-3, "0.001 to 1 mm"),
    "marks_per_10mm": (2.0, 100.0, "2 to 100 marks on 10 mm"),
}


def read_weighed(
    data: bytes, file: str, *, catalog: Catalog | None = None, unfinished: bool = False
) -> WeighedTable:
    """Return the weighed test written in `data`.

    Parameters
    ----------
    data : bytes
        A table: comma, semicolon or tab between cells; a decimal comma or point.
    file : str
        The path to show.
    catalog : Catalog, optional
        Where materials are looked up.
    unfinished : bool, optional
        Whether a table with fewer flows than a test needs will do.

    Raises
    ------
    WeighError
        With place and remedy; `WeighMistakes` where there are several.
    UnreadableError
        If it is no text.
    """
    text = text_of(data, file)
    reader = TableReader(file, load_words(), catalog or load_catalog())
    conditions = reader.conditions(text)
    cells, lines, separator = split_table(text, file, load_words())
    heads = reader.header(cells)
    runs = [] if reader.mistakes else [reader.run(line, heads, separator) for line in lines]
    if not unfinished:
        reader.check([run for run in runs if run is not None])
    if reader.mistakes:
        raise WeighMistakes.of(reader.mistakes)
    made = tuple(run for run in runs if run is not None)
    return WeighedTable(file, conditions, made, left_out=len(runs) - len(made))


def text_of(data: bytes, file: str) -> str:
    """Return the text of a table.

    Raises
    ------
    UnreadableError
        If it is too large, or no text.
    """
    if len(data) > WEIGHED_BYTES:
        problem = f"'{file}' is larger than {WEIGHED_BYTES // 1024} kB"
        raise UnreadableError(problem, "name the table of a weighed test")
    marks = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
    for encoding in (marks.get(data[:2], "utf-8-sig"), "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise UnreadableError(f"'{file}' is no text", "save the table as CSV")


def _quantity(unit: str, text: str) -> Quantity:
    """Return the number of a note; a gear ratio may be written as teeth, 50:17."""
    ratio = parse_ratio(text) if unit == "-" else None
    if ratio is not None:
        return parse_quantity(f"{ratio.product!r}", parse_unit(unit))
    return parse_quantity(text.replace(",", "."), parse_unit(unit))


@dataclass(slots=True)
class TableReader:
    """Reads the parts that the tables of tests share, and gathers their mistakes."""

    file: str
    words: TableWords
    catalog: Catalog
    mistakes: list[WeighError] = field(default_factory=list)
    tare: float = 0.0
    empty: float | None = None  # A, of a skip test: the empty run
    looked_up: int = 0  # words that were compared with the known ones

    def note(self, problem: str, remedy: str | None, at: Span) -> None:
        """Remember a mistake."""
        self.mistakes.append(WeighError(problem, remedy, at))

    def hint(self, word: str, known: Iterable[str]) -> str:
        """Return the known word that may be meant, for the first of many mistakes."""
        self.looked_up += 1
        return near_miss(word, known) if self.looked_up <= HINTS else ""

    def conditions(self, text: str) -> Conditions:
        """Return what the notes before the table say; free comments are passed over."""
        by_name = {name: row for row in self.words.notes.values() for name in row.names}
        given: dict[str, Any] = {}
        stated: dict[str, str | float] = {}
        for name, cell in notes_of(text, self.file):
            column = by_name.get(name)
            if column is None:
                if hint := self.hint(name, by_name):
                    self.note(f"'{name}' is no note we know", hint, cell.at)
            elif cell.text:
                value = given[column.name] = self._condition(column, cell)
                if column.fact is not None and value is not None:
                    stated[column.fact] = value[1] if isinstance(value, tuple) else value
        self.tare = given.pop("tare", None) or 0.0
        self.empty = given.pop("empty_run", None)
        own = {name: value for name, value in given.items() if name in _OWN}
        return Conditions(**own, stated=stated)

    def _condition(self, column: Column, cell: Cell) -> _Stated:
        try:
            if column.catalogue is not None:
                return self._named(column, cell.text)
            if column.unit is None:
                return day_of(cell.text) if column.date else cell.text
            value = _quantity(column.unit, cell.text)
        except InputError as err:
            self.note(f"{column.name}: {err.problem}", err.remedy, cell.at)
            return None
        if not self._could_be(column, value, cell):
            return None
        if column.name in ("diameter", "density"):
            return value.low, value.typical, value.high
        return value.typical

    def _named(self, column: Column, text: str) -> str:
        """Return the name of an entry; what is built in may be called by words of the owner's."""
        entries = self.catalog.category(column.catalogue or "")
        if column.name != "material" and text.strip().lower() not in entries:
            return text.strip()
        return self.catalog.lookup(column.catalogue or "", text).name

    def _could_be(self, column: Column, value: Quantity, cell: Cell) -> bool:
        """Whether the number of a note is one that a bench could have; noted if not."""
        remedy = ""
        if value.low <= 0.0 and column.name != "tare":
            remedy = "give what was used"
        elif column.range is not None:
            unit, bounds = parse_unit(column.unit or "-"), Range(*column.range)
            if not all(float(unit.from_si(end)) in bounds for end in (value.low, value.high)):
                remedy = f"give {bounds.words(unit.symbol)}"
        if remedy:
            self.note(f"{column.name} cannot be '{cell.text[:40]}'", remedy, cell.at)
        return not remedy

    def header(self, cells: list[Cell]) -> list[Head | None]:
        """Return the columns; a missing one is a mistake."""
        heads: list[Head | None] = []
        for cell in cells:
            try:
                heads.append(column_of(cell, self.words))
            except WeighError as err:
                self.mistakes.append(err)
                heads.append(None)
        names = [head.column.name for head in heads if head is not None]
        at = Span(self.file, cells[0].at.line)
        for name in sorted({name for name in names if names.count(name) > 1}):
            self.note(f"the column '{name}' is there twice", "take one out", at)
        for column in self.words.columns.values():
            if column.needed and column.name not in names:
                remedy = f"add a column '{column.name} [{column.unit}]': {column.title}"
                self.note(f"the column '{column.name}' is missing", remedy, at)
        if not {"flow", "speed"} & set(names):
            remedy = "add a column 'flow [mm3/s]' (or 'speed [mm/s]' of the filament)"
            self.note("the column 'flow' is missing", remedy, at)
        return heads

    def run(self, line: TableLine, heads: list[Head | None], separator: str) -> Run | None:
        """Return a line as a run; None where no mass is filled in, or where it has a mistake."""
        if any(cell.text.strip() for cell in line.cells[len(heads) :]):
            remedy = "put the note in quotes" if separator != "," else (
                "with a decimal comma, part the columns by semicolons")  # fmt: skip
            problem = f"this line has {len(line.cells)} cells, the header {len(heads)}"
            self.note(problem, remedy, Span(self.file, line.number))
            return None
        cells = {head.column.name: (head, cell) for head, cell in
                 zip(heads, line.cells, strict=False) if head is not None}  # fmt: skip
        if "mass" not in cells or not cells["mass"][1].text.strip():
            return None
        before = len(self.mistakes)
        number = {name: self.value(*pair) for name, pair in cells.items() if pair[0].unit}
        skipped = self._skipped(cells["skipped"][1]) if "skipped" in cells else Skipped.UNSURE
        self._ranges(number, cells, Span(self.file, line.number))
        pieces, mass = self._mass(number, cells)
        if len(self.mistakes) > before:
            return None
        note = cells["note"][1].text.strip() if "note" in cells else ""
        at, marks = Span(self.file, line.number), number.get("marks_per_10mm")
        return Run(
            at, number.get("flow"), number.get("speed"), number["length"] or 0.0, pieces, mass,
            skipped, note, number.get("fed_length"), number.get("mark_depth"),
            _MARKED / marks if marks else None,
        )  # fmt: skip

    def value(self, head: Head, cell: Cell) -> float | None:
        """Return the number of a cell; None where it is empty, or no number, which is noted."""
        text = cell.text.strip().replace("\u2212", "-")
        if not text:
            return None
        name = head.column.name
        if not _NUMBER.match(text):
            problem = f"{name}: '{text[:40]}' is no number"
            marks = "," in text and "." in text
            remedy = "write it without marks between thousands" if marks else (
                "write the number alone; its unit stands in the header")  # fmt: skip
            self.note(problem, remedy, cell.at)
            return None
        value = float(text.replace(",", "."))
        return float(head.unit.to_si(value)) if head.unit is not None else value

    def _ranges(self, number: dict[str, float | None], cells: Cells, line: Span) -> None:
        """Note what is out of range; what is needed and empty; flow and speed both or neither."""
        for name, (low, high, words) in _RANGE.items():
            value = number.get(name)
            if value is not None and not within(value, low, high):
                problem = f"{name} cannot be {cells[name][1].text.strip()}"
                self.note(problem, f"give {words}, or its unit in the header", cells[name][1].at)
        fed, length = number.get("fed_length"), number.get("length")
        if fed and length and not within(fed / length, *_FED):
            problem = f"fed_length cannot be {cells['fed_length'][1].text.strip()} here"
            remedy = "give what went in for one piece, by ruler; its length was commanded"
            self.note(problem, remedy, cells["fed_length"][1].at)
        if self._empty("length", number, cells):
            self.note("the length is empty", "give the length fed for one piece", line)
        if all(self._empty(name, number, cells) for name in ("flow", "speed")):
            self.note("the flow is empty", "give the flow that was commanded", line)

    @staticmethod
    def _empty(name: str, number: dict[str, float | None], cells: Cells) -> bool:
        return name not in cells or not cells[name][1].text.strip()

    def _mass(self, number: dict[str, float | None], cells: Cells) -> tuple[int, float]:
        pieces = number.get("pieces")
        pieces = 1.0 if pieces is None else pieces
        if pieces != round(pieces) or not 1 <= pieces <= _MOST_PIECES:
            problem = f"pieces cannot be {cells['pieces'][1].text.strip()}"
            self.note(problem, "give a whole number from 1", cells["pieces"][1].at)
            return 1, 0.0
        mass, tare = number.get("mass"), number.get("tare")
        if mass is None:
            return 1, 0.0
        net = mass - (self.tare if tare is None else tare)
        at, text = cells["mass"][1].at, cells["mass"][1].text.strip()
        if mass < 0.0:
            self.note(f"the mass is negative ({text})", "zero the scale and weigh again", at)
        elif net < 0.0:
            problem = f"the mass ({text}) is less than the container's"
            self.note(problem, "correct the tare, or the mass", at)
        return int(pieces), net / pieces

    def _skipped(self, cell: Cell) -> Skipped:
        text = cell.text.strip().lower()
        word = self.words.skipped.get(text)
        if word is None:
            hint = self.hint(text, self.words.skipped) or "write yes, no or unsure"
            self.note(f"skipped: '{cell.text.strip()[:40]}' is not known here", hint, cell.at)
        return Skipped(word or "unsure")

    def check(self, runs: list[Run]) -> None:
        """Note what no test can do without; only where the lines themselves are in order."""
        if self.mistakes:
            return
        at = Span(self.file, 1)
        for holds, problem, remedy in _WHOLE:
            if not holds(runs):
                self.note(problem(runs), remedy, at)
                return


def _flows(runs: list[Run]) -> int:
    return len({(run.flow, run.speed) for run in runs})


def _count(runs: list[Run]) -> str:
    number = _flows(runs)
    return f"only {number} flows were weighed" if number != 1 else "only one flow was weighed"


Check = tuple[Callable[[list[Run]], bool], Callable[[list[Run]], str], str]
_WHOLE: tuple[Check, ...] = (
    (bool, lambda _: "no mass is filled in", "weigh the pieces and fill in the column 'mass'"),
    (lambda runs: _flows(runs) >= _FEWEST_FLOWS, _count,
     "weigh a slow reference and at least two faster flows"),
    (lambda runs: any(run.skipped is not Skipped.YES for run in runs),
     lambda _: "the motor skipped in every run, the slow reference too",
     "plan again with a slower reference: there is nothing to compare with"),
)  # fmt: skip
