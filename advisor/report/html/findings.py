"""The findings on the page: what costs most first, the bottleneck's before others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from advisor.base import Finding, Report
from advisor.report.findings_text import ASKED, STAGE_HEADINGS, change_words
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    element,
    heading,
    path_of,
    section,
    terms,
)
from advisor.report.numbers import share
from advisor.report.words import STAGE_LIMITS, advice_words, by_cost

if TYPE_CHECKING:
    from advisor.catalog import Source

__all__ = ["cited", "findings_section"]

_CERTAIN = 0.995
_STATUS = {"memory": "from memory", "common-practice": "common practice"}
_NOTHING = "Nothing found: what was checked fits together, as far as it is known."


def findings_section(
    place: Place, report: Report, sources: Mapping[str, Source], *, several: bool
) -> Part:
    """Return the section of all findings.

    Parameters
    ----------
    place : Place
        Where it stands.
    report : Report
        With the findings.
    sources : mapping of str to Source
        The cited works by name.
    several : bool
        Whether there are several extruders, so that each must be named.
    """
    shown: list[Child] = []
    told: set[tuple[str, str, str]] = set()
    found = by_cost(report.findings, _first_stage(report))
    for level, group in groupby(found, key=lambda finding: finding.level):
        shown.append(heading(place, f"{level.value.capitalize()}s", deeper=1))
        items = [_finding(one, told, sources, several=several) for one in group]
        shown.append(element("ul", *items, class_="findings"))
    if not shown:
        shown = [element("p", _NOTHING, class_="lead")]
    if report.allowed:
        count = len(report.allowed)
        shown.append(element("p", f"{count} allowed by you; --no-allow shows them."))
    return section(place, "findings", "Findings", *shown)


def _first_stage(report: Report) -> str | None:
    """Return the stage of the bottleneck: what is found there comes first in its level."""
    limits = {extruder.bottleneck for extruder in report.extruders}
    return next((one.stage for one in STAGE_LIMITS if one.limit in limits), None)


def _finding(
    finding: Finding,
    told: set[tuple[str, str, str]],
    sources: Mapping[str, Source],
    *,
    several: bool,
) -> Markup:
    level = finding.level.value
    counsel = (finding.rule, finding.advice or "", finding.caution or "")
    again = counsel in told
    told.add(counsel)
    return element(
        "li",
        element("p", element("strong", level, class_="level"), " ", finding.message),
        terms([*_where(finding, several=several), *([] if again else _counsel(finding))]),
        element("p", "What to do is said above.") if again else _reasons(finding, sources),
        class_=f"finding {level}", data_rule=finding.rule,
    )  # fmt: skip


def _where(finding: Finding, *, several: bool) -> Iterator[tuple[str, Child]]:
    yield "part", STAGE_HEADINGS.get(finding.stage, finding.stage.capitalize())
    parts: list[Child] = [path_of(str(finding.at))] if finding.at else []
    if several and finding.extruder:
        parts += [", " if parts else "", finding.extruder]
    if finding.sure < _CERTAIN:
        parts += [", " if parts else "", f"{share(finding.sure)} sure"]
    if not parts and ASKED in finding.facts:
        parts = ["the command line"]
    yield "where", parts
    if finding.fix is not None:
        yield "change", change_words(finding.fix).replace(" -> ", " \u2192 ", 1)


def _counsel(finding: Finding) -> Iterator[tuple[str, Child]]:
    if finding.advice:
        yield "fix" if finding.fix is None else "or", _with_commands(advice_words(finding.advice))
    if finding.caution:
        yield "caution", finding.caution


def _with_commands(text: str) -> Child:
    """Return a text with the commands in it, which stand in backticks, set as code."""
    pieces = text.split("`")
    if len(pieces) % 2 == 0:  # a backtick of the user's own
        return text
    return [element("code", piece) if at % 2 else piece for at, piece in enumerate(pieces)]


def _reasons(finding: Finding, sources: Mapping[str, Source]) -> Markup:
    cites = [element("li", words) for words in cited(finding.source, sources)]
    pairs: list[tuple[str, Child]] = [
        ("why", finding.why),
        ("source", element("ul", *cites, class_="sources") if cites else None),
        ("more", element("code", f"feedwright explain {finding.rule}")),
    ]
    return element("details", element("summary", "Why, and the sources"), terms(pairs))


def cited(names: str | None, sources: Mapping[str, Source]) -> Sequence[str]:
    """Return the cited works behind names such as ``torque-margin, pull-out-phasor (found)``."""
    words = []
    for name in (names or "").split(", "):
        key, _, status = name.partition(" (")
        source = sources.get(key)
        if source is not None:
            known = status.rstrip(")") or source.status
            words.append(f"{source.what} ({_STATUS.get(known, known)})")
        elif name:
            words.append(name)
    return words
