"""What a value that cannot be had is waiting for."""

from __future__ import annotations

from dataclasses import replace

from hand_made import figures
from held import made

from advisor.base import Fact, Figure, Span, State
from advisor.report.way_words import why_not_known


def fact(name: str, state: State, *inputs: str) -> Fact:
    return made(name, "mm", 1.0 if state is State.KNOWN else None, state=state, inputs=inputs)


def book(*facts: Fact) -> dict[str, Figure]:
    return figures(*facts)


def test_the_roots_are_named_not_the_steps_between() -> None:
    """torque <- travel <- (gear ratio, rotation distance): only what can be stated is named."""
    facts = book(
        fact("flow.torque", State.MISSING, "drive.travel", "nozzle.diameter"),
        fact("drive.travel", State.MISSING, "drive.gear_ratio", "drive.rotation_distance"),
        fact("drive.gear_ratio", State.KNOWN),
        fact("drive.rotation_distance", State.MISSING),
        fact("nozzle.diameter", State.KNOWN),
    )
    assert why_not_known(facts, "flow.torque") == "rotation distance is not stated"


def test_a_value_that_is_no_number_counts_before_one_that_is_not_stated() -> None:
    """The worst state is the fact's own; mending it comes first."""
    facts = book(
        fact("flow.melt", State.UNREADABLE, "nozzle.diameter", "hotend.measured_flow"),
        fact("nozzle.diameter", State.UNREADABLE),
        fact("hotend.measured_flow", State.MISSING),
    )
    assert why_not_known(facts, "flow.melt") == "nozzle diameter is no value"


def test_settings_of_the_config_are_named_before_what_a_sheet_could_say() -> None:
    """A missing rotation distance is a mistake in the config; a missing gear diameter is none."""
    home = Span("printer.cfg", 3)
    facts = book(
        fact("force.grip", State.MISSING, "drive.gear_diameter", "drive.rotation_distance"),
        fact("drive.gear_diameter", State.MISSING),
        replace(fact("drive.rotation_distance", State.MISSING), home=home),
    )
    assert why_not_known(facts, "force.grip") == "rotation distance is not stated"


def test_several_are_joined_and_many_are_counted() -> None:
    """Three names and how many more."""
    names = [f"motor.part_{letter}" for letter in "abcde"]
    facts = book(fact("flow.skip", State.UNKNOWN, *names), *(fact(x, State.UNKNOWN) for x in names))
    assert why_not_known(facts, "flow.skip") == (
        "motor part a, motor part b, motor part c and 2 more may stand in a missing include"
    )


def test_a_circle_ends_and_what_is_known_lacks_nothing() -> None:
    """Facts that name each other are no endless search."""
    facts = book(
        fact("a.one", State.MISSING, "a.two"), fact("a.two", State.MISSING, "a.one"),
        fact("a.known", State.KNOWN),
    )  # fmt: skip
    assert why_not_known(facts, "a.one") == "a two is not stated"
    assert why_not_known(facts, "a.known") == ""
    assert why_not_known(facts, "a.absent") == ""
