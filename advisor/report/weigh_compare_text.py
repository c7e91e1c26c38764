"""Two weighed tests side by side for people: the answer, one chart on one axis, one table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.base import Band
from advisor.report.look import Look
from advisor.report.numbers import figure, flow, ranged, share
from advisor.report.page import LABEL, Page
from advisor.weigh import Evenness, FlowRow, WeighCompareAnswer, WeighedStep, WeighedTest, day_words

__all__ = ["answer_words", "detail_lines", "names_of", "render", "row_words"]

FLOW = "mm3/s"
LETTERS = ("A", "B")
HEADS = ("flow", "A delivers", "B delivers", "B more", "sure")
_COLUMNS = (10, 13, 13, 24, 0)
_RIGHT = 3  # columns right of the chart
_LEVELS = 11  # lines of the chart
_LOWEST = 60.0  # per cent of the slow run; what is below stands on this line
_FEWEST_CELLS = 30
_CLEAR = 0.95


def render(report: WeighCompareAnswer, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; the flows of each test with `full`."""
    page = Page(look or Look(), written=True)
    if not report.tests:
        return ""
    words, style = answer_words(report)
    page.entry("answer", words, label_style="strong", style=style)
    for letter, words in zip(LETTERS, names_of(report), strict=True):
        page.entry(letter, words)
    for label, words in detail_lines(report):
        page.entry(label, words)
    for number, caution in enumerate(report.cautions):
        page.entry("" if number else "caution", caution, label_style="warning")
    _write_chart(page, report)
    _write_table(page, report, full=full)
    page.entry("", "In brackets: the range that holds 9 times in 10.")
    return page.render()


def names_of(report: WeighCompareAnswer) -> Iterator[str]:
    """Yield what each test is called, its day and where it under-extrudes."""
    days = [test.date for test in report.tests]
    for test in report.tests:
        called = test.name if test.name == test.file else f"{test.name} ({test.file})"
        day = "" if test.date is None else f", {day_words(test.date, days)}"
        conditions = "".join(f", {words}" for words in test.conditions.values())
        yield f"{called}{day}{conditions}: {_limit(test)}"


def _limit(test: WeighedTest) -> str:
    if test.knee is None:
        fastest = max(step.flow for step in test.steps)
        return f"no under-extrusion up to {flow(fastest)} {FLOW}"
    return f"under-extrusion starts at {ranged(test.knee, FLOW)}"


def answer_words(report: WeighCompareAnswer) -> tuple[str, str]:
    """Return what the second delivers more or less, how sure that is, and the sentence's style."""
    told = report.more
    if told is None:
        return "neither under-extrudes in its test: weigh faster flows to tell them apart", ""
    more = told.more
    if told.at_least or told.at_most:
        return _one_sided(more, told.sure, at_least=told.at_least), "strong"
    sure = max(told.sure, 1.0 - told.sure)
    later = report.change and _in_order(report)
    what = "B, the same drive later, delivers" if later else "B delivers"
    if sure < _CLEAR and more.low < 0.0 < more.high:
        way = "more" if more.value >= 0 else "less"
        words = f"no clear difference: {what} {_signed(more)} {FLOW} before it under-extrudes"
        return f"{words}, {share(sure)} sure that it is {way}", "strong"
    less = Band(-more.value, -more.high, -more.low)
    much = f"{ranged(more, FLOW, 2)} more" if more.value >= 0 else f"{ranged(less, FLOW, 2)} less"
    return f"{what} {much} before it under-extrudes, {share(sure)} sure", "strong"


def _in_order(report: WeighCompareAnswer) -> bool:
    first, second = (test.date or "" for test in report.tests)
    return first < second


def _one_sided(more: Band, sure: float, *, at_least: bool) -> str:
    if at_least and more.value > 0.0:
        return (
            f"B delivers at least {figure(more.value, 2)} {FLOW} more: it does not under-extrude "
            f"in its test, {share(sure)} sure"
        )
    if not at_least and more.value < 0.0:
        return (
            f"B delivers at least {figure(-more.value, 2)} {FLOW} less: A does not under-extrude "
            f"in its test, {share(1.0 - sure)} sure"
        )
    whole, other = ("B", "A") if at_least else ("A", "B")
    return (
        f"not to be told: {whole} does not under-extrude in its test, which ends below the limit "
        f"of {other}; weigh {whole} faster"
    )


def _signed(band: Band) -> str:
    value, low, high = (f"{end:+.1f}" for end in (band.value, band.low, band.high))
    return f"{value} ({low} to {high})"


