"""The report for people: whether it fits, the filament path, findings, what to measure, the sum.

It arranges; numbers come from the records and wording of findings from the rulebook.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from advisor.base import Band, ExtruderReport, Figure, Level, Report, State
from advisor.report.findings_short import findings_lines
from advisor.report.findings_text import write_findings
from advisor.report.later_text import later_brief, later_lines
from advisor.report.look import Look
from advisor.report.next_words import write_next
from advisor.report.numbers import RANGE
from advisor.report.open_text import (
    assumed_facts,
    open_inputs,
    write_assumed,
    write_assumed_line,
    write_measure_line,
    write_measure_next,
)
from advisor.report.page import Page
from advisor.report.rough import write_rough
from advisor.report.unused import write_unused
from advisor.report.values import bands
from advisor.report.way import FACTS, write_answer, write_way
from advisor.report.weigh_note import write_uses, write_weighed
from advisor.report.words import STAGE_LIMITS

__all__ = ["render", "sum_words"]

_Table = Mapping[str, Band]
_Entry = tuple[ExtruderReport, _Table]
_SCREEN = 40  # lines, at the usual width
_BLANKS = 2  # empty lines around the findings


def render(report: Report, look: Look | None = None, *, full: bool = False) -> str:
    """Return the report as text, on one screen, or all of it.

    Parameters
    ----------
    report : Report
        What was found.
    look : Look, optional
        Width, drawing and colour; by default those of a file.
    full : bool
        Whether to tell all of it.

    Returns
    -------
    str
        Lines, each with its line end; empty where nothing could be read.
    """
    page = Page(look or Look(), written=True)
    unread = bool(report.files) and not any(file.status == "read" for file in report.files)
    if unread and not report.findings:
        return ""
    write_unused(page, report.files)
    _write_answers(page, report, full=full, unread=unread)
    after = Page(page.look, written=True)
    (_write_end if full else _write_short_end)(after, report)
    if full:
        write_findings(page, report.findings, several=_several(report), first=_first(report))
    else:
        _write_found(page, report, after)
    page.blank()
    page.lines += after.lines
    return page.render()


def _several(report: Report) -> bool:
    return len(report.extruders) > 1


def _first(report: Report) -> str | None:
    """Return the stage of the bottleneck of the machine."""
    limits = [one.bottleneck for one in report.extruders]
    return next((entry.stage for entry in STAGE_LIMITS if entry.limit in limits[:1]), None)


def _entries(report: Report) -> list[_Entry]:
    return [(one, bands(_shown_facts(one))) for one in report.extruders]


def _write_answers(page: Page, report: Report, *, full: bool, unread: bool) -> None:
    """Write whether it fits, for each extruder that differs; the path where there is room."""

    def write(part: Page, extruder: ExtruderReport, table: _Table) -> None:
        write_uses(part, extruder.weighed)
        write_answer(part, extruder, table, full=full, found=report.findings)
        write_weighed(part, extruder.weighed, full=full)
        if full or alone:
            write_way(part, extruder, table, full=full)

    alone = True
    groups = list(_alike(_entries(report), page.look, write))
    alone = len(groups) == 1
    for alike in groups:
        if _several(report):
            page.heading(_names(alike, report))
        write(page, *alike[0])
    if report.extruders:
        write_rough(page, report.draws)
    elif not unread:
        page.entry("capacity", "not known: no extruder section was found", label_style="strong")


def _write_found(page: Page, report: Report, after: Page) -> None:
    """Write the findings in the lines that are left of the screen."""
    screen = _SCREEN * max(1.0, Look().width / page.look.width)
    room = int(screen) - len(page.lines) - len(after.lines) - _BLANKS
    lines = findings_lines(
        page, report.findings, room, several=_several(report), first=_first(report)
    )
    if lines:
        page.blank()
        page.lines += lines


def _write_short_end(page: Page, report: Report) -> None:
    """Write what to measure, what was assumed, what to type next, and the summary: a line each."""
    for extruder, table in _entries(report)[:1]:
        if not extruder.cases:  # else what to type next says which class to state
            write_measure_line(page, extruder)
        write_assumed_line(page, extruder, table)
    _write_summary(page, report, full=False)


def _write_end(page: Page, report: Report) -> None:
    """Write how to measure, what was assumed, what to type next, and the summary."""
    entries = _entries(report)
    told: set[str] = set()
    for alike in _alike(entries, page.look, _write_open):
        whose = f" for {_names(alike, report)}" if len(alike) < len(entries) else ""
        _write_open(page, *alike[0], whose=whose, told=told)
    _write_summary(page, report, full=True)


def _write_summary(page: Page, report: Report, *, full: bool) -> None:
    fine = not full and not report.findings and not any(one.kept for one in report.later)
    later = later_lines(report.later) if full else later_brief(() if fine else report.later)
    for number, line in enumerate(later):
        page.entry("" if number else "set later", line)
    step = next((one.next for one in report.extruders if one.next is not None), None)
    write_next(page, step, apart=full)
    if any(band is not None for band in map(_capacity, report.extruders)):
        page.entry("", RANGE)
    count = len(report.later) if fine else 0
    more = f"; {count} value{'s are' if count > 1 else ' is'} set later (--full)" if count else ""
    page.entry("summary", sum_words(report) + more)


def _capacity(extruder: ExtruderReport) -> Band | None:
    fact = extruder.facts.get("flow.capacity")
    return None if fact is None else fact.band


def _write_open(
    page: Page,
    extruder: ExtruderReport,
    table: _Table,
    *,
    whose: str = "",
    told: set[str] | None = None,
) -> None:
    write_measure_next(page, extruder, whose, told)
    write_assumed(page, extruder, table, whose)


def _alike(
    entries: Sequence[_Entry], look: Look, write: Callable[[Page, ExtruderReport, _Table], None]
) -> Iterable[list[_Entry]]:
    """Return the extruders in groups of which `write` would say the same, word for word."""
    groups: dict[str, list[_Entry]] = {}
    for entry in entries:
        part = Page(replace(look, colours=None))
        write(part, *entry)
        groups.setdefault(part.render(), []).append(entry)
    return groups.values()


def _shown_facts(extruder: ExtruderReport) -> list[Figure]:
    """Return the facts whose numbers the text shows; the others need no percentiles."""
    names = (*FACTS, *open_inputs(extruder), *assumed_facts(extruder))
    return [extruder.facts[name] for name in dict.fromkeys(names) if name in extruder.facts]


def _names(alike: Sequence[_Entry], report: Report) -> str:
    return ", ".join(_name(extruder, report) for extruder, _ in alike)


def _name(extruder: ExtruderReport, report: Report) -> str:
    """Return the extruder's name, with its config where several configs were read."""
    configs = {entry.config for entry in report.extruders if entry.config}
    if len(configs) < 2:
        return extruder.name
    called = f"{extruder.called}, " if extruder.called else ""
    return f"{extruder.name} of {called}{extruder.config}"


