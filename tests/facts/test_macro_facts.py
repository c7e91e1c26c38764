"""Which move of the macros asks most: new plastic only. Common practice of macros, no source."""

from __future__ import annotations

import pytest

from advisor.config import read_tree_from_bytes
from advisor.inputs.macros import read_macros
from advisor.machine.asked_facts import macro_facts


def _hardest(*lines: str) -> tuple[float, float] | None:
    text = "[gcode_macro A]\ngcode:\n  M83\n" + "".join(f"  {line}\n" for line in lines)
    facts = macro_facts(read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg")))
    if "macro.push_speed" not in facts:
        return None
    return float(facts["macro.push_speed"].number.si), float(facts["macro.push_length"].number.si)


def test_a_purge_is_its_length_and_speed() -> None:
    """Pushes of one speed in a row are one."""
    assert _hardest("G1 E60 F1200") == pytest.approx((0.020, 0.060))
    assert _hardest("G1 E30 F1200", "M400", "G1 E30") == pytest.approx((0.020, 0.060))


def test_what_was_drawn_back_is_no_new_plastic() -> None:
    """Of 24 mm after a retract of 20 mm four are new; an unretract alone is nothing."""
    assert _hardest("G1 E-20 F3000", "G1 E24 F3000") == pytest.approx((0.050, 0.004))
    assert _hardest("G1 E-20 F3000", "G1 E20 F3000") is None


def test_a_load_that_goes_on_slowly_is_judged_by_its_slow_part() -> None:
    """The fast part runs through a path that holds no plastic yet."""
    assert _hardest("G1 E50 F1200", "G1 E30 F150") == pytest.approx((0.0025, 0.030))
    assert _hardest("G1 E50 F1200", "G1 E-1", "G1 E30 F150") == pytest.approx((0.020, 0.050))


def test_behind_a_move_that_is_not_known_nothing_is_counted_on() -> None:
    """It may have drawn back any length."""
    assert _hardest("G1 E-{printer.x} F600", "G1 E60 F1200") is None


def test_a_longer_push_goes_before_a_faster_prime() -> None:
    """A prime of 2 mm at 60 mm/s asks less than 45 mm at 20 mm/s."""
    assert _hardest("G1 E2 F3600", "G1 E-1", "G1 E46 F1200") == pytest.approx((0.020, 0.045))


def test_a_tip_that_is_shaped_is_no_purge() -> None:
    """What is pushed and drawn back as far shapes the tip of a filament that is taken out."""
    assert _hardest("G1 E30 F1500", "G1 E-10 F1500", "G1 E10", "G1 E-60 F3000") is None
    assert _hardest("G1 E20 F1800", "G1 E-45 F1800") is None
    kept = _hardest("G1 E60 F1200", "G1 E-2 F2400")  # a purge and its retract
    assert kept == pytest.approx((0.020, 0.060))


def test_what_is_pushed_before_a_branch_counts_up_to_it() -> None:
    """Behind a branch the absolute position is not known: it may have been set there."""
    text = (
        "[gcode_macro A]\ngcode:\n  M82\n  G92 E0\n  G1 E20 F600\n  {% if a %}\n"
        "  G1 E-80 F600\n  {% endif %}\n  G1 E30\n"
    )
    facts = macro_facts(read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg")))
    assert facts["macro.distance"].nominal == pytest.approx(0.020)


def test_steps_of_the_head_are_steps_of_the_filament() -> None:
    """G91 makes E relative too in the ini-style firmware (from memory); a restore ends it."""
    text = "[gcode_macro A]\ngcode:\n  G91\n  G1 E25 F600\n  RESTORE_GCODE_STATE NAME=a\n  G1 E90\n"
    facts = macro_facts(read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg")))
    assert facts["macro.distance"].nominal == pytest.approx(0.025)
