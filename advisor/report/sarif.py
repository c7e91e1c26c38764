"""Findings as SARIF 2.1.0 (OASIS standard, 27 March 2020), for code hosts and editors.

One run, one rule entry per rule that fired, fixes as replacements of the value alone. Facts
and limits have no place in it: those are in the JSON.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from advisor.base import Finding, Fix, Level, Report, Span, __version__
from advisor.report.clean import unicode_text
from advisor.report.words import advice_words, by_place

__all__ = ["render"]

Tree = dict[str, Any]


def render(report: Report) -> str:
    """Return the findings of `report` as one SARIF log."""
    findings = by_place(report.findings)
    rules = {finding.rule: finding for finding in reversed(findings)}
    names = sorted(rules)
    driver = {
        "name": "feedwright",
        "semanticVersion": __version__,
        "rules": [_rule(rules[name]) for name in names],
    }
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "invocations": [_invocation(report)],
        "artifacts": [{"location": _location(path)} for path in _paths(report)],
        "results": [_result(finding, names.index(finding.rule)) for finding in findings],
    }
    log = {"version": "2.1.0", "runs": [run]}
    return json.dumps(log, indent=2, allow_nan=False) + "\n"


def _rule(finding: Finding) -> Tree:
    """Return a rule from a finding of it; the help says why, and what to mind."""
    told = (("", finding.why), ("Mind: ", finding.caution), ("Source: ", finding.source))
    text = "\n\n".join(head + part for head, part in told if part)
    title = finding.title or finding.rule.replace("-", " ")
    return {
        "id": finding.rule,
        "shortDescription": {"text": title},
        "fullDescription": {"text": finding.why or title},
        "help": {"text": text or title},
    }


def _result(finding: Finding, index: int) -> Tree:
    properties: Tree = {"stage": finding.stage, "sure": round(finding.sure, 6)}
    if finding.extruder:
        properties["extruder"] = finding.extruder
    result: Tree = {
        "ruleId": finding.rule,
        "ruleIndex": index,
        "level": _LEVELS[finding.level],
        "message": {"text": _message(finding)},
        "locations": [_place(finding.at)] if finding.at else [],
        "properties": properties,
    }
    if finding.fix and finding.fix.at:
        result["fixes"] = [_replacement(finding.fix, finding.fix.at)]
    return result


_LEVELS = {Level.ERROR: "error", Level.WARNING: "warning", Level.NOTE: "note"}


def _message(finding: Finding) -> str:
    advice = f"; {advice_words(finding.advice)}" if finding.advice else ""
    return unicode_text(finding.message + advice)


def _place(at: Span) -> Tree:
    region: Tree = {"startLine": at.line, "startColumn": at.column}
    if at.end_column is not None:
        region["endColumn"] = at.end_column
    return {"physicalLocation": {"artifactLocation": _location(at.file), "region": region}}


def _replacement(fix: Fix, at: Span) -> Tree:
    """Return a fix: the value's own characters, or a new line below the section's header."""
    if fix.old is None:
        region = {"startLine": at.line + 1, "startColumn": 1, "endColumn": 1}
        text = f"{fix.setting}: {fix.new}\n"
    else:
        end = at.end_column or at.column + len(fix.old)
        region = {"startLine": at.line, "startColumn": at.column, "endColumn": end}
        text = fix.new
    change = {"deletedRegion": region, "insertedContent": {"text": unicode_text(text)}}
    words = f"set {fix.setting} to {fix.new}"
    return {
        "description": {"text": unicode_text(words)},
        "artifactChanges": [{"artifactLocation": _location(at.file), "replacements": [change]}],
    }


def _invocation(report: Report) -> Tree:
    told = [{"level": "error", "message": {"text": unicode_text(x)}} for x in report.errors]
    return {"executionSuccessful": not told, "toolExecutionNotifications": told}


def _paths(report: Report) -> Iterable[str]:
    places = {finding.at.file for finding in report.findings if finding.at}
    return sorted({file.path for file in report.files} | places)


def _location(path: str) -> Tree:
    """Return the path as a URI: relative as given, absolute with its scheme."""
    pure = PurePath(path)
    raw = pure.as_posix().encode("utf-8", "surrogateescape")
    uri = quote(raw, safe="/")
    if pure.is_absolute():
        return {"uri": f"file://{uri}" if uri.startswith("/") else f"file:///{uri}"}
    return {"uri": uri}
