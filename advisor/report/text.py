"""The report for people: the way of the filament, findings by stage, what to measure, the sum.

It arranges; numbers come from the records and wording of findings from the rulebook.
"""

from __future__ import annotations

from advisor.model import ExtruderReport, Fact, Level, Report
from advisor.report.findings_text import write_findings
from advisor.report.look import Look
from advisor.report.open_text import write_assumed, write_measure_next
from advisor.report.page import Page
from advisor.report.values import bands
from advisor.report.way import FACTS, write_answer, write_way
from advisor.report.weigh_note import write_weighed

__all__ = ["render"]


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
    several = len(report.extruders) > 1
    tables = [bands(_shown_facts(extruder)) for extruder in report.extruders]
    for extruder, table in zip(report.extruders, tables, strict=True):
        if several:
            page.heading(_name(extruder, report))
        write_answer(page, extruder, table)
        write_weighed(page, extruder.weighed)
        write_way(page, extruder, table)
    if not report.extruders and not unread:
        page.entry("capacity", "not known: no extruder section was found", label_style="strong")
    write_findings(page, report.findings, several=several)
    for extruder, table in zip(report.extruders, tables, strict=True):
        whose = f" for {_name(extruder, report)}" if several else ""
        write_measure_next(page, extruder, whose)
        write_assumed(page, extruder, table, whose)
    page.blank()
    page.entry("in all", _sum(report))
    return page.render()


def _shown_facts(extruder: ExtruderReport) -> list[Fact]:
    """Return the facts whose numbers the text shows; the others need no percentiles."""
    names = (*FACTS, *(entry.fact for entry in extruder.measure_next))
    return [extruder.facts[name] for name in dict.fromkeys(names) if name in extruder.facts]


def _name(extruder: ExtruderReport, report: Report) -> str:
    """Return the extruder's name, with its config where several configs were read."""
    configs = {entry.config for entry in report.extruders if entry.config}
    return f"{extruder.name} of {extruder.config}" if len(configs) > 1 else extruder.name


def _sum(report: Report) -> str:
    counts = [(report.count(level), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    read = sum(file.status == "read" for file in report.files)
    lost = len(report.files) - read
    files = f"{read} file{'s' if read != 1 else ''} read"
    files += f", {lost} not" if lost else ""
    allowed = f"; {len(report.allowed)} allowed by the owner" if report.allowed else ""
    return f"{', '.join(told) or 'nothing to report'}{allowed}; {files}"
