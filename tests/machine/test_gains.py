"""What is said beside the bottleneck and under a finding: each figure is the machine's own.

The reference is the machine worked out anew with the one change made to it (`Machine.with_`), whole
ensemble and all; a sheet that states the change; and the rule's own condition.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from every import every
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check, check_config
from advisor.base import LeverGain
from advisor.base.units import parse_unit
from advisor.machine import Machine, assemble
from advisor.machine.gains import lever_gains
from advisor.report import text
from advisor.report.numbers import figure

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
MACHINES = ("asks-too-much", "no-sheet", "healthy", "gear-bench", "over-driven", "soft-filament",
            "mixed-up")  # fmt: skip


def _machine(name: str, *fields: str) -> Machine:
    return next(iter(_checked(name, *fields).machines.values()))


def _checked(name: str, *fields: str) -> CheckedConfig:
    return check_config(SAMPLES / name / "printer.cfg", Asks(fields=fields))


@every("name", MACHINES)
def test_each_lever_gains_what_the_changed_machine_delivers(name: str) -> None:
    """One thing changed, all classes kept: the typical machine's capacity to nine digits."""
    machine = _machine(name)
    before = machine.fact("flow.capacity").nominal
    assert before
    gains = lever_gains(machine)
    assert gains
    for gain in gains:
        unit = parse_unit(machine.book.units[gain.fact])
        change: dict[str, float | str] = {gain.fact: float(unit.to_si(gain.to))}
        if gain.fact == "hotend.channels":
            change["hotend.insert"] = "split-3"
        made = machine.keeping_classes().with_(change).fact("flow.capacity").nominal
        assert made is not None
        assert gain.capacity == pytest.approx(made * 1e9, rel=1e-9)
        assert gain.gain == pytest.approx((made - before) * 1e9, rel=1e-6)
    assert [g.factor for g in gains] == sorted((g.factor for g in gains), reverse=True)


def test_levers_are_worked_out_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """One pass for those of a number alone, one for that which takes a word with it."""
    machine, build = _machine("no-sheet"), assemble.build_facts
    built: list[object] = []

    def counted(*stated: object, **more: object) -> object:
        built.append(stated)
        return build(*stated, **more)  # type: ignore[arg-type]

    for module in ("machine", "sweep"):
        monkeypatch.setattr(f"advisor.machine.{module}.build_facts", counted)
    gains = lever_gains(machine)

    assert len(gains) > 2
    assert "hotend.channels" in _facts(gains)
    assert len(built) == 2


def _facts(gains: tuple[LeverGain, ...]) -> dict[str, float]:
    return {gain.fact: gain.to for gain in gains}


@wide
@only_wide
def test_what_the_machine_has_is_not_offered() -> None:
    """No long zone to a long zone, no split nozzle to a split one, no second gear to two."""
    for name in MACHINES:
        machine = _machine(name)
        for gain in lever_gains(machine):
            assert gain.to > gain.now
    long = _facts(lever_gains(_machine("no-sheet", "hotend.class=long")))
    assert long["hotend.melt_length"] > 25.0
    longest = _facts(lever_gains(_machine("no-sheet", "hotend.class=extra-long")))
    assert "hotend.melt_length" not in longest
    split = _facts(lever_gains(_machine("no-sheet", "hotend.insert=split-3")))
    assert "hotend.channels" not in split
    one, two = (
        _facts(lever_gains(_machine("no-sheet", f"drive.driven_gears={n}"))) for n in (1, 2)
    )
    assert one["drive.driven_gears"] == 2.0
    assert "drive.driven_gears" not in two


@wide
@only_wide
def test_no_lever_leads_past_the_safe_current_or_the_material(tmp_path: Path) -> None:
    """A starved motor is offered the derated current; heat ends at the material's range."""
    config = tmp_path / "printer.cfg"
    text = (SAMPLES / "healthy" / "printer.cfg").read_text(encoding="utf-8")
    config.write_text(text.replace("run_current: 0.56", "run_current: 0.25"), encoding="utf-8")
    assert "run_current: 0.25" in config.read_text(encoding="utf-8")
    sheet = str(SAMPLES / "healthy" / "hardware.yaml")
    machine = check_config(config, Asks(sheet=sheet)).machines["extruder"]
    gains = _facts(lever_gains(machine))
    assert gains["motor.run_current"] == machine.fact("motor.set_current").nominal
    for name in MACHINES:
        book = _machine(name).book
        highest = book.nominal("material.nozzle_high")
        assert highest is not None
        hot = _facts(lever_gains(_machine(name))).get("hotend.temperature")
        assert hot is None or hot <= highest - 273.15 + 1e-6


