"""The report for people: the way of the filament, findings by stage, what to measure, the sum.

It arranges; numbers come from the records and wording of findings from the rulebook.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from advisor.base import Band, ExtruderReport, Figure, Level, Report
from advisor.report.findings_text import write_findings
from advisor.report.later_text import later_lines
from advisor.report.look import Look
from advisor.report.next_words import write_next
from advisor.report.open_text import assumed_facts, open_inputs, write_assumed, write_measure_next
from advisor.report.page import Page
from advisor.report.rough import write_rough
from advisor.report.unused import write_unused
from advisor.report.values import bands
from advisor.report.way import FACTS, write_answer, write_way
from advisor.report.weigh_note import write_weighed

__all__ = ["render", "sum_words"]

_Table = Mapping[str, Band]
_Entry = tuple[ExtruderReport, _Table]


def render(report: Report, look: Look | None = None) -> str:
    """Return the whole report as text.

    Parameters
    ----------
    report : Report
        What was found.
    look : Look, optional
        Width, drawing and colour; by default those of a file.

    Returns
    -------
    str
        Lines, each with its line end; empty where nothing could be read.
    """
    page = Page(look or Look())
    unread = bool(report.files) and not any(file.status == "read" for file in report.files)
    if unread and not report.findings:
        return ""
    write_unused(page, report.files)
    several = len(report.extruders) > 1
    entries = [(one, bands(_shown_facts(one))) for one in report.extruders]
    for alike in _alike(entries, page.look, _write_flows):
        if several:
            page.heading(_names(alike, report))
        _write_flows(page, *alike[0])
    if report.extruders:
        write_rough(page, report.draws)
    if not report.extruders and not unread:
        page.entry("capacity", "not known: no extruder section was found", label_style="strong")
    write_findings(page, report.findings, several=several)
    told: set[str] = set()
    for alike in _alike(entries, page.look, _write_open):
        whose = f" for {_names(alike, report)}" if len(alike) < len(entries) else ""
        _write_open(page, *alike[0], whose=whose, told=told)
    write_next(page, next((one.next for one in report.extruders if one.next is not None), None))
    page.blank()
    for number, line in enumerate(later_lines(report.later)):
        page.entry("" if number else "set later", line)
    page.entry("in all", sum_words(report))
    return page.render()


def _write_flows(page: Page, extruder: ExtruderReport, table: _Table) -> None:
    write_answer(page, extruder, table)
    write_weighed(page, extruder.weighed)
    write_way(page, extruder, table)


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
    return f"{extruder.name} of {extruder.config}" if len(configs) > 1 else extruder.name


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
    return f"{', '.join(told) or 'nothing to report'}{allowed}; {files}{copies}{unread}"


def _copies(copies: Sequence[str]) -> str:
    return f"{len(copies)} dated copies" if len(copies) > 1 else f"the dated copy {copies[0]}"
