"""The page for a session at the machine: for a telephone beside it, and for A5 paper.

It shows what `feedwright session --full` says, with room to write beside each step.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from advisor.answers import SessionReport, SessionStep
from advisor.base import NextStep
from advisor.report.answer_notes import next_command, rough_words, uses_words, weighed_lines
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    document,
    element,
    list_of,
    path_of,
    section,
    table,
    terms,
)
from advisor.report.html.marks import nozzle
from advisor.report.numbers import RANGE
from advisor.report.session_text import (
    Grid,
    accel_grid,
    answer_words,
    cap_list,
    session_lines,
    speed_grid,
    step_words,
)

__all__ = ["render_session"]

_PLACE = Place("", 2)
_OTHERS = ("steps", "caution")


def render_session(report: SessionReport, *, command: str, version: str) -> str:
    """Return the whole page, complete in itself.

    Parameters
    ----------
    report : SessionReport
        What it shows.
    command : str
        How it is made again.
    version : str
        Of the program.
    """
    parts = [*_tables(report), *_steps(report), _cautions(report)]
    body = element(
        "body",
        element("a", "Skip to the main part", href="#main", class_="skip"),
        _head(report),
        _contents(parts),
        element("main", _laid_out(parts), id="main", tabindex="-1"),
        _foot(command, version),
    )
    return document(_title(report), version, body, sheet="session.css")


def _title(report: SessionReport) -> str:
    place = f", {report.extruder}" if report.extruder not in (None, "extruder") else ""
    return f"Session: {report.config}{place}"


def _head(report: SessionReport) -> Markup:
    words, style = answer_words(report)
    told = [
        element("p", f"{one.label}: ", one.text, class_="trouble")
        for one in session_lines(report)
        if one.label == "first"
    ]
    unused = (f"{x.path} was not used." for x in report.files if x.status != "read")
    before, path, after = _title(report).partition(report.config)
    return element(
        "header",
        element("p", "feedwright", class_="maker"),
        element("h1", before, path_of(path), after),
        *(element("p", sentence, class_="trouble") for sentence in (*unused, *report.errors)),
        element("p", words, class_=f"verdict {style}".strip()),
        told,
        terms(_lines(report), kind="facts"),
        class_="head",
    )


def _lines(report: SessionReport) -> Iterator[tuple[str, Child]]:
    if used := uses_words(report.weighed):
        yield "tests", used
    retracts = 0
    for one in session_lines(report):
        if one.label == "first":
            continue
        retracts += one.label == "retract"
        label = f"retract {retracts}" if retracts > 1 and one.label == "retract" else one.label
        yield label, element("span", one.text, class_=one.style or None)
    lines = () if report.weighed is None else weighed_lines(report.weighed, full=True)
    for label, words, style in lines:
        yield label or "left out", element("span", words, class_=style or None)
    if report.assumed:
        yield "assumed", f"{', '.join(report.assumed)}."
    if rough := rough_words(report.draws):
        yield "rough", rough
    if report.next is not None:
        yield "next", [f"{report.next.words}: ", _command(report.next)]


def _contents(parts: Sequence[Part]) -> Markup:
    points = [element("li", element("a", part.title, href=f"#{part.id}")) for part in parts]
    return element("nav", element("ul", points), aria_label="On this page", class_="contents")


def _laid_out(parts: Sequence[Part]) -> Iterator[Markup]:
    """Yield the tables, which stand side by side on paper, then the others."""
    tables = [part.markup for part in parts if part.id not in _OTHERS]
    yield element("div", tables, class_="tables")
    yield from (part.markup for part in parts if part.id in _OTHERS)


def _tables(report: SessionReport) -> Iterator[Part]:
    named: list[tuple[str, str, Grid | None]] = []
    for number, (case, own) in enumerate(_by_case(report)):
        whose, name = (f", {case}", f"-{number}") if case else ("", "")
        named += [
            (f"speeds{name}", f"Speeds{whose}", speed_grid(own)),
            (f"accelerations{name}", f"Accelerations{whose}", accel_grid(own)),
        ]
    for name, title, grid in (*named, ("flows", "Flows", cap_list(report))):
        if grid is not None:
            yield section(_PLACE, name, title, _grid(grid, title))


def _by_case(report: SessionReport) -> Iterator[tuple[str | None, SessionReport]]:
    """Yield each class that decides with the rows that are its own, or the whole."""
    told = report.advance
    for case in dict.fromkeys(row.case for row in report.ceilings):
        ceilings = [replace(row, case=None) for row in report.ceilings if row.case == case]
        rows = [replace(row, case=None) for row in (told.rows if told else ()) if row.case == case]
        own = replace(told, rows=tuple(rows)) if told and rows else None
        yield case, replace(report, ceilings=tuple(ceilings), advance=own)


def _grid(grid: Grid, title: str) -> Markup:
    caption = f"{grid.caption}: {grid.about}"
    return table(caption, grid.heads, grid.rows, label=f", {title}", marked=grid.marked)


def _command(step: NextStep) -> Markup:
    """Return a command whose options are not torn apart where it wraps."""
    words = next_command(step).split(" ")
    spaced = [[" ", element("span", word, class_="whole")] for word in words]
    return element("code", spaced)


def _steps(report: SessionReport) -> Iterator[Part]:
    if not report.steps:
        return
    steps = [element("li", _step(step, report)) for step in report.steps]
    yield section(
        _PLACE,
        "steps",
        "Step by step",
        element("ol", steps, class_="steps", start="0"),
        element("p", RANGE, class_="quiet"),
    )


def _step(step: SessionStep, report: SessionReport) -> Iterator[Markup | None]:
    yield element("h3", f"{step.number} {step_words(step.name)}")
    yield element("p", step.do) if step.do else None
    if step.name == "weigh" and report.plan is not None:
        yield element("p", _command(report.plan))
    yield terms([("see", step.expect), ("stop", step.stop)])
    yield element("p", "seen", class_="seen")


def _cautions(report: SessionReport) -> Part:
    return section(_PLACE, "caution", "Caution", list_of(report.cautions))


def _foot(command: str, version: str) -> Markup:
    return element(
        "footer",
        nozzle(),
        element("p", f"Made by feedwright {version}. To make it again: ",
                element("code", command)),
        class_="foot",
    )  # fmt: skip
