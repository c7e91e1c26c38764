"""The levers are data: mistakes are named, a new one needs no Python, each answer holds."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.build_records import LeverAnswer
from advisor.answers.builds import target as target_module
from advisor.answers.builds.compare import compare
from advisor.answers.lint import check_config
from advisor.base import DataError
from advisor.data import schema
from advisor.machine import levers

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
COARSE = {"motor.run_current", "hotend.temperature", "drive.driven_gears", "hotend.channels"}
TARGETS = (
    ("healthy", "16mm3/s"),
    ("healthy", "20mm3/s"),
    ("gear-bench", "24mm3/s"),
    ("gear-bench", "30mm3/s"),
    ("no-sheet", "12mm3/s"),
    ("soft-filament", "6mm3/s"),
    ("asks-too-much", "11mm3/s"),
)


@wide
@pytest.mark.parametrize(("sample", "target"), spread(list(TARGETS), 1))
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
        made = compare(config, Asks(), vary=_varied(lever, config)).variants[1]
        assert made.capacity is not None
        assert made.capacity.value >= report.target * (1 - 1e-9)
        assert lever.one_step_less is not None
        assert lever.one_step_less < report.target
        if lever.fact not in COARSE:
            assert made.capacity.value <= report.target * 1.005


def _varied(lever: LeverAnswer, config: str) -> list[str]:
    """The same change by --vary: a split nozzle as a class, a larger gear with a larger ratio."""
    unit = {"A rms": "A", "-": ""}.get(lever.unit, lever.unit)
    own = f"{lever.fact}={lever.to!r}{unit}"
    if lever.fact == "hotend.channels":
        return ["hotend.insert=split-3"]
    if lever.fact != "drive.gear_diameter":
        return [own]
    ratio = check_config(config, Asks()).books["extruder"].nominal("drive.gear_ratio")
    assert ratio is not None
    assert lever.to is not None
    assert lever.now is not None
    return [own, f"drive.gear_ratio={ratio * lever.to / lever.now!r}"]


FACTORS = (1.003, 1.05, 1.3, 2.0)


@wide
@only_wide
@pytest.mark.parametrize("sample", ["starved", "healthy", "no-sheet", "mixed-up", "gear-bench"])
def test_near_and_far_targets_are_hit_within_half_a_percent(sample: str, tmp_path: Path) -> None:
    """All levers of a machine, at several shares of its capacity; coarse ones by one step less.

    "starved" is the healthy machine at half its current: there current and torque are levers too.
    """
    config = SAMPLES / (sample if sample != "starved" else "healthy") / "printer.cfg"
    if sample == "starved":
        text = config.read_text(encoding="utf-8")
        config = tmp_path / "printer.cfg"
        config.write_text(text.replace("run_current: 0.56", "run_current: 0.28"), encoding="utf-8")
        sheet = (SAMPLES / "healthy/hardware.yaml").read_text(encoding="utf-8")
        (tmp_path / "hardware.yaml").write_text(sheet, encoding="utf-8")
    capacity = compare(str(config), Asks(), target="399mm3/s").target
    assert capacity is not None
    assert capacity.capacity is not None
    reached = set()
    for factor in FACTORS:
        goal = capacity.capacity.value * factor
        report = compare(str(config), Asks(), target=f"{goal!r}mm3/s").target
        assert report is not None
        for lever in report.levers:
            assert lever.capacity is not None
            if lever.to is None:
                assert lever.capacity.value < goal
                continue
            reached.add(lever.fact)
            assert lever.one_step_less is not None
            assert lever.one_step_less < goal <= lever.capacity.value * (1 + 1e-9)
            if lever.fact not in COARSE:
                assert lever.capacity.value <= goal * 1.005
    expected = {"motor.run_current", "motor.holding_torque", "drive.gear_ratio"}
    assert reached >= (expected if sample == "starved" else {"hotend.melt_length"})


def test_the_levers_of_the_file_are_safe() -> None:
    """A current goes to the setting that is not above the derated one, heat to the range."""
    rows = {lever.fact: lever for lever in levers.load_levers()}
    assert {bound.fact for bound in rows["motor.run_current"].up_to} == {"motor.set_current"}
    assert "material.nozzle_high" in {bound.fact for bound in rows["hotend.temperature"].up_to}
    assert rows["motor.run_current"].down_to is None
    assert rows["hotend.temperature"].step == 1.0


OFFER = "up_to: [{times: 2, words: x}], source: derating-practice, status: derived, offer:"
GIVEN = "source: derating-practice, status: derived"
ZONE = "fact: hotend.melt_length, step: 1 mm"
MISTAKES = (
    (f"fact: hotend.melt_lenth, step: 1 mm, up_to: [{{times: 2}}], {GIVEN}",
     "mean 'hotend.melt_length'"),
    (f"fact: flow.melt, step: 1 mm3/s, up_to: [{{times: 2, words: x}}], {GIVEN}", "follows from"),
    (f"fact: hotend.melt_length, step: 1 A, up_to: [{{times: 2, words: x}}], {GIVEN}", "step'"),
    (f"fact: hotend.melt_length, step: 0 mm, up_to: [{{times: 2, words: x}}], {GIVEN}", "above 0"),
    (f"{ZONE}, {GIVEN}", "has no up_to"),
    (f"{ZONE}, up_to: [{{times: 2, value: 3 mm}}], {GIVEN}", "needs one of"),
    (f"{ZONE}, up_to: [{{times: twice, words: x}}], {GIVEN}", "is 'twice', no number"),
    (f"{ZONE}, up_to: [{{times: 2}}], {GIVEN}", "without words"),
    (f"{ZONE}, up_to: [{{fact: motor.rated_current, words: x}}], {GIVEN}", "same kind"),
    (f"{ZONE}, up_to: [{{fact: hotend.melt_lenth, words: x}}], {GIVEN}", "did you mean"),
    (f"{ZONE}, up_to: [{{catalogue: hotend, words: x}}], {GIVEN}", "did you mean 'hotends'"),
    (f"{ZONE}, up_to: [{{catalogue: motors, words: x}}], {GIVEN}", "holds no hotend.melt_length"),
    (f"{ZONE}, up_to: [{{times: 2, words: x}}], down_to: {{time: 2}}, {GIVEN}", "key 'time'"),
    ("fact: hotend.melt_length, step: 1 mm, up_to: [{times: 2}], status: derived", "has no source"),
    ("fact: hotend.melt_length, steps: 1 mm", "unknown key 'steps'; did you mean 'step'"),
    (f"{ZONE}, {OFFER} {{words: longer}}", "needs one of catalogue"),
    (f"{ZONE}, {OFFER} {{words: longer, times: 2, most: true}}", "needs one of catalogue"),
    (f"{ZONE}, {OFFER} {{words: longer, catalogue: drives}}", "holds no hotend.melt_length"),
    (f"{ZONE}, {OFFER} {{words: longer, catalogue: drives, of: motor.mass}}", "same kind"),
    (f"{ZONE}, {OFFER} {{words: x, times: 2}}, known_by: motor.mass", "same kind"),
    (f"{ZONE}, {OFFER} {{words: x, times: 2}}, goes_with: {{hotend.insert: split-4}}", "no class"),
    (f"fact: motor.run_current, step: 1 A rms, up_to: [{{times: 2, words: x}}], {GIVEN}",
     "beyond motor.set_current"),
    (f"fact: hotend.temperature, step: 1 degC, up_to: [{{value: 300 degC, words: x}}], {GIVEN}",
     "beyond material.nozzle_high"),
    ((f"{ZONE}, up_to: [{{times: 2, words: x}}], {GIVEN}}}\n- {{{ZONE}, up_to: [{{times: 3, words: "
     f"x}}], {GIVEN}"), "again"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "words"), MISTAKES)
def test_a_mistake_is_told_with_its_place(
    monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    """File and line, what is wrong, what to do."""
    monkeypatch.setattr(schema, "read_text", lambda *_: f"- {{{text}}}\n")
    with pytest.raises(DataError, match=words) as caught:
        levers.build_levers()
    assert caught.value.at is not None
    assert caught.value.at.file == "rules/compare/levers.yaml"


def test_an_entry_that_is_no_mapping_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not a traceback."""
    monkeypatch.setattr(schema, "read_text", lambda *_: "- hotend.melt_length\n")
    with pytest.raises(DataError, match="the entry must be a mapping"):
        levers.build_levers()


