"""Writes findings for people: in full, or in the lines that a screen leaves for them.

In full it says what it is, where, what to change, what can hurt. In the lines of a screen the
costliest are told in full sentences. Each has what it is, what to change and where; the others a
line with name and place, and what does not fit is counted. A caution is said once, whichever
findings need it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from advisor.base import Finding, Fix, Level, Span
from advisor.report.numbers import share
from advisor.report.page import Page, Piece
from advisor.report.words import advice_words, by_cost

__all__ = [
    "ASKED",
    "STAGE_HEADINGS",
    "change_words",
    "findings_lines",
    "place",
    "sentences_of",
    "where_words",
    "write_findings",
]

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
_Lines = list[list[Piece]]
_SENTENCE = re.compile(r"(?<=[.!]) +(?=[A-Z])")
_PLACES = 2  # so many further places of a rule are named, the others counted
_WHY = "Why: feedwright explain NAME, with a name in brackets."


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


def findings_lines(
    page: Page,
    findings: Sequence[Finding],
    room: int,
    *,
    several: bool,
    first: str | None = None,
    least: int = 1,
) -> _Lines:
    """Return the lines of the findings, about `room` of them.

    Parameters
    ----------
    page : Page
        How it looks; it is not written to.
    findings : sequence of Finding
        What to say.
    room : int
        Lines that may be taken.
    several : bool
        Whether there are several extruders, so that each must be named.
    first : str, optional
        The stage whose findings come first in each level.
    least : int
        So many are told in full sentences even where there is no room.
    """
    rules = _by_rule(by_cost(findings, first))
    if not rules:
        return []
    blocks = [_block(page, found, several=several) for found in rules[: max(least, room // 2)]]
    for count in range(len(blocks), -1, -1):
        lines = [line for block in blocks[:count] for line in block]
        lines += _after(page, rules[:count]) if count else []
        left = rules[count:]
        if len(lines) + len(left) <= room or count <= least:
            break
    return lines + _named(page, left, room - len(lines))


def _by_rule(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Return the findings of each rule and level together, where the first of them stands."""
    rules: dict[tuple[str, Level], list[Finding]] = {}
    for finding in findings:
        rules.setdefault((finding.rule, finding.level), []).append(finding)
    return list(rules.values())


def _block(page: Page, found: Sequence[Finding], *, several: bool) -> _Lines:
    """Return the lines of one rule: message, what to change, where, and where else."""
    part = Page(page.look, written=page.written)
    finding, level = found[0], found[0].level.value
    part.entry(level, finding.message, label_style=level)
    remedy = advice_words(finding.advice or "")
    if finding.fix is not None:
        remedy = _change(finding.fix)
    if remedy:
        part.entry("  fix", remedy)
    where = where_words(finding, several=several)
    part.entry("  where", f"{where} ({finding.rule})" if where else f"({finding.rule})")
    if len(found) > 1:
        part.entry("  also", _also(found[1:], several=several))
    return part.lines


def _change(fix: Fix) -> str:
    """Return a change without its place, which stands below."""
    if fix.old is None:
        section = f" in [{fix.section}]" if fix.section else ""
        return f"{fix.setting}: {fix.new} (new line{section})"
    return f"{fix.setting}: {fix.old} -> {fix.new}"


def _also(found: Sequence[Finding], *, several: bool) -> str:
    places = [where_words(replace(one, sure=1.0), several=several) for one in found]
    told = list(dict.fromkeys(where for where in places if where))
    more = len(told) - _PLACES
    return "; ".join(told[:_PLACES]) + (f" and {more} more" if more > 0 else "")


def _after(page: Page, rules: Sequence[Sequence[Finding]]) -> _Lines:
    """Return the cautions of the rules told, each sentence once, and how to ask why."""
    part = Page(page.look, written=page.written)
    sentences = sentences_of([found[0].caution or "" for found in rules])
    if sentences:
        part.entry("caution", " ".join(sentences), label_style="strong")
    part.entry("", _WHY)
    return part.lines


def sentences_of(texts: Sequence[str]) -> list[str]:
    """Return the sentences of some texts, each once."""
    return list(dict.fromkeys(one for text in texts for one in _SENTENCE.split(text) if one))


def _named(page: Page, rules: Sequence[Sequence[Finding]], room: int) -> _Lines:
    """Return a line a rule with its name and place, and how many are not told."""
    for fit in range(len(rules), -1, -1):
        lines = _listed(page, rules, fit)
        if len(lines) <= room:
            break
    return lines


def _listed(page: Page, rules: Sequence[Sequence[Finding]], fit: int) -> _Lines:
    """Return a line or two for each of the first `fit` rules, and one that counts the others."""
    part = Page(page.look, written=page.written)
    for found in rules[:fit]:
        at = f" ({place(found[0].at)})" if found[0].at else ""
        times = f", {len(found)} times" if len(found) > 1 else ""
        level = found[0].level.value
        part.entry(level, f"{found[0].rule}{at}{times}", label_style=level)
    left = [one for found in rules[fit:] for one in found]
    counts = [(sum(one.level is level for one in left), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    if told:
        part.entry("more", f"{', '.join(told)}: --full")
    return part.lines
