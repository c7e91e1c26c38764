"""Weighed tests on the page: where under-extrusion starts, the steps, and what it makes of it.

Two of them side by side have a page of their own: what the terminal says, with the chart drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.base import ExtruderReport, Weighed
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    data,
    document,
    element,
    heading,
    list_of,
    section,
    table,
    terms,
)
from advisor.report.html.pictures import drawn, figure_with_table, how_to_get
from advisor.report.numbers import figure, flow, ranged, share
from advisor.report.weigh_compare_text import (
    HEADS,
    LETTERS,
    answer_words,
    detail_lines,
    names_of,
    row_words,
)
from advisor.report.weigh_hand import hand_words
from advisor.report.weigh_text import clean_words, limit_words, loss_words, skip_words, slow_words
from advisor.weigh import Evaluation, Step, WeighCompareAnswer, WeighedTest, trade

__all__ = ["render_weigh_compare", "weighed_section"]

FLOW = "mm3/s"
_MM3, _G = 1e9, 1e3
_HEADS = ("flow, mm3/s", "mass, g", "delivered, %", "+- %", "skipped", "remark")
_PLACE = Place("", 2)
_TITLE = "Two weighed tests side by side"
_STEP_HEADS = ("flow, mm3/s", "mass, g", "delivered, %", "+- %", "skipped", "remark")
_BAND = "In brackets: the range that holds 9 times in 10."


def weighed_section(place: Place, tests: Sequence[Evaluation], extruder: ExtruderReport) -> Part:
    """Return the section on the weighed tests of an extruder."""
    shown: list[Child] = []
    for number, test in enumerate(tests):
        if len(tests) > 1:
            shown.append(heading(place, f"{test.name}, {test.file}", deeper=1))
        shown += _test(
            Place(place.id(f"test{number}-"), place.level, place.whose, place.config), test
        )
    if extruder.weighed is not None:
        shown.append(heading(place, "The capacity with it", deeper=1))
        shown.append(terms(_calibration(extruder.weighed)))
    return section(place, "weighed", "Weighed test", *shown)


def _test(place: Place, test: Evaluation) -> list[Child]:
    knee = trade(test.knee, FLOW)
    pairs: list[tuple[str, Child]] = [
        ("limit", data(limit_words(test), knee)),
        ("whole", clean_words(test)),
        ("skips", skip_words(test)),
        ("cause", loss_words(test)),
        ("slow run", slow_words(test)),
        *hand_words(test),
    ]
    conditions = ", ".join(test.conditions.values())
    picture = drawn("draw_weighed", test, place)
    label = f"{place.label}: {test.name}"
    steps = table("The steps of the test", _HEADS, map(_step, test.steps), label=label,
                  fits=True)  # fmt: skip
    caption = f"Delivered, % of the slow run, over flow in mm3/s. {conditions}"
    notes = list_of((*test.outliers, *test.remarks))
    return [terms(pairs), figure_with_table(picture, caption, steps, label=label), notes]


def _step(step: Step) -> Sequence[Child]:
    words = [word for word in (step.outlier, *step.notes) if word]
    if step.reference:
        words.insert(0, "slow reference")
    return (
        flow(step.flow * _MM3), figure(step.mass * _G), f"{100 * step.ratio:.1f}",
        f"{100 * step.expanded:.1f}", step.skipped, "; ".join(dict.fromkeys(words)),
    )  # fmt: skip


def _calibration(weighed: Weighed) -> Iterator[tuple[str, Child]]:
    if weighed.before is not None:
        yield "before", data(ranged(weighed.before, FLOW), weighed.before)
    if weighed.contradiction is not None:
        words = f"the test cannot be explained by the machine as stated: {weighed.contradiction}"
        yield "unchanged", words
        yield "causes", element("ol", *(element("li", cause) for cause in weighed.causes))
        return
    if weighed.after is not None:
        yield "now", data(ranged(weighed.after, FLOW), weighed.after)
    if weighed.narrower is not None and weighed.narrower > 0.0:
        yield "narrower", f"by {share(weighed.narrower)}"


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
