"""Edits are consistent together, stand where they count, and never do what can hurt."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from mend_helpers import CONFIG, DRIVER, SAVED, SHEET, Machine, fixes, rulebook, rules_of

from advisor import Asks
from advisor.answers.mend_files import choice_of
from advisor.answers.mend_rounds import EditChoice, make_plan
from advisor.base import MendError
from advisor.judge import Rulebook

UseRules = Callable[[str], Rulebook]

RETRACT = "[firmware_retraction]\nretract_length: {}\n"
RULE = """\
- name: {name}
  title: A rule for a test
  level: warning
  stage: firmware
  when: {when}
  at: {at}
  message: A message.
  why: A reason.
  fix: {{set: {at}, to: {to}, round: {way}, step: {step}}}
  source: firmware-settings
  examples: {{holds: [{{{at}: 5 {unit}}}], fails: [{{{at}: 1 {unit}}}]}}
"""


def rule(
    name: str, when: str, to: str, *, at: str = "motion.retract_length", way: str = "down",
    step: str = "0.1", unit: str = "mm",
) -> str:  # fmt: skip
    return RULE.format(name=name, when=when, to=to, at=at, way=way, step=step, unit=unit)


@pytest.fixture
def use_rules(monkeypatch: pytest.MonkeyPatch) -> UseRules:
    """Let the program know these rules and no others."""

    def made(text: str) -> Rulebook:
        book = rulebook(text)
        for module in ("answers.lint", "answers.mend_rounds", "answers.mend_files"):
            monkeypatch.setattr(f"advisor.{module}.load_rulebook", lambda: book)
        return book

    return made


def test_what_depends_on_an_edit_is_edited_with_it(machine: Machine) -> None:
    """Lower run current: the hold current would be above it, and the cap above the capacity."""
    hot = SHEET.replace("mount: metal", "mount: petg").replace("30 degC", "45 degC")
    machine.sheet(hot.replace("0.16 N m", "0.10 N m"))
    report = machine.mend(machine.profile())
    edits = {edit.setting: edit for edit in report.edits}

    run, hold = edits["run_current"], edits["hold_current"]
    assert float(run.new) < 0.57
    assert hold.new == run.new
    assert [one.rule for one in hold.findings] == ["hold-current-above-run"]
    before, after = (getattr(report.capacity[0], name) for name in ("before", "after"))
    assert after.low < before.low  # the typical machine may be bound by its grip
    cap = float(edits["filament_max_volumetric_speed"].new)
    assert after.low <= cap < after.value  # most machines like this one sustain it


def test_a_second_run_finds_nothing(machine: Machine) -> None:
    """What was mended needs no mending, and the rules that were to be cured are silent."""
    machine.profile()
    first = machine.mend("fast.ini", write=True, write_profile=True)
    again = machine.mend("fast.ini")

    assert len(first.edits) >= 2
    assert again.edits == ()
    assert again.patch == b""
    cured = {rule for edit in first.edits for rule in edit.cured}
    assert cured.isdisjoint(rules_of(machine.lint("fast.ini")))


def test_a_value_is_edited_in_the_include_where_it_stands(machine: Machine) -> None:
    """The root stays as it is."""
    machine.config(CONFIG + "[include parts/*.cfg]\n")
    machine.config(DRIVER, "parts/driver.cfg")
    report = machine.mend()

    (edit,) = [one for one in report.edits if one.setting == "run_current"]
    assert (edit.at.file, edit.at.line) == ("parts/driver.cfg", 3)
    assert "in an included file, read by printer.cfg" in edit.words
    assert b"a/parts/driver.cfg" in report.patch
    assert b"a/printer.cfg" not in report.patch


def test_the_last_of_several_values_is_edited(machine: Machine) -> None:
    """It is the one that counts; the earlier one stays, and is named."""
    machine.config(CONFIG + DRIVER + "\n[tmc2209 extruder]\nrun_current: 0.95\n")
    report = machine.mend(write=True)

    edit = report.edits[-1]
    assert (edit.old, edit.at.line) == ("0.95", 28)
    assert (
        "the last of 2 values, the one that counts; the others stay (printer.cfg:23)" in edit.words
    )
    assert b"run_current: 0.9\n" in machine.bytes()


def test_a_value_of_the_saved_block_is_edited_there(machine: Machine) -> None:
    """It counts, so it is edited, and it is said that the firmware may write it back."""
    text = CONFIG + DRIVER.replace("run_current: 0.9\n", "")
    machine.config(f"{text}\n{SAVED}#*# [tmc2209 extruder]\n#*# run_current = 0.9\n")
    report = machine.mend(write=True)

    (edit,) = [one for one in report.edits if one.setting == "run_current"]
    assert any("saved block" in words for words in edit.words)
    assert f"#*# run_current = {edit.new}\n".encode() in machine.bytes()


def test_a_missing_include_is_said(machine: Machine) -> None:
    """A value in it could still win."""
    machine.config(CONFIG + DRIVER + "[include gone.cfg]\n")

    words = machine.mend().edits[0].words
    assert "an include is missing (gone.cfg); a value in there could still win" in words


def test_a_setting_that_is_missing_is_put_into_its_section(
    machine: Machine, use_rules: UseRules
) -> None:
    """In the style of its neighbours; the section is that of the firmware's default."""
    use_rules(rule("long-retract", "motion.unretract_speed > 5 mm/s", "5 mm/s",
                   at="motion.unretract_speed", unit="mm/s", step="1"))  # fmt: skip
    machine.config(CONFIG + "[firmware_retraction]\r\nretract_length = 2\r\n\r\n[other]\nk: 1\n")
    report = machine.mend(write=True)

    assert fixes(report) == [("unretract_speed", None, "5")]
    assert "a new line in [firmware_retraction]" in report.edits[0].words
    assert b"retract_length = 2\r\nunretract_speed = 5\r\n\r\n[other]" in machine.bytes()
    assert machine.mend().edits == ()


