"""Every event the intake raises is listed in rules/events.yaml, with its fields."""

from __future__ import annotations

from collections.abc import Callable

from advisor.data.resources import read_text
from advisor.data.yamlread import read_yaml
from advisor.inputs.extruders import ConfigFacts

LISTED = read_yaml(read_text("rules", "events.yaml"), "events.yaml").data
EVERYTHING = """
[extruder]
rotation_distance: ????
step_distance: 0
gear_ratio: 50/10
microsteps: 16.0
[TMC2209 extruder]
[tmc2209 extruder]
interpolate: maybe
[tmc5160 extruder]
[tmc9999 extruder_stepper a]
[tmc2209 extruder3]
[extruder_stepper a]
microsteps: 99999999
extruder: extruder7
[extruder_stepper b]
extruder: extruder
[tmc_2209 extruder_stepper b]
run_current: 0.4
"""
OURS = {
    "value-no-number", "value-out-of-range", "value-beyond-any-machine", "malformed-ratio",
    "value-not-whole", "value-no-flag",
    "replaced-setting", "section-wrong-case", "driver-without-extruder", "two-drivers",
    "driver-unknown", "driver-word-unknown", "partner-missing",
}  # fmt: skip


def test_events_are_listed_with_their_fields(read: Callable[..., ConfigFacts]) -> None:
    """One config with every mistake: each kind once or more, and no field too many or few."""
    events = read(EVERYTHING).events

    assert {event.kind for event in events} == OURS
    for event in events:
        assert set(event.fields) == set(LISTED[event.kind]["fields"]), event.kind