def detail_lines(report: WeighCompareAnswer) -> Iterator[tuple[str, str]]:
    """Yield label and words of what stands below the answer."""
    if report.expected_more is not None and report.more is not None:
        yield "model", f"without the tests: {report.expected_more:+.1f} {FLOW}, typically"
    if report.slow_ratio is not None:
        ratio = report.slow_ratio
        ends = f"{100 * (ratio.low - 1):+.1f} to {100 * (ratio.high - 1):+.1f} %"
        yield "slow run", f"B weighs {100 * (ratio.value - 1):+.1f} % against A ({ends})"
    told = [_even(each) for each in report.evenness]
    if any(told):
        yield "evenness", _of_each(told, "too few whole pieces")
    marks = [_marks(test) for test in report.tests]
    if any(marks):
        yield "tooth marks", _of_each(marks, "not noted")
    spool = "one spool: its diameter and density cancel" if report.shared_filament else (
        "two spools: diameter and density of each count")  # fmt: skip
    yield "shared", f"the scale's error cancels; {spool}"


def _of_each(told: Sequence[str | None], otherwise: str) -> str:
    """Return what is told of each test, behind its letter."""
    pairs = zip(LETTERS, told, strict=True)
    return "; ".join(f"{letter} {words or otherwise}" for letter, words in pairs)


def _even(each: Evenness | None) -> str:
    if each is None:
        return ""
    scatter = f"scatters {100 * each.scatter:.1f} %"
    if each.beyond is None:
        return f"{scatter}, as weighing explains ({100 * each.explained:.1f} %)"
    return f"{scatter}, {100 * each.beyond:.1f} % beyond what weighing explains: it pulses"


def _marks(test: WeighedTest) -> str:
    depth = None if test.by_hand is None else test.by_hand.mark_depth
    words = [] if depth is None else [f"{ranged(depth, 'mm', 2)} deep"]
    pitch = [step.mark_pitch for step in test.steps if step.mark_pitch is not None]
    words += [f"{sum(pitch) / len(pitch):.2f} mm apart"] if pitch else []
    return ", ".join(words)


def _write_chart(page: Page, report: WeighCompareAnswer) -> None:
    """Draw both tests over one axis of flow; where both stand in one cell, a star."""
    cells = page.look.width - LABEL - _RIGHT
    if not page.look.bars or cells < _FEWEST_CELLS:
        return
    page.heading("Delivered, % of the slow run, over the flow in mm3/s")
    steps = [(letter, step) for letter, test in zip(LETTERS, report.tests, strict=True)
             for step in test.steps if step.outlier is None]  # fmt: skip
    top = max(step.flow for _, step in steps) * 1.02
    high = max(102.0, *(100.0 * step.ratio for _, step in steps))
    low = max(_LOWEST, min(98.0, *(100.0 * step.ratio for _, step in steps)))
    grid = [[" "] * cells for _ in range(_LEVELS)]
    for letter, step in steps:
        line, column = _place(step, low, high, top, cells)
        there = grid[line][column]
        grid[line][column] = letter if there in (" ", letter) else "*"
    for number, drawn in enumerate(grid):
        level = high - (high - low) * number / (_LEVELS - 1)
        page.row((f"{level:6.0f} %".ljust(LABEL - 1) + "|" + "".join(drawn).rstrip(), ""))
    for letter, test in zip(LETTERS, report.tests, strict=True):
        if test.knee is not None:
            page.row(("limit".rjust(8).ljust(LABEL) + _knee(letter, test.knee, top, cells), "neck"))
    ends = f"{flow(top / 2)}".center(cells - 12)
    page.row((" " * LABEL + "0" + ends + flow(top).rjust(11), ""))


def _place(step: WeighedStep, low: float, high: float, top: float, cells: int) -> tuple[int, int]:
    level = min(high, max(low, 100.0 * step.ratio))
    line = round((high - level) / (high - low) * (_LEVELS - 1))
    return line, min(cells - 1, int(step.flow / top * cells))


def _knee(letter: str, knee: Band, top: float, cells: int) -> str:
    first, middle, last = (
        min(cells - 1, max(0, int(end / top * cells))) for end in (knee.low, knee.value, knee.high)
    )
    line = [" "] * (last + 1)
    line[first:] = ["-"] * (last + 1 - first)
    line[middle] = letter
    return "".join(line)


def _write_table(page: Page, report: WeighCompareAnswer, *, full: bool) -> None:
    """Write what comes out of both at flows that both were weighed at."""
    if not report.rows:
        return
    page.heading(f"What comes out, {FLOW}")
    cells = [HEADS, *(row_words(row) for row in report.rows)]
    for row in cells:
        columns = [cell.ljust(wide) for cell, wide in zip(row, _COLUMNS, strict=True)]
        page.row(("  " + "".join(columns).rstrip(), ""))
    if full:
        for letter, test in zip(LETTERS, report.tests, strict=True):
            listed = (f"{flow(step.flow)}: {100 * step.ratio:.1f} %" for step in test.steps)
            page.entry(letter, ", ".join(listed))


def row_words(row: FlowRow) -> tuple[str, ...]:
    """Return a row of the table in words."""
    sure = max(row.sure, 1.0 - row.sure)
    value, low, high = (f"{end:+.2f}" for end in (row.more.value, row.more.low, row.more.high))
    return (
        flow(row.flow), flow(row.first), flow(row.second), f"{value} ({low} to {high})",
        share(sure),
    )  # fmt: skip
