"""A report on many extruders says nothing twice. Judged by the words alone; no source."""

from __future__ import annotations

from dataclasses import replace

from hand_made import derived, figures, spread

from advisor.base import Report
from advisor.report import text


def test_extruders_of_which_the_same_holds_share_a_block(quiet_machine: Report) -> None:
    """Eight configs alike: one drawing, one list of what to measure, all eight named."""
    one = quiet_machine.extruders[0]
    many = tuple(replace(one, config=f"shop/{number}.cfg") for number in range(8))
    shown = text.render(replace(quiet_machine, extruders=many), full=True)
    single = text.render(quiet_machine, full=True)
    assert shown.count("capacity  ") == single.count("capacity  ")
    assert len(shown.splitlines()) <= len(single.splitlines()) + 5
    assert all(f"shop/{number}.cfg" in shown for number in range(8))
    assert shown.count("Assumed") == single.count("Assumed") == 1


def test_how_to_measure_is_told_once(machine: Report) -> None:
    """A second extruder with other numbers names the input and points up."""
    one = machine.extruders[0]
    half = tuple(replace(entry, share=entry.share / 2) for entry in one.measure_next)
    two = replace(one, name="extruder1", measure_next=half)
    shown = " ".join(text.render(replace(machine, extruders=(one, two)), full=True).split())
    assert shown.count("until the gears slip") == 1
    assert shown.count("as above") >= 1
    assert "Measure next for extruder1" in shown


def test_the_same_advice_stands_once_under_a_heading(machine: Report) -> None:
    """A rule that fires twice with the same words: place and message twice, advice once."""
    found = next(finding for finding in machine.findings if finding.advice)
    again = replace(found, message="another message")
    told = text.render(replace(machine, findings=(found, again)), full=True)
    shown = " ".join(told.split()).replace("mm\u00b3", "mm3")
    assert found.advice is not None
    assert shown.count(" ".join(found.advice.split())) == 1
    assert f"see above {found.rule}" in shown
    assert found.message in shown
    assert again.message in shown


def test_what_is_assumed_is_named_even_without_a_number(machine: Report) -> None:
    """Never "2 more" of nothing."""
    one = machine.extruders[0]
    guessed = frozenset({"motor.run_current"})
    capacity = derived("flow.capacity", spread(9.7e-9, 6.1e-9, 14e-9), "mm3/s", assumed=guessed)
    two = replace(one, facts={**one.facts, **figures(capacity)}, measure_next=())
    for full in (False, True):
        assert "motor.run_current" in text.render(replace(machine, extruders=(two,)), full=full)


def test_no_gears_are_told_where_none_are_known(machine: Report) -> None:
    """1:1 is what the firmware takes for a missing ratio, no word on the machine."""
    one = machine.extruders[0]
    facts = {**one.facts, **figures(derived("drive.gear_ratio", 1.0, "-"))}
    facts.pop("drive.travel_per_motor_turn", None)
    shown = text.render(replace(machine, extruders=(replace(one, facts=facts),)), full=True)
    assert "gears       " not in shown
    assert "gears       " in text.render(machine, full=True)


def test_the_columns_of_the_way_never_run_together(machine: Report) -> None:
    """Ends far below what can be set, or without an end above, keep a blank after them."""
    one = machine.extruders[0]
    for low, high in ((0.00123, 8.52), (0.0512, 12.3), (0.4321, 123.4), (12.34, None)):
        limits = tuple(replace(limit, low=low, high=high) for limit in one.limits)
        shown = text.render(replace(machine, extruders=(replace(one, limits=limits),)))
        rows = [row for row in shown.splitlines() if "skips at" in row]
        assert rows
        assert all(row[:31].endswith(" ") and row[31:].startswith("skips") for row in rows), rows
