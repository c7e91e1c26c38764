"""The fixes that a report shows fit each other, as the edits of `mend` do."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.lint import check
from advisor.answers.mend_files import mend
from advisor.answers.mend_rounds import EditChoice
from advisor.base import Finding
from advisor.judge import load_rulebook

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIG = """\
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 1.75
[tmc2209 extruder]
sense_resistor: 0.110
run_current: {run}{comment}
hold_current: {hold}
"""
SHEET = (
    "motor: {class: square-42-short, rated_current: 1.0 A, rating_basis: peak}\n"
    "drive: {mount: metal}\n"
)


def config(folder: Path, run: float, hold: float, comment: str = "") -> str:
    path = folder / "printer.cfg"
    path.write_text(CONFIG.format(run=run, hold=hold, comment=comment))
    (folder / "hardware.yaml").write_text(SHEET)
    return str(path)


def hold(path: str) -> Finding:
    findings = check([path], Asks()).findings
    (one,) = (f for f in findings if f.rule == "hold-current-above-run")
    return one


@pytest.mark.parametrize("run", [0.9, 0.8, 0.7])
def test_the_hold_current_follows_the_lowered_run_current(tmp_path: Path, run: float) -> None:
    """The value shown is the one `mend` writes, and the advice says why."""
    path = config(tmp_path, run, 1.1)
    finding = hold(path)
    edits = {edit.setting: edit.new for edit in mend(path, Asks()).edits}

    assert finding.fix is not None
    assert finding.fix.new == edits["hold_current"] == edits["run_current"]
    assert float(finding.fix.new) < run
    assert finding.advice is not None
    assert f"to {edits['run_current']}" in finding.advice


@pytest.mark.parametrize("name", ["over-driven"])
def test_a_sample_shows_what_mend_writes(name: str) -> None:
    """Here the coarser steps of a large hold current make the run current lower: it stays so."""
    path = str(SAMPLES / name / "printer.cfg")
    shown = {f.fix.setting: f.fix.new for f in check([path], Asks()).findings
             if f.fix is not None and f.extruder is not None}  # fmt: skip
    edits = {edit.setting: edit.new for edit in mend(path, Asks()).edits}
    assert {setting: shown[setting] for setting in edits} == edits


def test_without_another_fix_it_is_the_run_current(tmp_path: Path) -> None:
    """Nothing lowers the run current: the hold current goes down to it."""
    finding = hold(config(tmp_path, 0.5, 0.9))
    assert finding.fix is not None
    assert finding.fix.new == "0.50"
    assert "another fix" not in (finding.advice or "")


def test_a_fix_that_is_allowed_away_does_not_count(tmp_path: Path) -> None:
    """The owner keeps the run current on purpose: the hold current goes down to that."""
    rules = " ".join(rule.name for rule in load_rulebook().rules
                     if rule.fix is not None and rule.fix.fact == "motor.run_current")  # fmt: skip
    allow = f"  # feedwright: allow {rules}, cooled"
    finding = hold(config(tmp_path, 0.9, 1.1, allow))
    assert finding.fix is not None
    assert finding.fix.new == "0.90"


def test_mend_of_the_hold_current_alone_keeps_to_the_run_current(tmp_path: Path) -> None:
    """An edit that is not made does not count either."""
    path = config(tmp_path, 0.9, 1.1)
    edits = mend(path, Asks(), choice=EditChoice(only=frozenset({"hold-current-above-run"}))).edits
    assert [(edit.setting, edit.new) for edit in edits] == [("hold_current", "0.90")]
