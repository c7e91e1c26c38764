"""What macros set when they run; commands and their words are common practice of such macros."""

from __future__ import annotations

import math

import pytest

from advisor.config import read_tree_from_bytes
from advisor.inputs.macros import Macros, read_macros
from advisor.machine.asked_facts import set_facts


def _read(*lines: str, head: str = "gcode_macro START") -> Macros:
    text = f"[{head}]\nvariable_max_flow: 14\ngcode:\n" + "".join(f"  {one}\n" for one in lines)
    return read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg"))


def _set(*lines: str) -> list[tuple[str, float, int]]:
    found = [one for one in _read(*lines).settings if not one.kept]
    return [(one.fact, one.value, one.at.line) for one in found]


@pytest.mark.parametrize(
    ("line", "fact", "value"),
    [
        ("SET_PRESSURE_ADVANCE ADVANCE=0.045", "motion.pressure_advance", 0.045),
        ("set_pressure_advance extruder=extruder advance=.05", "motion.pressure_advance", 0.05),
        ("M900 K0.06", "motion.pressure_advance", 0.06),
        ("SET_VELOCITY_LIMIT ACCEL=8000", "motion.max_accel", 8.0),
        ("M204 S2500", "motion.max_accel", 2.5),
        ("M221 S95", "macro.flow_factor", 0.95),
        ("SET_TMC_CURRENT STEPPER=extruder CURRENT=0.8", "motor.run_current", 0.8),
        ("M109 S240", "macro.temperature", 240 + 273.15),
        ("SET_HEATER_TEMPERATURE HEATER=extruder TARGET=180", "macro.temperature", 453.15),
        ("SET_PRESSURE_ADVANCE ADVANCE={params.PA|default(0.04)|float}", "motion.pressure_advance",
         0.04),
        ("SET_VELOCITY_LIMIT ACCEL={3000 * 2}", "motion.max_accel", 6.0),
    ],
)  # fmt: skip
def test_a_command_states_what_it_sets(line: str, fact: str, value: float) -> None:
    """In SI, at its own line, comments between counted."""
    assert _set("# a comment", "", line) == [(fact, pytest.approx(value), 6)]


@pytest.mark.parametrize(
    "line",
    [
        "SET_PRESSURE_ADVANCE ADVANCE={printer.extruder.pressure_advance}",  # known when it runs
        "SET_PRESSURE_ADVANCE ADVANCE=0",  # switched off for a load
        "SET_TMC_CURRENT STEPPER={stepper} CURRENT=0.8",  # whose is not known
        "M104 S250 T1",  # of another tool
        "M109 S0",
        "M117 M221 S95",  # words for the display
        "; SET_PRESSURE_ADVANCE ADVANCE=0.07",
        "SET_VELOCITY_LIMIT ACCEL=1e99",
    ],
)
def test_what_is_not_known_is_not_told(line: str) -> None:
    """Nothing is guessed."""
    assert _set(line) == []


def test_a_largest_flow_that_is_kept_is_told_as_kept() -> None:
    """At the variable's own line; the unit is mm3/s (common practice)."""
    (kept,) = _read("M117 x").settings
    assert (kept.fact, kept.kept, kept.at.line) == ("demand.stated_flow", True, 2)
    assert kept.value == pytest.approx(14e-9)


def test_a_current_counts_for_the_extruder_it_names() -> None:
    """The largest of several; a temperature counts only as a number, for the only extruder."""
    macros = _read(
        "SET_TMC_CURRENT STEPPER=extruder CURRENT=0.5",
        "SET_TMC_CURRENT STEPPER=extruder CURRENT=0.7",
        "SET_TMC_CURRENT STEPPER=stepper_x CURRENT=1.4",
        "SET_HEATER_TEMPERATURE HEATER=heater_bed TARGET=500",
        "M104 S{params.T|default(400)}",
        "M104 S210",
    )
    facts = set_facts(macros.settings, "extruder", alone=True)
    assert facts["macro.run_current"].nominal == pytest.approx(0.7)
    assert facts["macro.temperature"].nominal == pytest.approx(210 + 273.15)
    assert "macro.temperature" not in set_facts(macros.settings, "extruder", alone=False)
    assert not set_facts(macros.settings, "extruder1", alone=False)


def test_of_flow_factor_and_turn_the_farthest_counts() -> None:
    """By hand, as factors: 85 % is farther from 100 % than 110 %; 47 mm from 45.2 mm than 44 mm.

    Of pressure advance the largest. A turn that is not the config's own is told, where there is
    nothing to compare it with the largest.
    """
    macros = _read(
        "M221 S110", "M221 S85", "M221 S100",
        "SET_EXTRUDER_ROTATION_DISTANCE EXTRUDER=extruder DISTANCE=44",
        "SET_EXTRUDER_ROTATION_DISTANCE EXTRUDER=extruder DISTANCE=47",
        "SET_EXTRUDER_ROTATION_DISTANCE EXTRUDER=extruder1 DISTANCE=7",
        "SET_PRESSURE_ADVANCE ADVANCE=0.02", "SET_PRESSURE_ADVANCE ADVANCE=0.06",
        "SET_PRESSURE_ADVANCE ADVANCE={params.PA|default(0.9)}",
    )  # fmt: skip
    assert math.log(1 / 0.85) > math.log(1.1)
    assert math.log(47 / 45.2) > math.log(45.2 / 44)
    facts = set_facts(macros.settings, "extruder", alone=True, rotation_distance=0.0452)
    found = {name: fact.nominal for name, fact in facts.items()}
    assert found == {
        "macro.flow_factor": pytest.approx(0.85),
        "macro.rotation_distance": pytest.approx(0.047),
        "macro.pressure_advance": pytest.approx(0.06),
    }
    assert facts["macro.flow_factor"].origin.text == "The macro START"
    assert facts["macro.flow_factor"].origin.at is not None
    other = set_facts(macros.settings, "extruder1", alone=False, rotation_distance=0.0452)
    assert {name: fact.nominal for name, fact in other.items()} == {
        "macro.rotation_distance": pytest.approx(0.007)
    }