def test_a_lever_is_added_by_editing_the_file_alone(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A heater of 20 W gives out first; 20 mm3/s take 24.2 W.

    Independent computation: 35 W beyond the loss of 15 W heat 76.369 mm3/s of this filament.
    """
    text = schema.read_text("rules", "compare/levers.yaml")
    if "- fact: hotend.heater_power" not in text:
        text += """
- fact: hotend.heater_power
  step: 0.1 W
  up_to: [{value: 70 W, words: a cartridge of usual size}]
  note: check that driver, wiring and supply are rated for it
  source: heater-practice
  status: common-practice
"""
    monkeypatch.setattr(schema, "read_text", lambda *_: text)
    made = levers.build_levers()
    monkeypatch.setattr(target_module, "load_levers", lambda: tuple(map(levers._lever, made)))
    weak = tmp_path / "weak.yaml"
    sheet = (SAMPLES / "gear-bench/hardware.yaml").read_text(encoding="utf-8")
    weak.write_text(sheet.replace("heater_power: 50 W", "heater_power: 20 W"), encoding="utf-8")
    report = compare(
        str(SAMPLES / "gear-bench/printer.cfg"), Asks(), sheets=[str(weak)], target="20mm3/s"
    )
    assert report.target is not None
    (heater,) = [one for one in report.target.levers if one.fact == "hotend.heater_power"]
    assert heater.to == pytest.approx(math.ceil((15 + 35 * 20 / 76.369) * 10) / 10)
    assert heater.one_step_less is not None
    assert heater.one_step_less < 20.0
    assert [one.fact for one in report.target.levers if one.to is not None] == [heater.fact]


def test_a_file_that_is_no_list_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """With what to write."""
    monkeypatch.setattr(schema, "read_text", lambda *_: "fact: hotend.melt_length\n")
    with pytest.raises(DataError, match="list"):
        levers.build_levers()
