"""The answer of `flow` for people: yes or no first, then what to set, by how much, where."""

from __future__ import annotations

from advisor.answers import FeatureAsk, FlowReport
from advisor.base import Level
from advisor.report.answer_notes import (
    write_next,
    write_rough,
    write_unused,
    write_uses,
    write_weighed,
)
from advisor.report.findings_text import findings_lines, place, write_findings
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, quantity, ranged, share
from advisor.report.page import LABEL, Page
from advisor.report.way_words import gain_words
from advisor.report.words import (
    case_words,
    condition_words,
    decided_by,
    hangs_words,
    label_of,
    limit_words,
)

__all__ = ["render"]

FLOW = "mm3/s"
_CAPACITY = "flow.capacity"
_MOST_FEATURES, _FEW_FEATURES = 8, 4
_SCREEN, _BLANKS = 20, 1  # lines at the usual width; empty ones before the findings
_THIN = 0.1  # share of likely machines from which a fit is called thin


def render(report: FlowReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text, on one screen, or all of it."""
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    _write_answer(page, report)
    _write_set(page, report)
    _write_numbers(page, report, full=full)
    if full:
        _write_features(page, report)
        if report.assumed:
            page.heading("Assumed, because nothing states it")
            page.entry("", "; ".join(report.assumed) + ".")
        write_findings(page, report.findings, several=False)
    else:
        _write_too_fast(page, report)
    after = Page(page.look, written=True)
    if not full and report.assumed:
        after.entry("assumed", _assumed(report.assumed, page.look.width))
    write_next(after, report.next, apart=full)
    if report.capacity is not None:
        after.entry("", RANGE)
    if not full:
        _write_found(page, report, after)
    page.lines += after.lines
    return page.render()


def _write_found(page: Page, report: FlowReport, after: Page) -> None:
    """Write the findings that say more than the answer, in the lines that are left."""
    found = [one for one in report.findings if one.level is Level.NOTE or not _is_answer(one.facts)]
    screen = _SCREEN * max(1.0, Look().width / page.look.width)
    room = int(screen) - len(page.lines) - len(after.lines) - _BLANKS
    lines = findings_lines(page, found, room, several=False, least=0)
    if lines:
        page.blank()
        page.lines += lines


def _is_answer(facts: tuple[str, ...]) -> bool:
    """Whether a finding rests on the capacity: the answer has said it."""
    return _CAPACITY in facts


def _assumed(titles: tuple[str, ...], width: int) -> str:
    """Return what was assumed, as much as a line holds."""
    for count in range(len(titles), 0, -1):
        rest = len(titles) - count
        text = ", ".join(titles[:count]) + (f" and {rest} more (--full)" if rest else "")
        if LABEL + len(text) <= width:
            break
    return text


def _write_answer(page: Page, report: FlowReport) -> None:
    words, style = _answer(report)
    page.entry("answer", words, label_style="strong", style=style)
    for sentence in report.lacking:
        page.entry("", sentence)


def _answer(report: FlowReport) -> tuple[str, str]:
    if hangs := hangs_words(report.cases):
        return hangs, "warning"
    if report.exceeds is None:
        return _without_request(report), "strong"
    part = 0.0 if report.sure is None else report.sure
    if report.exceeds:
        words = f"yes, that is more than this extruder delivers ({share(part)} sure)"
        return words, "error"
    fits = "no, but the margin is thin" if part >= _THIN else "no, it fits"
    return f"{fits} ({share(1.0 - part)} sure)", "strong"


def _without_request(report: FlowReport) -> str:
    if report.asked is not None or report.lacking:
        return "not known"
    if report.cases:
        return f"no flow requested; the cap to set depends on {decided_by(report.cases)}"
    return "no flow requested; this is the cap to set" if report.set_to else "not known"


def _write_numbers(page: Page, report: FlowReport, *, full: bool) -> None:
    if report.asked is not None:
        where = f" ({place(report.asked_at)})" if report.asked_at is not None else ""
        by = f": {report.asked_by}" if report.asked_by else ""
        page.entry("requested", f"{ranged(report.asked, FLOW)}{by}{where}")
    if report.capacity is not None:
        first = f"; {limit_words(report.bottleneck)} limits first" if report.bottleneck else ""
        if report.bottleneck == "weighed":
            first = "; as the weighed test showed"
        made_for = condition_words(report.material, report.temperature, report.nozzle)
        page.entry("capacity", f"{ranged(report.capacity, FLOW)}{first}{made_for}")
        write_weighed(page, report.weighed, full=full)
        write_rough(page, report.draws)
    for case in report.cases:
        page.entry(label_of(case), case_words(case))
    if report.gains and report.exceeds is not False:
        page.entry("what helps", gain_words(report.gains, short=bool(report.cases)))


def _write_set(page: Page, report: FlowReport) -> None:
    if report.no_set_to is not None and not report.cases:
        page.entry("set", report.no_set_to, style="strong")
    if report.set_to is None or report.capacity is None:
        return
    setting = report.setting or "the largest flow in the slicer profile"
    if report.exceeds:
        page.entry("set", f"{setting} to {flow(report.set_to)} {FLOW}", style="strong")
    elif report.exceeds is None and report.asked is None and not report.cases:
        page.entry("cap", f"{flow(report.set_to)} {FLOW}", style="strong")
    elif report.exceeds is not None:
        page.entry("safe cap", f"{flow(report.set_to)} {FLOW}")


def _write_too_fast(page: Page, report: FlowReport) -> None:
    """Write the features that are too fast for the typical machine, and the speed that fits."""
    fast = [one for one in report.features if one.speed_that_fits is not None]
    if not fast:
        return
    page.heading("Too fast at their own speed, and the speed that fits")
    for feature in fast[:_FEW_FEATURES]:
        speeds = f"{figure(feature.speed)} -> {figure(feature.speed_that_fits or 0.0)} mm/s"
        page.indented(f"{feature.title}: {flow(feature.flow or 0.0)} {FLOW}, {speeds}", 1)
    rest = len(fast) - _FEW_FEATURES
    if rest > 0:
        page.indented(f"and {rest} more: --full", 1)


def _write_features(page: Page, report: FlowReport) -> None:
    if not report.features:
        return
    page.heading("What each feature requests at its own speed, most demanding first")
    for feature in report.features[:_MOST_FEATURES]:
        page.indented(_feature(feature), 1)
    rest = len(report.features) - _MOST_FEATURES
    if rest > 0:
        page.indented(f"and {rest} more that request less", 1)


def _feature(feature: FeatureAsk) -> str:
    asked = "flow not known" if feature.flow is None else f"{flow(feature.flow)} {FLOW}"
    line = "a line the slicer chooses"
    if feature.width is not None and feature.height is not None:
        line = f"{figure(feature.width)} x {figure(feature.height)} mm"
    text = f"{feature.title}: {asked} at {quantity(feature.speed, 'mm/s')}, {line}"
    if feature.sure:
        text += f"; too much, {share(feature.sure)} sure"
    if feature.speed_that_fits is not None:
        text += f"; {figure(feature.speed_that_fits)} mm/s would fit"
    return text
