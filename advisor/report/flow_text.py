"""The answer of `flow` for people: yes or no first, then by how much, where, and what to set."""

from __future__ import annotations

from advisor.answers import FeatureAsk, FlowReport
from advisor.report.case_words import case_words, hangs_words, label_of
from advisor.report.findings_text import place, write_findings
from advisor.report.look import Look
from advisor.report.next_words import write_next
from advisor.report.numbers import band, figure, flow, quantity, share
from advisor.report.page import Page
from advisor.report.rough import write_rough
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_weighed

__all__ = ["render"]

FLOW = "mm3/s"
_MOST_FEATURES = 8
_THIN = 0.1  # share of likely machines from which a fit is called thin
_LIMIT_WORDS = {
    "torque": "the motor",
    "grip": "the grip",
    "buckling": "the free gap",
    "melt": "the melt zone",
    "heater": "the heater",
    "weighed": "the weighed limit",
}


def render(report: FlowReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    write_unused(page, report.files)
    _write_answer(page, report)
    _write_numbers(page, report)
    _write_set(page, report)
    _write_features(page, report)
    if report.assumed:
        page.heading("Assumed, because nothing states it")
        page.entry("", "; ".join(report.assumed) + ".")
    write_findings(page, report.findings, several=False)
    write_next(page, report.next)
    return page.render()


def _write_answer(page: Page, report: FlowReport) -> None:
    if hangs := hangs_words(report.cases):
        page.entry("answer", hangs, label_style="strong", style="warning")
    elif report.exceeds is None:
        page.entry("answer", "not known", label_style="strong", style="strong")
    elif report.exceeds:
        words = "yes, the slicer asks for more than this extruder delivers"
        page.entry("answer", words, label_style="strong", style="error")
    elif report.sure is not None and report.sure >= _THIN:
        words = "no, but the margin is thin"
        page.entry("answer", words, label_style="strong", style="strong")
    else:
        page.entry("answer", "no, it fits", label_style="strong", style="strong")
    for sentence in report.lacking:
        page.entry("", sentence)


def _write_numbers(page: Page, report: FlowReport) -> None:
    if report.asked is not None:
        where = f" ({place(report.asked_at)})" if report.asked_at is not None else ""
        page.entry("asked", f"{band(report.asked, FLOW)}: {report.asked_by}{where}")
    if report.capacity is not None:
        first = _LIMIT_WORDS.get(report.bottleneck or "")
        gives = f"; {first} gives out first" if first else ""
        page.entry("capacity", f"{band(report.capacity, FLOW)}{gives}")
        write_weighed(page, report.weighed)
        write_rough(page, report.draws)
    if report.sure is not None and report.exceeds is not None:
        page.entry("sure", f"it is too much in {share(report.sure)} of likely machines")


def _write_set(page: Page, report: FlowReport) -> None:
    if report.no_set_to is not None:
        page.entry("set", report.no_set_to, style="strong")
    for case in report.cases:
        page.entry(label_of(case), case_words(case))
    if report.set_to is None or report.capacity is None:
        return
    setting = report.setting or "the largest flow in the slicer profile"
    typical = f"the typical limit is {flow(report.capacity.value)}"
    if report.exceeds:
        page.entry("set", f"{setting} to {flow(report.set_to)} {FLOW}; {typical}", style="strong")
    elif report.exceeds is not None:
        page.entry("room", f"up to {flow(report.set_to)} {FLOW}; {typical}")


def _write_features(page: Page, report: FlowReport) -> None:
    if not report.features:
        return
    page.heading("What each feature asks at its own speed, most demanding first")
    for feature in report.features[:_MOST_FEATURES]:
        page.indented(_feature(feature), 1)
    rest = len(report.features) - _MOST_FEATURES
    if rest > 0:
        page.indented(f"and {rest} more that ask less", 1)


def _feature(feature: FeatureAsk) -> str:
    asked = "flow open" if feature.flow is None else f"{flow(feature.flow)} {FLOW}"
    line = "a line the slicer chooses"
    if feature.width is not None and feature.height is not None:
        line = f"{figure(feature.width)} x {figure(feature.height)} mm"
    text = f"{feature.title}: {asked} at {quantity(feature.speed, 'mm/s')}, {line}"
    if feature.sure:
        text += f"; too much in {share(feature.sure)}"
    if feature.speed_that_fits is not None:
        text += f"; {figure(feature.speed_that_fits)} mm/s would fit"
    return text
