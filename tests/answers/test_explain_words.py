"""What `explain` says in words: settings, limits, words of the trade, conditions of rules."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.condition_words import condition_words, template_words
from advisor.answers.explain_name import explain
from advisor.base import LIMITS, UsageError
from advisor.catalog import load_catalog
from advisor.inputs.dialect import load_dialect
from advisor.inputs.glossary import load_glossary
from advisor.inputs.profile.dialects import load_dialects
from advisor.judge import load_rulebook
from advisor.report.explain_text import render
from advisor.report.look import Look

HEALTHY = str(Path(__file__).resolve().parents[2] / "samples" / "healthy" / "printer.cfg")
ASKS = str(Path(__file__).resolve().parents[2] / "samples" / "asks-too-much" / "printer.cfg")
_CODE = re.compile(r"[a-z]\.[a-z]|_|[{}]|==|[<>]")


def test_every_key_that_states_a_fact_says_what_it_governs_and_what_not() -> None:
    """No key without its sentences, and no sentence for a key that is none."""
    keys = {key for role in load_dialect().roles.values() for key in role.keys}
    assert set(load_glossary().settings) == keys
    for name in keys:
        shown = explain(name)
        assert shown.kind == "setting"
        assert [label for label, _ in shown.lines][:2] == ["Governs", "Not"]


def test_every_limit_has_a_sentence_of_what_it_is() -> None:
    """It stands in the answer in the place of the bare title."""
    assert set(load_glossary().limits) == set(LIMITS)
    for limit in LIMITS:
        assert dict(explain(limit).spoken)["What"] == load_glossary().limits[limit]


def test_what_a_word_of_the_trade_points_to_can_be_asked_for() -> None:
    """Each name to go on with; each other word leads to the same; none hides another name."""
    for word in load_glossary().words.values():
        for name in word.see:
            assert explain(name).lines
        for other in (word.name, *word.also):
            found = explain(other)
            assert found.name == word.name or found.kind != "word", other


@pytest.mark.parametrize(
    ("name", "kind"),
    [("clicking", "word"), ("Under-extrusion", "word"), ("grip", "fact"),
     ("run_current", "setting"), ("pressure advance", "setting"), ("PLA", "material"),
     ("flow.melt", "fact"), ("run-current-above-derated", "rule")],
)  # fmt: skip
def test_names_are_found_as_people_write_them(name: str, kind: str) -> None:
    """In any case, with blanks for underscores."""
    assert explain(name).kind == kind


def test_every_condition_is_told_in_words() -> None:
    """No name of a fact, no sign of code, no place to fill in; rules of events too."""
    facts = load_catalog().facts
    for rule in load_rulebook().rules:
        shown = dict(explain(rule.name).spoken)
        assert shown["Told when"].strip(), rule.name
        for text in (shown["Says"], shown.get("Fix", ""), shown.get("Change", "")):
            assert not re.search(r"[{}]", text), (rule.name, text)
        if rule.when is not None:
            assert not _CODE.search(condition_words(rule.when.text, facts)), rule.name


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("stated(nozzle.diameter) and not known(driver.chip)",
         "the nozzle diameter is stated, and the driver chip is not known"),
        ("abs(nozzle.diameter / filament.diameter - 1) > 15 %",
         "the nozzle diameter differs from the filament diameter by more than 15 %"),
        ("not 3 mm <= nozzle.diameter <= 45 mm",
         "the nozzle diameter is not between 3 mm and 45 mm"),
        ("nozzle.diameter <= 2 * filament.diameter or motor.full_steps == 200",
         ("either the nozzle diameter is at most 2 times the filament diameter or full steps per "
          "turn is 200")),
        ('motor.rating_basis in ("peak", "unsure")', "what the rating means is peak or unsure"),
        ("not (nozzle.diameter > 1 mm or nozzle.diameter < 0.1 mm)",
         "the nozzle diameter is at most 1 mm, and the nozzle diameter is at least 0.1 mm"),
        ("min(nozzle.diameter, filament.diameter) < 3 mm",
         "the lowest of the nozzle diameter and the filament diameter is below 3 mm"),
        ("motor.microsteps == 8 or motor.microsteps == 16 or motor.microsteps == 32",
         "microsteps per full step is 8, 16 or 32"),
        ("not (motor.microsteps == 8 or motor.microsteps == 16)",
         "microsteps per full step is not 8 or 16"),
        ("not (nozzle.diameter > 1 mm and known(driver.chip))",
         "either the nozzle diameter is at most 1 mm or the driver chip is not known"),
        ("nominal(min(nozzle.diameter, filament.diameter)) < 3 mm",
         "the typical lowest of the nozzle diameter and the filament diameter is below 3 mm"),
    ],
)  # fmt: skip
def test_conditions_in_words(text: str, words: str) -> None:
    """The meaning stays: from memory of what the signs of the language mean."""
    assert condition_words(text, load_catalog().facts) == words


def test_places_to_fill_in_are_dots_with_the_unit() -> None:
    """A number has its unit, a setting its title; nothing is left of the place itself."""
    facts = load_catalog().facts
    assert template_words("At {nozzle.diameter:value} and {at_line}.", facts) == (
        "At ... mm and ..."
    )
    told = template_words("Set {nozzle.diameter:setting} to {nozzle.diameter / 2 | um}.", facts)
    assert told == "Set nozzle diameter to ... um."


def test_without_a_name_the_names_are_listed_by_kind() -> None:
    """Short, and all with --full."""
    names = explain(None)
    short, full = render(names), render(names, full=True)
    assert len(short.splitlines()) <= 40
    for name in ("clicking", "torque", "run_current", "tpu-95a", "round-36"):
        assert name in short
    assert "run-current-above-derated" in full
    assert "flow.capacity" in full


def test_a_derivation_is_two_levels_deep_and_whole_with_full() -> None:
    """The rungs that are left out are counted."""
    answer = explain("flow.capacity", config=HEALTHY, asks=Asks())
    short = render(answer, Look(80)).splitlines()
    full = render(answer, Look(80), full=True).splitlines()
    assert len(short) <= 30
    assert len(full) > 200
    deepest = max(len(line) - len(line.lstrip()) for line in short)
    assert deepest <= 10
    left = len(answer.derivation) - sum(step.depth < 2 for step in answer.derivation)
    assert f"{left} more below" in " ".join(" ".join(short).split())


def test_an_unknown_name_says_how_to_list_them() -> None:
    """Near misses first."""
    with pytest.raises(UsageError) as caught:
        explain("run_curent")
    assert "run_current" in (caught.value.remedy or "")
    with pytest.raises(UsageError) as caught:
        explain("qqqqqqqqqq")
    assert "lists the names" in (caught.value.remedy or "")


def test_a_rule_with_a_config_shows_the_sum_behind_its_figure() -> None:
    """As `explain FACT` does, two levels deep; the peak is told and so it is what is shown."""
    found = explain("advance-peak-past-corner", config=ASKS, asks=Asks(draws=64))
    fact = explain("motion.advance_peak_speed", config=ASKS, asks=Asks(draws=64))
    assert found.findings
    assert found.derivation
    assert [step.title for step in found.derivation] == [step.title for step in fact.derivation]
    told = render(found, Look(width=80))
    assert "filament speed peak with pressure advance" in told
    assert "pressure advance: 0.12 s" in told
    assert len(told.splitlines()) < 50


def test_without_a_config_a_rule_shows_no_sum() -> None:
    """There is nothing to work it out of."""
    assert explain("advance-peak-past-corner").derivation == ()


def test_every_key_that_a_slicer_profile_is_read_by_can_be_asked_for() -> None:
    """Also those that only other spellings name; a key of the config goes before."""
    for dialect in load_dialects().all:
        for key in dialect.spellings:
            assert explain(key).title, key
    cap = explain("filament_max_volumetric_speed")
    assert ("Fact", "demand.profile_flow") in cap.lines
    assert "profile-cap-above-capacity" in dict(cap.lines)["Rules"]
    assert "outer wall" in dict(explain("external_perimeter_speed").lines)["Sets"]


def test_the_words_that_messages_use_are_explained() -> None:
    """A message says "corner speed", a lever "a split nozzle"."""
    assert explain("corner speed").kind == explain("Split nozzle").kind == "word"


def test_of_a_value_that_the_rule_itself_says_no_rounding_is_told() -> None:
    """Silent mode is switched off by 0; a current is rounded down."""
    off, less = (load_rulebook().find(name) for name in
                 ("silent-mode-at-speed", "run-current-above-derated"))  # fmt: skip
    assert off is not None
    assert less is not None
    assert off.fix is not None
    assert less.fix is not None
    assert off.fix.rounding == ""
    assert less.fix.rounding == ", rounded down to 0.01 A rms"
    assert "rounded" not in (off.fix_text or "rounded")
    assert "rounded" not in render(explain("silent-mode-at-speed"))