def test_the_levers_are_named_once_and_in_the_same_words() -> None:
    """The text names the largest three; the finding does not say them again."""
    path = SAMPLES / "asks-too-much"
    report = check(path / "printer.cfg", Asks(profiles=(str(path / "profile.ini"),)))
    (extruder,) = report.extruders
    (told,) = [f for f in report.findings if f.rule == "profile-cap-above-capacity"]
    assert told.advice is not None
    levers = " ".join(text.render(report).split())
    assert extruder.gains
    for gain in extruder.gains[:3]:
        assert f"+{figure(gain.gain, 2)} {gain.words}".replace("degC", "\u00b0C") in levers
        assert gain.words not in told.advice


SOLVED = (
    ("motion.retract_speed", "motion.retract_speed_share", 1e-3),
    ("motion.max_accel", "motion.advance_speed_share", 0.1),
    ("motion.pressure_advance", "motion.advance_speed_share", 1e-3),
)


@every("setting, share, step", SOLVED)
def test_what_a_setting_may_be_at_most_holds_and_one_step_more_does_not(
    setting: str, share: str, step: float
) -> None:
    """On the machine with the setting changed: up to 0.6 of the corner speed, as the rules say."""
    machine = _machine("asks-too-much")
    fits = machine.fact(f"{setting}_fits").nominal
    assert fits is not None
    at = machine.with_({setting: fits}).fact(share).nominal
    past = machine.with_({setting: fits + step}).fact(share).nominal
    assert at is not None
    assert past is not None
    assert at <= 0.6 < past


def test_the_fix_of_a_retract_that_is_too_fast_settles_it(tmp_path: Path) -> None:
    """With the value of the fix in the file no rule on retracts speaks any more."""
    config = tmp_path / "printer.cfg"
    text = (SAMPLES / "asks-too-much" / "printer.cfg").read_text(encoding="utf-8")
    found = {f.rule: f for f in _checked("asks-too-much").report.findings}
    fix = found["retract-speed-past-corner"].fix
    assert fix is not None
    config.write_text(text.replace(f"retract_speed: {fix.old}", f"retract_speed: {fix.new}"))
    sheet = str(SAMPLES / "asks-too-much" / "hardware.yaml")
    again = check_config(config, Asks(sheet=sheet)).report.findings
    assert not [f.rule for f in again if f.rule.startswith("retract-speed")]


FOLDED = """[printer]
kinematics: corexy
max_velocity: 300
max_accel: 5000
[extruder]
microsteps: 16
rotation_distance: 3.5
nozzle_diameter: 0.4
filament_diameter: 1.75
[tmc2209 extruder]
run_current: 0.2
"""


def test_a_gear_that_nobody_states_bends_no_other_lever(tmp_path: Path) -> None:
    """A gear ratio folded into 3.5 mm a turn: the gear's size is not what that would make it, and
    every lever is still what the changed machine delivers; the current is among them."""
    config = tmp_path / "printer.cfg"
    config.write_text(FOLDED)
    fields = ("motor.rated_current=0.85 A peak",)
    machine = check_config(config, Asks(fields=fields)).machines["extruder"]
    gains = {gain.fact: gain for gain in lever_gains(machine)}
    assert {"motor.run_current", "hotend.melt_length"} <= set(gains)
    assert "drive.gear_diameter" not in gains
    for gain in gains.values():
        unit = parse_unit(machine.book.units[gain.fact])
        change: dict[str, float | str] = {gain.fact: float(unit.to_si(gain.to))}
        if gain.fact == "hotend.channels":
            change["hotend.insert"] = "split-3"
        made = machine.keeping_classes().with_(change).fact("flow.capacity").nominal
        assert made is not None
        assert gain.capacity == pytest.approx(made * 1e9, rel=1e-9)