def test_no_setting_is_put_into_a_foreign_section(machine: Machine, use_rules: UseRules) -> None:
    """Without a driver section a current has no home; it is left to a person, with the reason."""
    use_rules(rule("no-current", "missing(motor.run_current)", "0.3 A",
                   at="motor.run_current", unit="A", step="0.01"))  # fmt: skip
    machine.config(CONFIG)
    report = machine.mend()

    assert report.edits == ()
    assert "[extruder] is another" in report.by_hand[0].reason


def test_a_value_that_cannot_be_read_is_left_to_a_person(
    machine: Machine, use_rules: UseRules
) -> None:
    """A template is not overwritten by a number."""
    use_rules(rule("unread", "unreadable(motion.retract_length)", "1 mm"))
    machine.config(CONFIG + RETRACT.format("{{ retract }}"))
    report = machine.mend()

    assert report.edits == ()
    assert "cannot be read" in report.by_hand[0].reason


def test_rules_that_pull_against_each_other_are_named(
    machine: Machine, use_rules: UseRules
) -> None:
    """Neither value is taken; both rules are named, and what to do."""
    use_rules(
        rule("too-long", "motion.retract_length > 4 mm", "2 mm")
        + rule("too-short", "motion.retract_length < 3 mm", "5 mm", way="up")
    )
    machine.config(CONFIG + RETRACT.format(6))

    with pytest.raises(MendError, match=r"pull against each other on retract_length") as caught:
        machine.mend()
    assert "'too-short' raises it from 2.0 to 5.0" in str(caught.value)
    assert "'too-long' lowers it from 6 to 2.0" in str(caught.value)
    assert "--skip" in str(caught.value)
    assert fixes(machine.mend(choice=choice_of((), ["too-short"]))) == [
        ("retract_length", "6", "2.0")
    ]


def test_rules_that_pull_in_the_same_round_are_named(machine: Machine, use_rules: UseRules) -> None:
    """Also where both speak of the same value at once."""
    use_rules(
        rule("too-long", "motion.retract_length > 4 mm", "2 mm")
        + rule("too-short", "motion.retract_length < 9 mm", "9 mm", way="up")
    )
    machine.config(CONFIG + RETRACT.format(6))

    with pytest.raises(MendError, match="pull against each other"):
        machine.mend()


def test_edits_without_an_end_are_given_up(machine: Machine, use_rules: UseRules) -> None:
    """After twelve rounds, with the rule's name."""
    use_rules(rule("ever-less", "motion.retract_length > 0 mm", "motion.retract_length * 0.9",
                   step="0.001"))  # fmt: skip
    machine.config(CONFIG + RETRACT.format(6))

    with pytest.raises(MendError, match=r"no end after 12 rounds \(ever-less\)"):
        machine.mend()


def test_of_two_rules_on_one_value_the_stricter_counts(
    machine: Machine, use_rules: UseRules
) -> None:
    """One edit, with both rules as its reasons, whatever their order."""
    use_rules(
        rule("long", "motion.retract_length > 4 mm", "4 mm")
        + rule("very-long", "motion.retract_length > 4 mm", "3 mm")
    )
    machine.config(CONFIG + RETRACT.format(6))
    (edit,) = machine.mend().edits

    assert (edit.old, edit.new) == ("6", "3.0")
    assert {one.rule for one in edit.findings} == {"long", "very-long"}


CURRENT = rule("more", "motor.run_current < 0.8 A", "{}", at="motor.run_current", way="up",
               unit="A", step="0.01").replace("{{", "{").replace("}}", "}")  # fmt: skip


