"""The rulebook as a whole: what it must hold, where its numbers come from, how fast it is."""

from __future__ import annotations

import json
import re
from pathlib import Path

from every import every

from advisor.base import Level
from advisor.catalog import load_catalog
from advisor.judge import Rulebook, load_rulebook
from advisor.judge.build import event_kinds, read_rules

BOOK = load_rulebook()
RULES = {rule.name: rule for rule in BOOK.rules}
E, W, N = Level.ERROR, Level.WARNING, Level.NOTE

# What must be looked for, and how grave it is where nothing of it is assumed.
DUE = {
    "run-current-above-derated": W,
    "run-current-above-rated-rms": W,
    "run-current-above-rating": E,
    "run-current-above-full-scale": W,
    "run-current-above-driver-limit": W,
    "run-current-above-usual-motors": N,
    "peak-rating-as-run-current": W,
    "missing-run-current": W,
    "hold-current-above-run": W,
    "applied-current-off-asked": N,
    "spare-current-while-torque-limits": N,
    "winding-above-insulation-limit": W,
    "case-above-mount-limit": W,
    "silent-mode-at-speed": W,
    "silent-mode-below-current-floor": N,
    "silent-mode-heats-beyond-limit": W,
    "drive-gear-softens-filament": W,
    "travel-per-motor-turn-implausible": W,
    "gear-ratio-counted-twice": W,
    "gear-diameter-off-rotation-distance": W,
    "step-angle-mismatch": W,
    "malformed-ratio": E,
    "flow-asked-above-limits": E,
    "extrude-only-speed-beyond-torque": N,
    "extrude-only-acceleration-beyond-torque": N,
    "retract-speed-beyond-torque": W,
    "retract-speed-past-corner": W,
    "retract-speed-near-corner": N,
    "retract-step-rate-high": N,
    "advance-peak-past-corner": W,
    "advance-peak-near-corner": N,
    "nozzle-diameter-implausible": W,
    "filament-diameter-implausible": W,
    "cross-section-check-loosened": N,
    "cross-section-check-switched-off": W,
    "min-extrude-temperature-switched-off": W,
    "min-temperature-switched-off": W,
    "max-temperature-implausible": W,
    "max-temperature-below-material": W,
    "nozzle-below-core-temperature": E,
    "include-missing": W,
    "duplicate-setting": W,
    "text-after-saved-block": W,
    "swallowed-line": W,
    "value-no-number": W,
    "value-out-of-range": E,
    "value-beyond-any-machine": W,
    "driver-without-extruder": W,
    "section-wrong-case": W,
    "conflicting-statements": W,
    "profile-cap-above-capacity": E,
    "feature-flow-above-capacity": E,
    "profile-cap-far-below-capacity": N,
    "profile-nozzle-mismatch": W,
    "profile-filament-mismatch": W,
    "profile-temperature-outside-material-range": W,
    "profile-temperature-above-limit": E,
    "profile-acceleration-above-firmware": N,
    "pressure-advance-in-two-places": N,
}


@every("name", DUE)
def test_a_rule_that_is_due_is_there(name: str) -> None:
    """By name and level."""
    rule = BOOK.find(name)

    assert rule is not None
    assert rule.level is DUE[name]


def test_every_event_has_a_rule() -> None:
    """What a reader notices is told, or it need not be noticed."""
    kinds = event_kinds(read_rules()["events.yaml"])

    assert set(kinds) - set(BOOK.by_event) == set()


@every("name", RULES)
def test_sources_are_in_the_list_of_sources(name: str) -> None:
    """Each id has an entry with what it is and how far it is to be trusted."""
    assert RULES[name].sources
    assert set(RULES[name].sources) <= set(load_catalog().sources)


@every("name", RULES)
def test_a_rule_says_what_explain_tells(name: str) -> None:
    """Title, reason, condition, place; an edit or an instruction."""
    rule = RULES[name]

    assert rule.title[0].isupper()
    assert rule.why.endswith(".")
    assert rule.condition
    assert rule.fix_text or rule.advice_text
    assert rule.message_text.rstrip(")").endswith(".")
    assert rule.place.file.startswith("rules/")


def test_the_instruction_to_raise_a_current_is_never_an_edit() -> None:
    """Edits lower a current; more current is a person's decision, with a caution."""
    rule = RULES["spare-current-while-torque-limits"]

    assert rule.fix is None
    assert rule.caution
    for other in RULES.values():
        if other.fix is not None:
            assert other.fix.round == "down"
            assert not re.search("temperature", other.fix.fact)


def test_edits_of_the_run_current_carry_a_caution_or_lower_to_a_chip_limit() -> None:
    """A hot motor and lost torque are told wherever the current is changed for heat."""
    for rule in RULES.values():
        if rule.fix is not None and rule.fix.to.text == "motor.set_current":
            assert rule.caution


def test_rules_name_no_key_of_the_input() -> None:
    """Wording speaks of the trade's words; the user's own keys come from the user's text."""
    dialect = Path(__file__).parents[2] / "rules" / "dialects" / "ini_firmware.yaml"
    keys = set(re.findall(r"^    ([a-z]+(?:_[a-z]+)+):", dialect.read_text("utf-8"), re.MULTILINE))
    assert "run_current" in keys
    for rule in RULES.values():
        told = [rule.message_text, rule.advice_text or "", rule.why, rule.caution or "", rule.title]
        prose = re.sub(r"\{[^}]*\}", "", " ".join(told))
        assert keys & set(re.findall(r"\w+", prose)) == set(), rule.name


def test_compiled_rules_are_the_same_rules() -> None:
    """JSON holds all of it."""
    again = Rulebook.from_rows(json.loads(json.dumps([rule.row for rule in BOOK.rules])))

    assert again == BOOK
