"""The edit that switches a driver's silent mode off, and the heat judged again without it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.lint import check
from advisor.answers.mend_files import mend

HEALTHY = Path(__file__).resolve().parents[2] / "samples" / "healthy"


@pytest.fixture
def silent(tmp_path: Path) -> Path:
    """A healthy machine whose driver stays silent at any speed, and whose current is too high."""
    config = tmp_path / "printer.cfg"
    text = (HEALTHY / "printer.cfg").read_text(encoding="utf-8")
    assert "stealthchop_threshold: 0" in text
    assert "run_current: 0.56" in text
    text = text.replace("stealthchop_threshold: 0", "stealthchop_threshold: 999999")
    config.write_text(text.replace("run_current: 0.56", "run_current: 0.70"), encoding="utf-8")
    shutil.copy(HEALTHY / "hardware.yaml", tmp_path)
    return config


def test_the_silent_mode_is_switched_off_where_the_finding_says_so(silent: Path) -> None:
    """The finding's fix is 0; the edit is made, with what it may do to heat and noise told."""
    found = {one.rule: one for one in check(silent, Asks()).findings}
    fix = found["silent-mode-at-speed"].fix
    assert fix is not None
    assert (fix.setting, fix.old, fix.new) == ("stealthchop_threshold", "999999", "0")
    told = str(found["silent-mode-at-speed"].caution)
    assert "louder" in told
    assert "whole set current" in told
    edits = {edit.setting: edit for edit in mend(str(silent), Asks()).edits}
    assert edits["stealthchop_threshold"].new == "0"


def test_the_current_is_judged_again_without_the_silent_mode(silent: Path) -> None:
    """What is left after the edits is no finding on heat, current or mode, and none is undone."""
    report = mend(str(silent), Asks())
    edits = {edit.setting: edit.new for edit in report.edits}
    assert edits == {"stealthchop_threshold": "0", "run_current": "0.56"}
    text = silent.read_text(encoding="utf-8")
    text = text.replace("stealthchop_threshold: 999999", "stealthchop_threshold: 0")
    silent.write_text(text.replace("run_current: 0.70", "run_current: 0.56"), encoding="utf-8")
    left = {one.rule for one in check(silent, Asks()).findings}
    assert not [rule for rule in left if "current" in rule or "silent" in rule or "limit" in rule]
    assert not mend(str(silent), Asks()).edits
