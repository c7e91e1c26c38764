"""The JSON of every answer: the Contract's shape, the schema, finite numbers, the same bytes."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hand_made import figures
from held import made
from hypothesis import given, strategies as st
from jsonschema import Draft202012Validator

from advisor.answers.derate_records import DerateReport
from advisor.answers.machine_records import Explanation
from advisor.base import ExtruderReport, FileStatus, Finding, Level, LimitBand, Report, Span
from advisor.report.json import as_json, errors_json, json_schema

VALIDATOR = Draft202012Validator(json_schema())


def refuse(constant: str) -> Any:
    raise AssertionError(f"{constant} is not JSON (RFC 8259, section 6)")


def read(text: str) -> Any:
    """Parse strictly and hold to the schema."""
    tree = json.loads(text, parse_constant=refuse)
    VALIDATOR.validate(tree)
    return tree


def test_the_schema_is_a_schema() -> None:
    """Judged by the meta-schema of JSON Schema 2020-12."""
    Draft202012Validator.check_schema(json_schema())


def test_lint_has_the_shape_of_the_contract(machine: Report) -> None:
    """Each key that other programs rely on is there with its meaning."""
    tree = read(as_json(machine))
    extruder = tree["extruders"][0]

    assert tree["schema_version"] == 1
    assert tree["tool"]["name"] == "feedwright"
    assert tree["files"][0] == {
        "path": "workshop/printer.cfg", "status": "read", "role": "config",
    }  # fmt: skip
    assert tree["summary"] == {"error": 1, "warning": 1, "note": 1}
    assert [limit["limit"] for limit in extruder["limits"]] == [
        "torque", "skip", "grip", "slip", "buckling", "melt", "heater",
    ]  # fmt: skip
    assert extruder["limits"][0]["flow"] == 9.8
    assert extruder["bottleneck"] == "grip"
    first = extruder["measure_next"][0]
    assert (first["group"], first["share_of_spread"]) == ("grip", 0.612)
    assert first["inputs"][0]["fact"] == "drive.bite_depth"
    assert first["inputs"][0]["share_of_spread"] == 0.412


def test_facts_carry_value_band_unit_origin_and_place(machine: Report) -> None:
    """RMS amperes have the unit A (the fact's name says RMS); words and flags have no unit."""
    facts = read(as_json(machine))["extruders"][0]["facts"]
    current, capacity = facts["motor.run_current"], facts["flow.capacity"]

    assert (current["value"], current["unit"], current["origin"]) == (0.7, "A", "config")
    assert current["at"] == {"file": "workshop/printer.cfg", "line": 52}
    assert current["low"] == current["value"] == current["high"]
    assert capacity["value"] == pytest.approx(9.7)
    assert capacity["low"] == pytest.approx(6.1, rel=0.02)
    assert capacity["high"] == pytest.approx(14.0, rel=0.02)
    assert facts["motor.class"]["value"] == "round-36"
    assert facts["motor.class"]["low"] is None
    assert facts["motor.class"]["unit"] is None
    assert facts["driver.interpolate"]["value"] is True
    assert facts["drive.gear_ratio"]["unit"] is None
    assert facts["motion.pressure_advance"] == {
        "value": None, "low": None, "high": None, "unit": "s", "origin": None,
        "state": "unknown", "at": None, "source": None,
    }  # fmt: skip


def test_findings_carry_place_fix_and_reason(machine: Report) -> None:
    """An inserted setting has `from` null; a finding without an edit has `fix` null."""
    findings = {f["rule"]: f for f in read(as_json(machine))["findings"]}
    current = findings["run-current-above-derated"]

    assert current["fix"] == {
        "file": "workshop/printer.cfg", "line": 52, "section": "tmc2209 extruder",
        "setting": "run_current", "from": "0.70", "to": "0.56",
    }  # fmt: skip
    assert (current["level"], current["sure"], current["column"]) == ("warning", 0.934, 14)
    assert findings["sense-resistor-missing"]["fix"]["from"] is None
    assert findings["asked-flow-above-capacity"]["fix"] is None


@pytest.mark.parametrize("report", ["machine", "quiet_machine", "bare_machine", "unreadable"])
def test_lint_is_valid_in_every_outcome(report: str, request: pytest.FixtureRequest) -> None:
    """With findings, without, with nothing computed, with nothing read."""
    tree = read(as_json(request.getfixturevalue(report)))
    assert set(tree["summary"]) == {"error", "warning", "note"}


def test_what_could_not_be_read_is_told(unreadable: Report) -> None:
    """The file has its status and the sentence stands under errors."""
    tree = read(as_json(unreadable))

    assert tree["files"][0]["status"] == "missing"
    assert tree["errors"] == ["gone.cfg: there is no such file; check the path"]


def test_the_same_report_gives_the_same_bytes(machine: Report) -> None:
    """Neither the order of facts nor of findings in memory shows."""
    extruder = machine.extruders[0]
    shuffled = dict(reversed(extruder.facts.items()))
    other = replace(
        machine,
        extruders=(replace(extruder, facts=shuffled),),
        findings=tuple(reversed(machine.findings)),
    )
    assert as_json(machine) == as_json(other)


def test_what_is_beyond_or_undefined_is_null() -> None:
    """Infinite and undefined numbers are null, as JSON has no word for them."""
    facts = figures(
        made("flow.skip", "mm3/s", np.array([np.inf] * 50 + [1e-9] * 50)),
        made("flow.heater", "mm3/s", math.nan),
    )
    limits = (LimitBand("skip", None, 1.0, None, beyond=True),)
    extruder = ExtruderReport("extruder", facts, limits, None)
    tree = read(as_json(Report(extruders=(extruder,))))["extruders"][0]

    assert tree["facts"]["flow.skip"]["value"] is None
    assert tree["facts"]["flow.skip"]["low"] == 1.0
    assert tree["facts"]["flow.heater"]["value"] is None
    assert tree["limits"][1]["beyond"] is True
    assert tree["limits"][0]["flow"] is None


TEXT = st.text(st.characters(), max_size=20)


@given(TEXT, TEXT, st.integers(1, 10**9), st.sampled_from(Level))
def test_any_text_of_the_users_stays_valid(
    path: str, message: str, line: int, level: Level
) -> None:
    """Quotes, control characters and bytes that were no text: valid JSON that is valid UTF-8."""
    finding = Finding("some-rule", level, "config", message or "x", at=Span(path, line))
    report = Report((FileStatus(path, "read"),), (), (finding,), (message or "x",))
    text = as_json(report)

    tree = read(text)
    json.dumps(tree, ensure_ascii=False).encode("utf-8")
    assert text.isascii()


def test_derate_has_the_shape_of_the_contract(derating: DerateReport) -> None:
    """Every estimated number has value, low, high and unit."""
    tree = read(as_json(derating))

    assert tree["rating"] == {"value": 1.0, "basis": "unsure", "unit": "A"}
    assert tree["set_current"] == 0.56
    assert tree["derated_current"] == {"value": 0.5657, "low": 0.52, "high": 0.5657, "unit": "A"}
    assert tree["winding_temperature"]["unit"] == "degC"


def test_derate_without_a_setting_says_why(no_setting: DerateReport) -> None:
    """`set_current` and `applied_current` are null, the reason is a sentence."""
    tree = read(as_json(no_setting))

    assert tree["set_current"] is None
    assert tree["applied_current"] is None
    assert "PLA mount" in tree["no_setting"]


def test_explain_shows_the_chain(explanation: Explanation, material: Explanation) -> None:
    """Steps in order with depth and inputs; catalogue numbers with all their keys."""
    steps = read(as_json(explanation))["derivation"]
    numbers = read(as_json(material))["numbers"]

    assert [(step["fact"], step["depth"]) for step in steps[:2]] == [
        ("motor.derated_current", 0), ("motor.derating_share", 1),
    ]  # fmt: skip
    assert steps[3]["at"] == {"file": "workshop/hardware.yaml", "line": 3}
    assert numbers[2]["source"] is None


def test_a_failed_answer_holds_only_errors() -> None:
    """derate and explain stay valid where there is no answer."""
    assert read(errors_json(["no such file"]))["errors"] == ["no such file"]


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("summary", "error"), -1), (("schema_version",), 2), (("findings", 0, "level"), "fatal"),
        (("findings", 0, "sure"), 1.5), (("extruders", 0, "bottleneck"), "nozzle"),
        (("extruders", 0, "limits"), []), (("files", 0, "status"), "maybe"), (("extra",), 1),
    ],
)  # fmt: skip
def test_the_schema_refuses_what_is_wrong(
    machine: Report, where: tuple[str | int, ...], value: object
) -> None:
    """A schema that accepts anything would prove nothing."""
    tree = json.loads(as_json(machine))
    inner = tree
    for key in where[:-1]:
        inner = inner[key]
    inner[where[-1]] = value

    assert not VALIDATOR.is_valid(tree)