def sum_words(report: Report) -> str:
    """Return how many findings of each level there are, and how many files were read."""
    counts = [(report.count(level), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    read = sum(file.status == "read" for file in report.files)
    lost = len(report.files) - read
    files = f"{read} file{'s' if read != 1 else ''} read"
    files += f", {lost} not" if lost else ""
    allowed = f"; {len(report.allowed)} allowed by the owner" if report.allowed else ""
    moves = f"{report.unread_moves} move{'s' if report.unread_moves > 1 else ''}"
    unread = (
        f"; {moves} of filament in macros known only when they run" if report.unread_moves else ""
    )
    copies = f"; {_copies(report.copies)} left out" if report.copies else ""
    current = "; no driver section read: current not judged" if _undriven(report) else ""
    unused = sum(file.role == "sheet" and file.status != "read" for file in report.files)
    if unused:
        told.insert(0, f"{unused} sheet{'s' if unused > 1 else ''} to correct")
    return f"{', '.join(told) or 'nothing to report'}{allowed}; {files}{copies}{unread}{current}"


def _undriven(report: Report) -> bool:
    chips = [extruder.facts.get("driver.chip") for extruder in report.extruders]
    return any(chip is not None and chip.state is State.MISSING for chip in chips)


def _copies(copies: Sequence[str]) -> str:
    return f"{len(copies)} dated copies" if len(copies) > 1 else f"the dated copy {copies[0]}"