@pytest.mark.parametrize(
    ("to", "sheet", "edited"),
    [
        ("motor.set_current", SHEET, True),
        ("0.9 A", SHEET, False),
        ("motor.derated_current * 1.05", SHEET, False),
        ("0.35 A", "", False),  # nobody states the rating: the limit is a guess
    ],
)
def test_a_current_is_never_raised_above_the_derated_limit(
    machine: Machine, use_rules: UseRules, to: str, sheet: str, edited: bool
) -> None:
    """Whatever a rule says: the guard is in the mending itself, and the reason is told."""
    use_rules(CURRENT.replace("{}", to))
    machine.sheet(sheet)
    machine.config(CONFIG + DRIVER.replace("run_current: 0.9", "run_current: 0.3"))
    report = machine.mend()

    if edited:
        assert fixes(report) == [("run_current", "0.3", "0.56")]
        return
    assert report.edits == ()
    assert "derated limit" in report.by_hand[0].reason


@pytest.mark.parametrize(("way", "to"), [("up", "300 degC"), ("down", "250 degC")])
def test_a_temperature_of_the_config_is_never_edited(
    machine: Machine, use_rules: UseRules, way: str, to: str
) -> None:
    """Neither up nor down: these are the limits that guard the machine."""
    when = "hotend.max_temperature > 0 degC"
    use_rules(rule("heat", when, to, at="hotend.max_temperature", way=way, unit="degC", step="1"))
    report = machine.mend()

    assert report.edits == ()
    assert "temperature" in report.by_hand[0].reason


def test_a_temperature_of_a_profile_is_never_raised(machine: Machine, use_rules: UseRules) -> None:
    """It may go down and not up."""
    up = rule("hot", "profile.temperature < 280 degC", "280 degC", at="profile.temperature",
              way="up", unit="degC", step="1")  # fmt: skip
    down = rule("cold", "profile.temperature > 200 degC", "200 degC", at="profile.temperature",
                unit="degC", step="1")  # fmt: skip
    machine.profile("filament_type = ABS\ntemperature = 250\n")
    use_rules(up)
    refused = machine.mend("fast.ini")
    use_rules(down)
    lowered = machine.mend("fast.ini")

    assert refused.edits == ()
    assert "never raised" in refused.by_hand[0].reason
    assert fixes(lowered) == [("temperature", "250", "200")]


@pytest.mark.parametrize(
    ("fact", "unit"),
    [("driver.sense_resistor", "ohm")],
)
def test_what_is_built_in_is_never_edited(
    machine: Machine, use_rules: UseRules, fact: str, unit: str
) -> None:
    """A sense resistor is what it is; a driver reckons its current from it."""
    use_rules(rule("resistor", f"{fact} > 0 ohm", "0.05 ohm", at=fact, unit=unit, step="0.01"))
    report = machine.mend()

    assert report.edits == ()
    assert "never edited" in report.by_hand[0].reason


def test_only_and_skip_choose_rules(machine: Machine) -> None:
    """Edits of one rule, or of all but one; what they leave is told."""
    both = {edit.setting for edit in machine.mend().edits}
    only = machine.mend(choice=choice_of(["hold-current-above-run"], ()))
    skipped = machine.mend(choice=choice_of((), ["hold-current-above-run"]))

    assert both == {"run_current", "hold_current"}
    assert only.edits == ()
    assert {edit.setting for edit in skipped.edits} == {"run_current"}
    assert "hold-current-above-run" in {finding.rule for finding in skipped.left}


def test_a_declined_setting_stays(machine: Machine) -> None:
    """The others are worked out without it."""
    plan = make_plan("printer.cfg", Asks())
    run = next(target for target in plan.changes if target.key == "run_current")
    without = machine.mend(choice=EditChoice(declined=frozenset({run})))

    assert fixes(without) == []
    assert {one.reason for one in without.by_hand} == {"you declined it"}


def test_an_allowed_rule_makes_no_edit(machine: Machine) -> None:
    """The owner's word holds for mending too; --no-allow mends all the same."""
    rules = {one.rule for edit in machine.mend().edits for one in edit.findings}
    reason = f" # feedwright: allow {' '.join(rules)}, measured"
    machine.config(CONFIG + DRIVER.replace("run_current: 0.9", "run_current: 0.9" + reason))

    assert machine.mend().edits == ()
    assert machine.mend().allowed == len(rules - {"hold-current-above-run"})
    assert [edit.setting for edit in machine.mend(asks={"allow": False}).edits] == [
        "run_current", "hold_current"]  # fmt: skip


def test_what_comes_with_the_edits_is_told(machine: Machine) -> None:
    """Less current is less torque: a finding that is new with the edits is named as new."""
    machine.sheet(SHEET.replace("mount: metal", "mount: pla").replace("30 degC", "45 degC"))
    before = rules_of(machine.lint())
    report = machine.mend(write=True)
    after = rules_of(machine.lint())

    assert report.edits
    new = sorted(finding.rule for finding in report.brought)
    assert new
    for name in new:
        after.remove(name)
    assert not [name for name in after if name not in before]
