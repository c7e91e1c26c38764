"""The head of the page: what was checked, and the answer in the words of the terminal.

A page of several machines begins with a table: one row an extruder.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.base import Band, ExtruderReport, Level
from advisor.report.answer_notes import rough_words, uses_words, weighed_lines
from advisor.report.html.layout import (
    Child,
    Markup,
    Place,
    data,
    element,
    heading,
    path_of,
    table,
    terms,
)
from advisor.report.html.marks import spool
from advisor.report.html.parts import ConfigPart, PageParts
from advisor.report.numbers import bands, flow, ranged
from advisor.report.text import later_lines, sum_words
from advisor.report.way_words import answer_words
from advisor.report.words import limit_words

__all__ = ["answer", "machines_table", "page_head"]

_FACT_OF = {"capacity": "flow.capacity", "answer": "demand.asked_flow"}
_ROLES = {
    "config": "config", "sheet": "hardware sheet", "profile": "slicer profile",
    "print": "sliced print", "weighed": "weighed test",
}  # fmt: skip
_HEADS = ("machine", "capacity, mm3/s", "limits first", "requested flow", "found")
_CAPACITY, _ASKED = "flow.capacity", "demand.asked_flow"


def page_head(parts: PageParts, answers: Child) -> Markup:
    """Return the head of the page; `answers` stand in it where there is one config."""
    return element(
        "header",
        spool(),
        element("p", "feedwright", class_="maker"),
        _title(parts),
        answers,
        element("p", f"Summary: {sum_words(parts.whole)}.", class_="sum"),
        *(element("p", f"Set later: {line}.") for line in later_lines(parts.whole.later)),
        _rough(parts),
        _checked(parts),
        class_="head",
    )


def _rough(parts: PageParts) -> Markup | None:
    words = rough_words(parts.whole.draws)
    return element("p", f"The bands are {words}.", class_="rough") if words else None


def title_of(parts: PageParts) -> str:
    """Return the title of the page."""
    if len(parts.configs) == 1:
        several = "s" if len(parts.configs[0].extruders) > 1 else ""
        machine, called = parts.configs[0].config, _called(parts.configs[0])
        shown = f"{called} ({machine})" if called else machine
        return f"What the extruder{several} of {shown} can deliver"
    return f"What the extruders of {len(parts.configs)} configs can deliver"


def _called(part: ConfigPart) -> str | None:
    return part.extruders[0].report.called if part.extruders else None


def _title(parts: PageParts) -> Markup:
    before, path, after = title_of(parts).partition(parts.configs[0].config)
    return element("h1", before, path_of(path) if path else None, after)


def _checked(parts: PageParts) -> Markup:
    files: dict[str, list[Child]] = {}
    for file in parts.whole.files:
        path, called = path_of(file.path), f": {file.called}" if file.called else ""
        status: Child = "" if file.status == "read" else f" ({file.status})"
        files.setdefault(_ROLES.get(file.role, file.role), []).append(
            element("li", path, called, status)
        )
    pairs: list[tuple[str, Child]] = [
        (role, element("ul", listed, class_="files")) for role, listed in files.items()
    ]
    pairs += list(parts.given)
    count = len(parts.whole.files)
    shown = element("summary", f"What was checked: {count} file{'' if count == 1 else 's'}")
    return element("details", shown, terms(pairs, kind="checked"))


def answer(place: Place, part: ConfigPart, bands: Mapping[str, Mapping[str, Band]]) -> Markup:
    """Return the answer for each extruder of a config, in three lines."""
    several = len(part.extruders) > 1
    shown: list[Child] = []
    for one in part.extruders:
        if several:
            shown.append(heading(place, one.report.name))
        shown.append(_answer(part, one.report, bands[one.report.name]))
    if not part.extruders and not part.report.errors:
        words = element("dd", "not known: no extruder section was found")
        shown.append(element("dl", element("div", element("dt", "capacity"), words),
                             class_="answer"))  # fmt: skip
    shown += [element("p", f"Could not be read: {e}", class_="trouble") for e in part.report.errors]
    return element("div", shown, class_="answers", id=place.id("answer"))


def _answer(part: ConfigPart, extruder: ExtruderReport, bands: Mapping[str, Band]) -> Markup:
    return element(
        "dl", *_lines(part, extruder, bands), class_="answer", data_extruder=extruder.name
    )


def _lines(
    part: ConfigPart, extruder: ExtruderReport, bands: Mapping[str, Band]
) -> Iterator[Markup]:
    if used := uses_words(extruder.weighed):
        yield element("div", element("dt", "tests"), element("dd", used))
    for said in answer_words(extruder, bands, found=part.report.findings):
        band = bands.get(_FACT_OF.get(said.label, ""))
        words = element("dd", data(said.text, band), class_=said.style or None)
        yield element("div", element("dt", said.label), words, class_=f"is-{said.label}")
    lines = () if extruder.weighed is None else weighed_lines(extruder.weighed, full=True)
    for label, words_of, style in lines:
        shown = element("dd", words_of, class_=style or None)
        yield element("div", element("dt", label or "left out"), shown)


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
