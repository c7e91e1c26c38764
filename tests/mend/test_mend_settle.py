"""Edits of extruders that have nothing to do with each other are settled at a time."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiers import only_wide, wide

from advisor.answers import mend_rounds
from advisor.answers.asks import Asks

COUNT = 6
MOTOR = "nozzle_diameter: 0.4\nfilament_diameter: 1.75\nrotation_distance: 22.6\n"
SHEET = "motor: {class: round-36, rated_current: 0.5 A, rating_basis: peak}\n"


def _config(currents: list[str]) -> str:
    heads = ["extruder", *(f"extruder{number}" for number in range(1, len(currents)))]
    return "[printer]\nmax_velocity: 300\nmax_accel: 3000\n" + "".join(
        f"[{head}]\n{MOTOR}microsteps: 16\ngear_ratio: 50:10\n"
        f"[tmc2209 {head}]\nrun_current: {current}\nsense_resistor: 0.110\n"
        for head, current in zip(heads, currents, strict=True)
    )


def _planned(folder: Path, currents: list[str]) -> mend_rounds.EditPlan:
    (folder / "printer.cfg").write_text(_config(currents))
    (folder / "hardware.yaml").write_text(SHEET)
    return mend_rounds.make_plan(str(folder / "printer.cfg"), Asks())


@pytest.fixture
def checked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The configs that plans work out, in their order."""
    listed: list[str] = []
    check = mend_rounds.check_config

    def counted(config: str, *rest: object, **more: object) -> object:
        listed.append(config)
        return check(config, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(mend_rounds, "check_config", counted)
    return listed


@wide
@only_wide
def test_more_extruders_do_not_take_more_rounds(tmp_path: Path, checked: list[str]) -> None:
    """Each has a current of its own that is too high: the config is checked as often as for two."""
    counts = []
    for count in (2, COUNT):
        checked.clear()
        plan = _planned(tmp_path, [f"0.{80 + number}" for number in range(count)])
        assert len(plan.changes) == count
        counts.append(len(checked))

    assert counts[0] == counts[1]


def test_a_plan_of_one_round_is_worked_out_once(tmp_path: Path, checked: list[str]) -> None:
    """As it is, with all its edits, and once more from the texts they give: three times in all."""
    plan = _planned(tmp_path, ["0.80"])

    assert len(plan.changes) == 1
    assert len(checked) == 3


def test_together_they_are_what_each_is_alone(tmp_path: Path) -> None:
    """The value of each is that of a config in which its current alone is wrong."""
    wrong = [f"0.{80 + number}" for number in range(3)]
    together = [change.new for change in _planned(tmp_path, wrong).changes.values()]
    alone = [
        change.new
        for at in range(3)
        for change in _planned(
            tmp_path, [text if at == number else "0.2" for number, text in enumerate(wrong)]
        ).changes.values()
    ]

    assert len(together) == 3
    assert together == alone
