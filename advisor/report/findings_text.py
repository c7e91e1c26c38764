"""Writes findings for people, stage by stage: what, where, what to change, what to mind."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from advisor.base import Finding, Fix, Span
from advisor.report.numbers import share
from advisor.report.order import by_stage
from advisor.report.page import Page

__all__ = ["STAGE_HEADINGS", "change_words", "place", "write_findings"]

_CERTAIN = 0.995
STAGE_HEADINGS = {
    "text": "The config as it is written",
    "gears": "Gears",
    "motor": "Motor",
    "grip": "Grip",
    "gap": "Free gap",
    "melt": "Melt zone",
    "heater": "Heater",
    "firmware": "Firmware limits",
    "slicer": "Slicer",
}


def place(at: Span) -> str:
    """Return ``file:line``, as editors and terminals understand it."""
    return f"{at.file}:{at.line}"


def write_findings(page: Page, findings: Iterable[Finding], *, several: bool) -> None:
    """Write all findings, grouped by stage.

    Parameters
    ----------
    page : Page
        Where to.
    findings : iterable of Finding
        What to say.
    several : bool
        Whether there are several extruders, so that each must be named.
    """
    for stage, group in groupby(by_stage(findings), key=lambda finding: finding.stage):
        page.heading(STAGE_HEADINGS.get(stage, stage.capitalize()))
        told: set[tuple[str, str, str]] = set()
        for number, finding in enumerate(group):
            if number:
                page.blank()
            _write(page, finding, told, several=several)


def _write(page: Page, finding: Finding, told: set[tuple[str, str, str]], *, several: bool) -> None:
    """Write one finding; what the same rule advised under this heading is not said again."""
    level = finding.level.value
    page.entry(level, finding.message, label_style=level)
    if where := _where(finding, several=several):
        page.entry("  where", where)
    if finding.fix is not None:
        page.entry("  change", change_words(finding.fix))
    counsel = (finding.rule, finding.advice or "", finding.caution or "")
    if counsel in told:
        page.entry("  see above", finding.rule)
        return
    told.add(counsel)
    if finding.advice:
        page.entry("  do" if finding.fix is None else "  or", finding.advice)
    if finding.caution:
        page.entry("  mind", finding.caution)
    page.entry("  why", f"feedwright explain {finding.rule}")


def _where(finding: Finding, *, several: bool) -> str:
    parts = [place(finding.at)] if finding.at else []
    if several and finding.extruder:
        parts.append(finding.extruder)
    if finding.sure < _CERTAIN:
        parts.append(f"true for {share(finding.sure)} of the likely machines")
    return ", ".join(parts)


def change_words(fix: Fix) -> str:
    """Return a change as ``setting: old -> new at file:line``."""
    at = f" at {place(fix.at)}" if fix.at else ""
    if fix.old is None:
        section = f" in [{fix.section}]" if fix.section else ""
        return f"{fix.setting}: {fix.new} (new line{section}{at})"
    return f"{fix.setting}: {fix.old} -> {fix.new}{at}"
