"""A target flow: what is found reaches it, one step less does not, nothing leaves its limits."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.build_records import LeverAnswer, TargetReport
from advisor.answers.builds.compare import compare
from advisor.answers.lint import check_config
from advisor.base import Fact, Origin, OriginKind, UsageError
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog
from advisor.machine.assemble import build_facts

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
STEPS = {"motor.run_current": 0.01, "hotend.temperature": 1.0, "drive.driven_gears": 1.0,
         "hotend.channels": 2.0}  # fmt: skip
CASES = [
    ("healthy", "16mm3/s"),
    ("healthy", "20mm3/s"),
    ("no-sheet", "11mm3/s"),
    ("no-sheet", "12mm3/s"),
    ("soft-filament", "7mm3/s"),
    ("asks-too-much", "11mm3/s"),
]


def solve(sample: str, target: str) -> TargetReport:
    report = compare(str(SAMPLES / sample / "printer.cfg"), Asks(), target=target)
    assert report.target is not None
    return report.target


def capacity_with(sample: str, fact: str, value: float) -> float:
    """The capacity of the sample with one fact set, by a way of its own through the chain."""
    checked = check_config(str(SAMPLES / sample / "printer.cfg"), Asks())
    inputs, book = checked.machines["extruder"].inputs, checked.books["extruder"]
    stated = dict(inputs.stated)
    if book.facts["motor.class"].origin.kind != OriginKind.SHEET:
        stated["motor.class"] = book.facts["motor.class"]
    unit = parse_unit(book.units[fact])
    stated[fact] = Fact.of(fact, book.units[fact], float(unit.to_si(value)),
                        origin=Origin(OriginKind.COMMAND))  # fmt: skip
    if fact == "hotend.channels" and value > 1.0:  # what a split gains is the insert's
        stated["hotend.insert"] = Fact.of("hotend.insert", "", "split-3",
                                       origin=Origin(OriginKind.COMMAND))  # fmt: skip
    made = build_facts(dataclasses.replace(inputs, stated=stated), load_catalog())
    flow = made.nominal("flow.capacity")
    assert flow is not None
    return flow * 1e9


def reaching(target: TargetReport) -> list[LeverAnswer]:
    return [lever for lever in target.levers if lever.to is not None]


@wide
@pytest.mark.parametrize(("sample", "target"), spread(CASES, 1))
def test_each_answer_reaches_the_target_and_one_step_less_does_not(
    sample: str, target: str
) -> None:
    """Evaluated anew; what has fine steps comes within 0.5 % of the target."""
    solved = solve(sample, target)
    assert solved.reached is False
    assert reaching(solved), "a case without an answer shows nothing"
    for lever in reaching(solved):
        assert lever.to is not None
        assert lever.one_step_less is not None
        flow = capacity_with(sample, lever.fact, lever.to)
        assert flow >= solved.target * (1 - 1e-9), lever
        assert lever.one_step_less < solved.target, lever
        if lever.fact not in STEPS:
            assert flow == pytest.approx(solved.target, rel=5e-3), lever
        else:
            assert lever.now is not None
            step = STEPS[lever.fact] * (1 if lever.to > lever.now else -1)
            assert capacity_with(sample, lever.fact, lever.to - step) < solved.target, lever


@wide
@pytest.mark.parametrize(("sample", "target"), spread([*CASES, ("healthy", "80mm3/s")], 1))
def test_no_answer_leaves_its_limits(sample: str, target: str) -> None:
    """Current at most derated, temperature within the material's range, nozzle up to 1.2 mm."""
    book = check_config(str(SAMPLES / sample / "printer.cfg"), Asks()).books["extruder"]
    limits = {"motor.run_current": "motor.derated_current", "hotend.temperature":
              "material.nozzle_high", "nozzle.diameter": "model.widest_bore"}  # fmt: skip
    for lever in solve(sample, target).levers:
        value = lever.to if lever.to is not None else lever.best
        most = book.nominal(limits.get(lever.fact, ""))
        if value is not None and most is not None:
            assert value <= parse_unit(lever.unit).from_si(most) * (1 + 1e-9), lever


def test_the_smallest_relative_change_comes_first() -> None:
    """The order of those that reach it; those that do not come last."""
    levers = solve("no-sheet", "12mm3/s").levers
    reached = [lever.to is not None for lever in levers]
    assert reached == sorted(reached, reverse=True)
    sizes = [abs(lever.change or 0.0) for lever in levers if lever.to is not None]
    assert sizes == sorted(sizes)


def test_a_target_out_of_reach_is_said_to_be() -> None:
    """No lever of the sample makes 80 mm3/s; each tells the most it gives, below the target."""
    solved = solve("healthy", "80mm3/s")
    assert not reaching(solved)
    assert all(lever.capacity is not None and lever.capacity.value < 80.0
               for lever in solved.levers)  # fmt: skip


def test_a_target_below_the_capacity_needs_nothing() -> None:
    """No lever is pulled."""
    solved = solve("healthy", "5mm3/s")
    assert solved.reached is True
    assert solved.levers == ()


def test_an_overdriven_machine_is_brought_to_its_derated_current_first() -> None:
    """Nothing is built on a current the motor does not bear."""
    solved = solve("over-driven", "16mm3/s")
    assert solved.lowered_to is not None
    assert solved.lowered_to < 0.3
    assert solved.capacity is not None
    current = next(x for x in solved.levers if x.fact == "motor.run_current")
    assert current.to is None
    assert current.now == pytest.approx(solved.lowered_to)


@pytest.mark.parametrize("text", ["fast", "30", "0mm3/s", "-3mm3/s", "9000mm3/s", "30 mm"])
def test_a_target_that_cannot_be_is_told(text: str) -> None:
    """A usage error that shows the form."""
    with pytest.raises(UsageError):
        solve("healthy", text)


@wide
@only_wide
def test_a_current_is_lowered_only_by_a_rating_that_is_stated(tmp_path: Path) -> None:
    """0.6 A on a motor that nobody states is nothing to lower, and no caution; on one of 0.7 A
    peak it is above the rating (`lint` tells both alike)."""
    text = (SAMPLES / "no-sheet" / "printer.cfg").read_text(encoding="utf-8")
    config = tmp_path / "printer.cfg"
    config.write_text(re.sub(r"(?m)^run_current:.*", "run_current: 0.6", text), encoding="utf-8")
    stated = Asks(fields=("motor.rated_current=0.7 A peak",))
    for asks, hot in ((Asks(), False), (stated, True)):
        made = compare(str(config), asks, target="40mm3/s")
        assert made.target is not None
        assert (made.target.lowered_to is not None) is hot
        assert [one.above_derated for one in made.variants] == [hot] * len(made.variants)
        rules = {one.rule for one in check_config(str(config), asks).report.findings}
        assert any("current-above" in one for one in rules) is hot
