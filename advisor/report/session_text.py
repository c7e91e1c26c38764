"""The answer of `session` for people: the cap first, then the tables, then step by step."""

from __future__ import annotations

from advisor.answers import SessionReport
from advisor.report.clean import cell_width
from advisor.report.look import Look
from advisor.report.next_words import write_command, write_next
from advisor.report.numbers import RANGE
from advisor.report.page import LABEL, Page
from advisor.report.rough import write_rough
from advisor.report.session_words import (
    Grid,
    accel_grid,
    answer_words,
    cap_grid,
    session_lines,
    speed_grid,
    step_words,
)
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_uses, write_weighed

__all__ = ["render"]

_LEAST_NAME, _LEAST_CELL = 6, 8


def render(
    report: SessionReport,
    look: Look | None = None,
    *,
    full: bool = False,
    written: str | None = None,
) -> str:
    """Return the answer as text, on one screen; `full` tells how each step is done.

    `written` is the file that the page went to.
    """
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    words, style = answer_words(report)
    page.entry("answer", words, label_style="strong", style=style)
    for sentence in report.lacking:
        page.entry("", sentence)
    for told in session_lines(report):
        page.entry(told.label, told.text, style=told.style)
    write_weighed(page, report.weighed, full=full)
    write_rough(page, report.draws)
    if report.assumed:
        words = ", ".join(report.assumed) if full else _assumed(report.assumed, page)
        page.entry("assumed", words)
    _write_grids(page, report, full=full)
    _write_steps(page, report, full=full)
    write_next(page, report.next, apart=False)
    if report.capacity is not None:
        page.entry("", RANGE)
    if written is not None:
        page.entry("page", written)
    return page.render()


def _assumed(titles: tuple[str, ...], page: Page) -> str:
    """Return what was assumed, as much as a line holds."""
    for count in range(len(titles), 0, -1):
        rest = len(titles) - count
        text = ", ".join(titles[:count]) + (f" and {rest} more (--full)" if rest else "")
        if LABEL + len(text) <= page.look.width:
            break
    return text


def _write_grids(page: Page, report: SessionReport, *, full: bool) -> None:
    _write_grid(page, speed_grid(report, full=full))
    outside = report.advance is not None and not report.advance.inside
    if full or outside:
        _write_grid(page, accel_grid(report))
    _write_grid(page, cap_grid(report))


def _write_grid(page: Page, grid: Grid | None) -> None:
    """Write a table, or where it is too wide for the page a line for each of its rows."""
    if grid is None:
        return
    page.heading(f"{grid.caption}: {grid.about}")
    columns = list(zip(grid.heads, *grid.rows, strict=True))
    name = max(_LEAST_NAME, *(cell_width(page.text(text)) for text in columns[0])) + 1
    widths = [
        max(_LEAST_CELL, *(cell_width(page.text(x)) for x in column)) + 2 for column in columns[1:]
    ]
    if name + sum(widths) > page.look.width:
        for first, *cells in grid.rows:
            pairs = zip(grid.heads[1:], cells, strict=True)
            told = "; ".join(f"{head}: {cell}" for head, cell in pairs if cell != "-")
            page.indented(f"{first}  {told}", 1)
        return
    for first, *cells in (grid.heads, *grid.rows):
        line = "".join(x.rjust(width) for x, width in zip(cells, widths, strict=True))
        page.row((first.ljust(name) + line, ""))


def _write_steps(page: Page, report: SessionReport, *, full: bool) -> None:
    if not report.steps:
        return
    page.heading(f"In this order: what to see, and when to stop{'' if full else ' (--full: how)'}")
    for step in report.steps:
        label = f"{step.number} {step_words(step.name)}"
        if full:
            page.entry(label, step.do)
            page.entry("  see", step.expect)
            page.entry("  stop", step.stop)
            if step.name == "weigh" and report.plan is not None:
                write_command(page, report.plan)
        else:
            parts = (step.expect, f"stop: {step.stop}" if step.stop else "")
            page.entry(label, "; ".join(part for part in parts if part))
    if full:
        page.heading("Caution")
        for sentence in report.cautions:
            page.indented(sentence, 1)
    elif report.cautions:
        page.entry("caution", report.cautions[0])
