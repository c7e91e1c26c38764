"""Writes findings for people in full: what it is, where, what to change, what can hurt."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.base import Finding, Fix, Span
from advisor.report.numbers import share
from advisor.report.order import by_cost
from advisor.report.page import Page
from advisor.report.words import advice_words

__all__ = ["ASKED", "STAGE_HEADINGS", "change_words", "place", "where_words", "write_findings"]

ASKED = "demand.asked_flow"
_CERTAIN = 0.995
STAGE_HEADINGS = {
    "text": "The config as it is written",
    "gears": "Gears",
    "motor": "Motor",
    "grip": "Grip",
    "gap": "Unsupported gap",
    "melt": "Melt zone",
    "heater": "Heater",
    "firmware": "Firmware limits",
    "slicer": "Slicer",
}


def place(at: Span) -> str:
    """Return ``file:line``, as editors and terminals understand it."""
    return f"{at.file}:{at.line}"


def write_findings(
    page: Page, findings: Iterable[Finding], *, several: bool, first: str | None = None
) -> None:
    """Write all findings with all that is said of them, errors first.

    Parameters
    ----------
    page : Page
        Where to.
    findings : iterable of Finding
        What to say.
    several : bool
        Whether there are several extruders, so that each must be named.
    first : str, optional
        The stage whose findings come first in each level.
    """
    told: set[tuple[str, str, str]] = set()
    for number, finding in enumerate(by_cost(findings, first)):
        if number:
            page.blank()
        else:
            page.heading("Findings")
        _write(page, finding, told, several=several)


def _write(page: Page, finding: Finding, told: set[tuple[str, str, str]], *, several: bool) -> None:
    """Write one finding; what the same rule advised above is not said again."""
    level = finding.level.value
    page.entry(level, finding.message, label_style=level)
    if finding.fix is not None:
        page.entry("  fix", change_words(finding.fix))
    where = where_words(finding, several=several, fixed=finding.fix is not None)
    if where:
        page.entry("  where", where)
    counsel = (finding.rule, finding.advice or "", finding.caution or "")
    if counsel in told:
        page.entry("  see above", finding.rule)
        return
    told.add(counsel)
    if finding.advice:
        page.entry("  fix" if finding.fix is None else "  or", advice_words(finding.advice))
    if finding.caution:
        page.entry("  caution", finding.caution)
    page.entry("  why", f"feedwright explain {finding.rule}")


def where_words(finding: Finding, *, several: bool, fixed: bool = False) -> str:
    """Return the place, the extruder where there are several, and how sure it is.

    `fixed`: a change stands beside it that names its place; that is not said twice.
    """
    at = finding.at
    if fixed and finding.fix is not None and at is not None and finding.fix.at is not None:
        same = place(finding.fix.at) == place(at)
        at = None if same else at
    parts = [place(at)] if at else []
    if finding.at is None and ASKED in finding.facts:
        parts.append("the command line")
    if several and finding.extruder:
        parts.append(finding.extruder)
    if finding.sure < _CERTAIN:
        parts.append(f"{share(finding.sure)} sure")
    return ", ".join(parts)


def change_words(fix: Fix) -> str:
    """Return a change as ``setting: old -> new at file:line``."""
    at = f" at {place(fix.at)}" if fix.at else ""
    if fix.old is None:
        section = f" in [{fix.section}]" if fix.section else ""
        return f"{fix.setting}: {fix.new} (new line{section}{at})"
    return f"{fix.setting}: {fix.old} -> {fix.new}{at}"
