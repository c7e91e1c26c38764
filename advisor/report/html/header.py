"""The head of the page: what was checked, and the answer in the words of the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.base import Band, ExtruderReport
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Place, data, heading, path_of, terms
from advisor.report.html.marks import spool
from advisor.report.html.parts import ConfigPart, PageParts
from advisor.report.later_text import later_lines
from advisor.report.rough import rough_words
from advisor.report.text import sum_words
from advisor.report.way_words import answer_words
from advisor.report.weigh_note import uses_words, weighed_lines

__all__ = ["answer", "page_head"]

_FACT_OF = {"capacity": "flow.capacity", "answer": "demand.asked_flow"}
_ROLES = {
    "config": "config", "sheet": "hardware sheet", "profile": "slicer profile",
    "print": "sliced print", "weighed": "weighed test",
}  # fmt: skip


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
