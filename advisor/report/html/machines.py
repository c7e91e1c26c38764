"""The table a page of several machines begins with: one row an extruder."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.base import Level
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Place, data, path_of, table
from advisor.report.html.parts import ConfigPart, PageParts
from advisor.report.values import bands
from advisor.report.way_words import answer_words

__all__ = ["machines_table"]

_HEADS = ("config", "extruder", "capacity in mm3/s", "bottleneck", "asked", "found")
_CAPACITY = "flow.capacity"


def machines_table(parts: PageParts) -> Markup:
    """Return the table of all machines on a page, in the words of their own parts."""
    rows = [
        row for number, part in enumerate(parts.configs, 1) for row in _rows(number, part)
    ]  # fmt: skip
    return table("All machines on this page", _HEADS, rows)


def _rows(number: int, part: ConfigPart) -> Iterator[list[Child]]:
    link = element("a", path_of(part.config), href=f"#{Place(f'c{number}-', 2).id('config')}")
    found = _found(part)
    if not part.extruders:
        yield [link, "none", "not known", "", "", found]
    for one in part.extruders:
        table_of = bands(one.report.facts)
        said = {line.label: line.text for line in answer_words(one.report, table_of)}
        capacity = data(said.get("capacity", "not known"), table_of.get(_CAPACITY))
        yield [link, one.report.name, capacity, said.get("bottleneck", ""), said["answer"], found]


def _found(part: ConfigPart) -> str:
    if part.report.errors:
        return "could not be read"
    counts = [(part.report.count(level), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    return ", ".join(told) or "nothing"
