"""Reads the table of a skip test: lowered current, last good flow, flow of the first click.

All mistakes of a table are gathered and told together, each with its place and what to do. It
judges no physics.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from advisor.base import Span, WeighError, near_miss
from advisor.catalog import Catalog, load_catalog
from advisor.data import within
from advisor.weigh.reader import TableReader, text_of
from advisor.weigh.skip_records import SkipMistakes, SkipRow, SkipTable, skip_words
from advisor.weigh.table import Cell, Head, TableLine, column_of, split_table

__all__ = ["read_skip_table"]

_Cells: TypeAlias = "dict[str, tuple[Head, Cell]]"
_NO_CLICK = ("none", "slip")
_RANGE = {  # SI: what no bench does is a slip of the pen
    "current": (0.01, 5.0, "0.01 to 5 A RMS"),
    "reported": (0.01, 5.0, "0.01 to 5 A RMS"),
    "last_good": (1e-12, 400e-9, "0.001 to 400 mm3/s"),
    "first_click": (1e-12, 400e-9, "0.001 to 400 mm3/s"),
}


def read_skip_table(data: bytes, file: str, *, catalog: Catalog | None = None) -> SkipTable:
    """Return the skip test written in `data`.

    Parameters
    ----------
    data : bytes
        A table: comma, semicolon or tab between cells; a decimal comma or point.
    file : str
        The path to show.
    catalog : Catalog, optional
        Where materials are looked up.

    Raises
    ------
    WeighError
        With place and remedy; `SkipMistakes` where there are several.
    UnreadableError
        If it is no text.
    """
    text, words = text_of(data, file), skip_words()
    reader = _SkipReader(TableReader(file, words, catalog or load_catalog()))
    conditions = reader.table.conditions(text)
    cells, lines, _ = split_table(text, file, words)
    heads = reader.header(cells)
    rows = [] if reader.table.mistakes else [reader.row(line, heads) for line in lines]
    made = tuple(row for row in rows if row is not None)
    if not made and not reader.table.mistakes:
        remedy = "fill in the last good flow and the flow of the first click"
        reader.table.note("no run is filled in", remedy, Span(file, 1))
    if reader.table.mistakes:
        raise SkipMistakes.of(reader.table.mistakes)
    return SkipTable(file, conditions, made, reader.table.empty)


@dataclass(slots=True)
class _SkipReader:
    table: TableReader

    def header(self, cells: list[Cell]) -> list[Head | None]:
        """Return the columns; a missing one is a mistake."""
        heads: list[Head | None] = []
        for cell in cells:
            try:
                heads.append(column_of(cell, self.table.words))
            except WeighError as err:
                self.table.mistakes.append(err)
                heads.append(None)
        names = [head.column.name for head in heads if head is not None]
        at = Span(self.table.file, cells[0].at.line)
        for name in sorted({name for name in names if names.count(name) > 1}):
            self.table.note(f"the column '{name}' is there twice", "take one out", at)
        for column in self.table.words.columns.values():
            if column.needed and column.name not in names:
                remedy = f"add a column '{column.name} [{column.unit}]': {column.title}"
                self.table.note(f"the column '{column.name}' is missing", remedy, at)
        return heads

    def row(self, line: TableLine, heads: list[Head | None]) -> SkipRow | None:
        """Return a line as a run; None where none was made, or where it has a mistake."""
        at = Span(self.table.file, line.number)
        if any(cell.text.strip() for cell in line.cells[len(heads) :]):
            problem = f"this line has {len(line.cells)} cells, the header {len(heads)}"
            remedy = "with a decimal comma, part the columns by semicolons; put a note in quotes"
            self.table.note(problem, remedy, at)
            return None
        cells = {head.column.name: (head, cell) for head, cell in
                 zip(heads, line.cells, strict=False) if head is not None}  # fmt: skip
        if not any(self._filled(name, cells) for name in ("last_good", "first_click", "noticed")):
            return None
        before = len(self.table.mistakes)
        number = {name: self.table.value(*pair) for name, pair in cells.items() if pair[0].unit}
        noticed = self._noticed(cells)
        self._ranges(number, cells)
        if len(self.table.mistakes) == before:
            self._sense(number, noticed, at)
        if len(self.table.mistakes) > before:
            return None
        note = cells["note"][1].text.strip() if "note" in cells else ""
        first = None if noticed in _NO_CLICK else number["first_click"]
        current, last = number["current"], number["last_good"]
        assert current is not None  # `_sense` has noted where they are not there
        assert last is not None
        return SkipRow(at, current, number.get("reported"), last, first, noticed, note)

    @staticmethod
    def _filled(name: str, cells: _Cells) -> bool:
        return name in cells and bool(cells[name][1].text.strip())

    def _noticed(self, cells: _Cells) -> str:
        if "noticed" not in cells:
            return "unsure"
        cell = cells["noticed"][1]
        text = cell.text.strip().lower()
        word = self.table.words.skipped.get(text)
        if word is None:
            known = near_miss(text, self.table.words.skipped)
            remedy = known or "write heard, seen, length short, unsure, none or slip"
            self.table.note(f"noticed: '{cell.text.strip()[:40]}' is not known here", remedy,
                            cell.at)  # fmt: skip
        return word or "unsure"

    def _ranges(self, number: dict[str, float | None], cells: _Cells) -> None:
        for name, (low, high, words) in _RANGE.items():
            value = number.get(name)
            if value is not None and not within(value, low, high):
                problem = f"{name} cannot be {cells[name][1].text.strip()}"
                remedy = f"give {words}, or its unit in the header"
                self.table.note(problem, remedy, cells[name][1].at)

    def _sense(self, number: dict[str, float | None], noticed: str, at: Span) -> None:
        """Note what is missing in a line, or cannot be true together."""
        last, first = number.get("last_good"), number.get("first_click")
        if number.get("current") is None:
            self.table.note("the current is empty", "give the current that was set", at)
        if last is None:
            remedy = "give the last flow without a click"
            self.table.note("the last good flow is empty", remedy, at)
        if first is None and noticed not in _NO_CLICK:
            remedy = "give its flow, or write none in 'noticed' where there was no click"
            self.table.note("the flow of the first click is empty", remedy, at)
        if first is not None and noticed in _NO_CLICK:
            problem = f"there is a first click, but noticed says '{noticed}'"
            self.table.note(problem, "keep one of the two", at)
        if last is not None and first is not None and first <= last:
            problem = "the first click is not above the last good flow"
            self.table.note(problem, "correct the two flows", at)
