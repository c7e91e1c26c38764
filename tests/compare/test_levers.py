"""The levers are data: mistakes are named, a new one needs no Python, each answer holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.asks import Asks
from advisor.compare.compare import compare
from advisor.errors import DataError
from advisor.intake import levers

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
COARSE = {"motor.run_current", "hotend.temperature", "drive.driven_gears"}
TARGETS = (
    ("healthy", "16mm3/s"),
    ("healthy", "20mm3/s"),
    ("gear-bench", "24mm3/s"),
    ("gear-bench", "30mm3/s"),
    ("no-sheet", "12mm3/s"),
    ("soft-filament", "4mm3/s"),
    ("asks-too-much", "9mm3/s"),
)


@pytest.mark.parametrize(("sample", "target"), TARGETS)
def test_what_is_found_reaches_the_target_and_one_step_less_does_not(
    sample: str, target: str
) -> None:
    """On the changed machine itself, worked out anew by --vary; fine steps hit within 0.5 %."""
    config = str(SAMPLES / sample / "printer.cfg")
    report = compare(config, Asks(), target=target).target
    assert report is not None
    assert report.levers
    for lever in report.levers:
        if lever.to is None:
            assert lever.capacity is not None
            assert lever.capacity.value < report.target
            continue
        unit = {"A rms": "A", "-": ""}.get(lever.unit, lever.unit)
        made = compare(config, Asks(), vary=[f"{lever.fact}={lever.to!r}{unit}"]).variants[1]
        assert made.capacity is not None
        assert made.capacity.value >= report.target * (1 - 1e-9)
        assert lever.one_step_less is not None
        assert lever.one_step_less < report.target
        if lever.fact not in COARSE:
            assert made.capacity.value <= report.target * 1.005


def test_the_levers_of_the_file_are_safe() -> None:
    """A current goes to the setting that is not above the derated one, heat to the range."""
    rows = {lever.fact: lever for lever in levers.load_levers()}
    assert {bound.fact for bound in rows["motor.run_current"].up_to} == {"motor.set_current"}
    assert "material.nozzle_high" in {bound.fact for bound in rows["hotend.temperature"].up_to}
    assert rows["motor.run_current"].down_to is None
    assert rows["hotend.temperature"].step == 1.0


GIVEN = "source: derating-practice, status: derived"
MISTAKES = (
    ("fact: hotend.melt_lenth, step: 1 mm, up_to: [{times: 2}]", "no fact"),
    (f"fact: hotend.melt_length, step: 1 A, up_to: [{{times: 2}}], {GIVEN}", "step"),
    (f"fact: hotend.melt_length, step: 1 mm, {GIVEN}", "no bound"),
    (f"fact: hotend.melt_length, step: 1 mm, up_to: [{{times: 2, value: 3 mm}}], {GIVEN}",
     "needs one of"),
    ("fact: hotend.melt_length, step: 1 mm, up_to: [{times: 2}], status: derived", "source"),
    ("fact: hotend.melt_length, steps: 1 mm", "no key"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "words"), MISTAKES)
def test_a_mistake_is_told_with_its_place(
    monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    """File and line, what is wrong, what to do."""
    monkeypatch.setattr(levers, "read_text", lambda *_: f"- {{{text}}}\n")
    with pytest.raises(DataError, match=words) as caught:
        levers.build_levers()
    assert caught.value.at is not None
    assert caught.value.at.file == "rules/compare/levers.yaml"


def test_a_file_that_is_no_list_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """With what to write."""
    monkeypatch.setattr(levers, "read_text", lambda *_: "fact: hotend.melt_length\n")
    with pytest.raises(DataError, match="list"):
        levers.build_levers()
