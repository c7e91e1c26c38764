"""The page of two weighed tests side by side: what the terminal says, with the chart drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.report.html.document import document
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Place, list_of, section, table, terms
from advisor.report.html.pictures import drawn, figure_with_table, how_to_get
from advisor.report.numbers import figure, flow
from advisor.report.weigh_compare_text import (
    HEADS,
    LETTERS,
    answer_words,
    detail_lines,
    names_of,
    row_words,
)
from advisor.weigh import WeighCompareAnswer, WeighedTest

__all__ = ["render_weigh_compare"]

_PLACE = Place("", 2)
_TITLE = "Two weighed tests side by side"
_STEP_HEADS = ("flow, mm3/s", "mass, g", "delivered, %", "+- %", "skipped", "remark")
_BAND = "In brackets: the range that holds 9 times in 10."


def render_weigh_compare(report: WeighCompareAnswer, *, command: str, version: str) -> str:
    """Return the whole page, complete in itself.

    Parameters
    ----------
    report : WeighCompareAnswer
        What it shows.
    command : str
        How it is made again.
    version : str
        Of the program.
    """
    body = element(
        "body",
        element("a", "Skip to the main part", href="#main", class_="skip"),
        _head(report),
        element("main", *_sections(report), id="main", tabindex="-1"),
        element("footer", element("p", "Made by ", element("code", command), f", {version}.")),
    )
    return document(_TITLE, version, body)


def _head(report: WeighCompareAnswer) -> Markup:
    words, style = answer_words(report)
    named = zip(LETTERS, names_of(report), strict=True)
    pairs: list[tuple[str, Child]] = [(letter, name) for letter, name in named]
    pairs += list(detail_lines(report))
    return element(
        "header",
        element("p", "feedwright", class_="maker"),
        element("h1", _TITLE),
        element("p", words, class_=f"verdict {style}".strip()),
        terms(pairs, kind="facts"),
        list_of(report.cautions) if report.cautions else None,
        element("p", _BAND, class_="lead"),
        class_="head",
    )


def _sections(report: WeighCompareAnswer) -> Iterator[Child]:
    rows = [row_words(row) for row in report.rows]
    caption = "Delivered, % of the slow run, over flow in mm3/s"
    picture = drawn("draw_weigh_compare", report, _PLACE)
    listed = table("What comes out of both, mm3/s", HEADS, rows, label=", both tests", fits=True)
    shown = [figure_with_table(picture, caption, listed, label=", both tests"), how_to_get()]
    yield section(_PLACE, "both", "Both on one axis", *shown).markup
    for letter, test in zip(LETTERS, report.tests, strict=True):
        steps = table(f"The steps of {letter}", _STEP_HEADS, _rows(test),
                      label=f", {letter}", fits=True)  # fmt: skip
        yield section(_PLACE, f"steps-{letter.lower()}", f"{letter}: {test.name}", steps).markup


def _rows(test: WeighedTest) -> Iterator[Sequence[str]]:
    for step in test.steps:
        words = [word for word in (step.outlier, *step.notes) if word]
        yield (
            flow(step.flow), figure(step.mass), f"{100 * step.ratio:.1f}",
            f"{100 * step.expanded_uncertainty:.1f}", step.skipped,
            "; ".join(dict.fromkeys(words)),
        )  # fmt: skip
