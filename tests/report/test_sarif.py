"""SARIF 2.1.0: the properties that the OASIS standard (27 March 2020) requires or restricts."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

from advisor.base import Finding, Level, Report, Span
from advisor.report import sarif


def run_of(report: Report) -> Any:
    log = json.loads(sarif.render(report))
    assert log["version"] == "2.1.0"  # section 3.13.2
    assert len(log["runs"]) == 1
    return log["runs"][0]


def test_the_driver_names_itself_and_its_rules(machine: Report) -> None:
    """Sections 3.18 and 3.19: a run has a tool, a driver has a name; ids are distinct."""
    driver = run_of(machine)["tool"]["driver"]
    ids = [rule["id"] for rule in driver["rules"]]

    assert driver["name"] == "feedwright"
    assert ids == sorted(set(ids))
    for rule in driver["rules"]:
        assert rule["shortDescription"]["text"]
        assert rule["help"]["text"]


def test_results_have_message_level_and_a_matching_rule(machine: Report) -> None:
    """Section 3.27: level is error, warning or note; ruleIndex points at ruleId."""
    run = run_of(machine)
    rules = run["tool"]["driver"]["rules"]

    assert len(run["results"]) == 3
    for result in run["results"]:
        assert result["level"] in {"error", "warning", "note"}
        assert result["message"]["text"]
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]


def test_regions_are_one_based_and_end_after_they_start(machine: Report) -> None:
    """Section 3.30; columns count Unicode code points, as columnKind says."""
    run = run_of(machine)
    regions = [
        place["physicalLocation"]["region"]
        for result in run["results"]
        for place in result["locations"]
    ]

    assert run["columnKind"] == "unicodeCodePoints"
    assert len(regions) == 3
    for region in regions:
        assert region["startLine"] >= 1
        assert region["startColumn"] >= 1
        assert region.get("endColumn", region["startColumn"]) >= region["startColumn"]


def test_a_fix_replaces_the_value_and_nothing_else(machine: Report) -> None:
    """Section 3.55: applied to the text, the replacement gives the new setting."""
    line = "run_current: 0.70  # as delivered"
    results = {result["ruleId"]: result for result in run_of(machine)["results"]}
    change = results["run-current-above-derated"]["fixes"][0]["artifactChanges"][0]
    (replacement,) = change["replacements"]
    start, end = (replacement["deletedRegion"][key] - 1 for key in ("startColumn", "endColumn"))

    assert line[start:end] == "0.70"
    new = line[:start] + replacement["insertedContent"]["text"] + line[end:]
    assert new == "run_current: 0.56  # as delivered"


def test_an_inserted_setting_is_a_line_below_the_header(machine: Report) -> None:
    """An empty deleted region inserts (section 3.57.3)."""
    results = {result["ruleId"]: result for result in run_of(machine)["results"]}
    change = results["sense-resistor-missing"]["fixes"][0]["artifactChanges"][0]
    (replacement,) = change["replacements"]

    assert replacement["deletedRegion"] == {"startLine": 51, "startColumn": 1, "endColumn": 1}
    assert replacement["insertedContent"]["text"] == "sense_resistor: 0.110\n"


def test_a_finding_without_a_place_has_no_location(machine: Report) -> None:
    """Section 3.27.12: locations may be empty."""
    bare = Finding("machine-wide", Level.NOTE, "motor", "said of the machine")
    (result,) = run_of(replace(machine, findings=(bare,)))["results"]
    assert result["locations"] == []


@pytest.mark.parametrize(
    ("path", "uri"),
    [
        ("workshop/printer.cfg", "workshop/printer.cfg"),
        ("a b/50%/\u00e9[1].cfg", "a%20b/50%25/%C3%A9%5B1%5D.cfg"),
        ("/srv/printer.cfg", "file:///srv/printer.cfg"),
        ("c:odd.cfg", "c%3Aodd.cfg"),
    ],
)
def test_paths_are_uris(machine: Report, path: str, uri: str) -> None:
    """RFC 3986: reserved characters are percent-encoded; urllib decodes it back."""
    finding = replace(machine.findings[0], at=Span(path, 1), fix=None)
    (result,) = run_of(replace(machine, findings=(finding,)))["results"]
    made = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]

    assert made == uri
    assert unquote(urlsplit(made).path) == path


def test_what_could_not_be_read_is_a_notification(unreadable: Report, machine: Report) -> None:
    """Section 3.20: executionSuccessful is required and false where something failed."""
    failed, well = run_of(unreadable)["invocations"][0], run_of(machine)["invocations"][0]

    assert failed["executionSuccessful"] is False
    assert "gone.cfg" in failed["toolExecutionNotifications"][0]["message"]["text"]
    assert well["executionSuccessful"] is True
