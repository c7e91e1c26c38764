"""The owner allows a rule, at a line or for the machine, with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiers import spread, wide

from advisor import Asks, Report
from advisor.answers.lint import check
from advisor.report import text

RULE = "peak-rating-as-run-current"
CONFIG = """\
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
min_temp: 0
max_temp: 280

{above}[tmc2209 extruder]
sense_resistor: 0.110
{over}run_current: 1.0{beside}
"""
SHEET = "motor: {class: round-36, rated_current: 1.0 A, rating_basis: peak}\n"


class Machine:
    """A config and a sheet in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def report(self, *, allow: bool = True, sheet: str = "", **parts: str) -> Report:
        config = CONFIG.format(**{"above": "", "over": "", "beside": "", **parts})
        (self.folder / "printer.cfg").write_bytes(config.encode())
        (self.folder / "hardware.yaml").write_text(SHEET + sheet, encoding="utf-8")
        return check([str(self.folder / "printer.cfg")], Asks(allow=allow))


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


def rules(report: Report) -> list[str]:
    return [finding.rule for finding in report.findings]


def notes(report: Report) -> list[tuple[str, int, str]]:
    return [
        (finding.rule, finding.at.line, finding.message)
        for finding in report.findings
        if finding.rule.startswith("allowance-") and finding.at is not None
    ]


def test_the_fault_is_there(machine: Machine) -> None:
    """Without an allowance the rule speaks at its line; the cases below hang on that."""
    (finding,) = [one for one in machine.report().findings if one.rule == RULE]

    assert finding.at is not None
    assert finding.at.line == 12


@wide
@pytest.mark.parametrize(
    "where",
    spread(
        [
            {"beside": f" # feedwright: allow {RULE}, measured"},
            {"beside": f"#feedwright:allow {RULE},measured"},
            {"beside": f" ; feedwright: allow {RULE}, measured"},
            {"beside": f" # was 0.8 # feedwright: allow {RULE}, measured"},
            {"over": f"# feedwright: allow {RULE}, measured\n"},
            {"over": f"; feedwright: allow {RULE}, measured\n# and more\n\n"},
            {"over": f"# feedwright: allow {RULE}, measured\r\n"},
            {"over": f"# feedwright: allow {RULE} {RULE}, said twice\n"},
            {"sheet": f"allow:\n  - {RULE}, measured at 52 degC\n"},
            {"sheet": f'allow: ["{RULE}, measured"]\n'},
        ],
        2,
    ),
)
def test_an_allowed_rule_is_silent(machine: Machine, where: dict[str, str]) -> None:
    """Beside the line, above it, or for the machine; it is counted, and nothing is noted."""
    report = machine.report(**where)

    assert RULE not in rules(report)
    assert [finding.rule for finding in report.allowed] == [RULE]
    assert notes(report) == []
    assert "1 allowed by the owner" in text.render(report)


def test_all_else_stays(machine: Machine) -> None:
    """An allowance takes away its own rule and no other finding."""
    before = machine.report()
    after = machine.report(beside=f" # feedwright: allow {RULE}, measured")

    assert [rule for rule in rules(before) if rule != RULE] == rules(after)


def test_no_allow_shows_all(machine: Machine) -> None:
    """What is allowed is told after all, and notes on allowances fall away."""
    beside = f" # feedwright: allow {RULE} retract-speed-near-corner, measured"
    shown = machine.report(beside=beside, allow=False)

    assert rules(shown) == rules(machine.report())
    assert shown.allowed == ()


@pytest.mark.parametrize(
    ("where", "rule", "line", "words"),
    [
        ({"sheet": "allow: ['missing-run-current, x']\n"}, "allowance-unused", 2, "missing"),
        ({"above": f"# feedwright: allow {RULE}, measured\n"}, "allowance-unused", 10, RULE),
        ({"beside": f"\n# feedwright: allow {RULE}, last line"}, "allowance-unused", 13, RULE),
        ({"beside": f" # feedwright: allow {RULE}"}, "allowance-without-reason", 12, RULE),
        ({"beside": f" # feedwright: allow {RULE},  "}, "allowance-without-reason", 12, RULE),
        ({"sheet": f"allow: [{RULE}]\n"}, "allowance-without-reason", 2, RULE),
        (
            {"beside": " # feedwright: allow peak-rating-as-run-curent, x"},
            "allowance-of-unknown-rule", 12, f"did you mean '{RULE}'?",
        ),
        (
            {"sheet": "allow: ['peak-rating-run-current, x']\n"},
            "allowance-of-unknown-rule", 2, f"did you mean '{RULE}'?",
        ),
        (
            {"beside": f" # feedwright: alow {RULE}, x"},
            "allowance-not-understood", 12, "did you mean 'allow'?",
        ),
        ({"beside": " # feedwright: allow"}, "allowance-not-understood", 12, "rule-name, reason"),
        ({"beside": " # feedwright: "}, "allowance-not-understood", 12, "rule-name, reason"),
    ],
)  # fmt: skip
def test_what_allows_nothing_is_a_note(
    machine: Machine, where: dict[str, str], rule: str, line: int, words: str
) -> None:
    """Unused, unknown, without a reason, or not understood: told at its place, hiding nothing."""
    report = machine.report(**where)
    (note,) = notes(report)

    assert note[:2] == (rule, line)
    assert words in note[2]
    assert RULE in rules(report)


def test_the_words_must_stand_in_a_comment(machine: Machine) -> None:
    """A value that reads like an allowance is a value."""
    report = machine.report(above=f"[other]\nk: feedwright: allow {RULE}, x\n")

    assert notes(report) == []
    assert RULE in rules(report)


def test_an_allowance_in_an_include_counts_there(machine: Machine) -> None:
    """File and line decide, not the number of the line alone."""
    machine.report()
    (machine.folder / "more.cfg").write_text(
        "[other]\n" + "\n" * 10 + f"k: 1 # feedwright: allow {RULE}, line 12 of another file\n",
        encoding="utf-8",
    )
    root = machine.folder / "printer.cfg"
    root.write_text(root.read_text(encoding="utf-8") + "\n[include more.cfg]\n", encoding="utf-8")
    report = check([str(root)], Asks())

    assert RULE in rules(report)
    assert [finding.rule for finding in report.findings if finding.at is not None
            and finding.at.file.endswith("more.cfg")] == ["allowance-unused"]  # fmt: skip
