"""The table a page of several machines begins with: one row an extruder."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.base import Band, Level
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Place, data, path_of, table
from advisor.report.html.parts import ConfigPart, PageParts
from advisor.report.numbers import flow, ranged
from advisor.report.values import bands
from advisor.report.words import limit_words

__all__ = ["machines_table"]

_HEADS = ("machine", "capacity, mm3/s", "limits first", "requested flow", "found")
_CAPACITY, _ASKED = "flow.capacity", "demand.asked_flow"


def machines_table(parts: PageParts) -> Markup:
    """Return the table of all machines on a page, in the figures of their own parts."""
    rows = [row for number, part in enumerate(parts.configs, 1) for row in _rows(number, part)]
    return table("All machines on this page", _HEADS, rows, fits=True)


def _rows(number: int, part: ConfigPart) -> Iterator[list[Child]]:
    link = element("a", path_of(part.config), href=f"#{Place(f'c{number}-', 2).id('config')}")
    called = part.extruders[0].report.called if part.extruders else None
    link = element("span", f"{called}, ", link) if called else link
    if not part.extruders:
        yield [link, "not known", "", "", _found(part, None)]
    several = len(part.extruders) > 1
    for one in part.extruders:
        numbers = bands(one.report.facts)
        capacity, asked = numbers.get(_CAPACITY), numbers.get(_ASKED)
        shown = "not known" if capacity is None else data(ranged(capacity, ""), capacity)
        first = limit_words(one.report.bottleneck) if one.report.bottleneck else ""
        name = [link, f" {one.report.name}"] if several else link
        found = _found(part, one.report.name)
        yield [name, shown, first, _asked(asked, capacity), found]


def _asked(asked: Band | None, capacity: Band | None) -> str:
    if asked is None:
        return "none given"
    words = f"{flow(asked.value)} mm3/s"
    if capacity is None:
        return words
    if asked.value > capacity.value:
        return f"{words}: too much"
    return f"{words}: {'fits' if asked.value <= capacity.low else 'just fits'}"


def _found(part: ConfigPart, extruder: str | None) -> str:
    """Return how much was found on an extruder, with what is of the whole machine."""
    if part.report.errors:
        return "could not be read"
    own = [one.level for one in part.report.findings if one.extruder in {None, extruder}]
    counts = [(own.count(level), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    return ", ".join(told) or "nothing"
