"""Profiles given together make one ask; where they differ, that is told."""

from __future__ import annotations

import pytest
from held import held

from advisor.base import State
from tests.inputs_profile.conftest import Ask

CAP = "demand.profile_flow"
FILAMENT = {"type": "filament", "name": "F", "filament_max_volumetric_speed": ["12"],
            "filament_flow_ratio": "0.9", "filament_type": "ABS"}  # fmt: skip
PROCESS = {"type": "process", "name": "P", "layer_height": "0.2", "line_width": "0.5",
           "outer_wall_speed": "60"}  # fmt: skip


def test_a_filament_and_a_process_make_one_ask(ask: Ask) -> None:
    """The cap comes from one file, the feature from the other, its flow ratio from the first."""
    found = ask({"F.json": FILAMENT, "P.json": PROCESS})
    (wall,) = found.features

    assert held(found.facts[CAP]) == pytest.approx(12e-9)
    assert (wall.width, wall.height, wall.speed, wall.flow_ratio) == pytest.approx(
        (0.5e-3, 0.2e-3, 0.060, 0.9)
    )
    assert found.events == ()
    assert [status.path for status in found.files] == ["F.json", "P.json"]


@pytest.mark.parametrize(("path", "part"), [("F.json", "print"), ("P.json", "filament")])
def test_half_an_ask_is_told(ask: Ask, path: str, part: str) -> None:
    """A filament alone, or a process alone, is an answer with a note of what is missing."""
    found = ask({"F.json": FILAMENT, "P.json": PROCESS}, path)
    (event,) = found.events

    assert (event.kind, event.fields) == ("profile-part-missing", {"part": part})
    assert found.features_state is (State.MISSING if part == "print" else State.KNOWN)


def test_two_filaments_are_a_conflict(ask: Ask) -> None:
    """The later file counts; one event names both, the settings and the first two values."""
    other = FILAMENT | {"name": "G", "filament_max_volumetric_speed": "20", "filament_type": "PLA"}
    found = ask({"F.json": FILAMENT, "G.json": other, "P.json": PROCESS})
    (event,) = [event for event in found.events if event.kind == "profile-conflict"]

    assert held(found.facts[CAP]) == pytest.approx(20e-9)
    assert (event.fields["first"], event.fields["second"]) == ("F", "G")
    assert event.fields["settings"] == "filament_max_volumetric_speed, filament_type"
    assert (event.fields["old"], event.fields["new"]) == ("12", "20")
    assert event.at.file == "G.json"


def test_the_same_value_twice_is_no_conflict(ask: Ask) -> None:
    """A list and a text with commas are the same value."""
    first = FILAMENT | {"filament_max_volumetric_speed": ["12", "14"]}
    same = FILAMENT | {"filament_max_volumetric_speed": "12,14"}
    nozzles = PROCESS | {"nozzle_diameter": ["0.4", "0.4"]}
    found = ask({"F.json": first, "G.json": same, "P.json": nozzles})

    assert [event.kind for event in found.events] == []


def test_profiles_in_different_dialects(ask: Ask) -> None:
    """Facts of two dialects are put together: caps by the smaller, others by the later file."""
    flat = "filament_max_volumetric_speed = 9\ntemperature = 250\nfilament_type = PETG\n"
    found = ask({"F.json": FILAMENT, "x.ini": flat, "P.json": PROCESS})
    (event,) = [e for e in found.events if e.kind == "profile-conflict" and e.fact == CAP]

    assert held(found.facts[CAP]) == pytest.approx(9e-9)
    assert found.facts["filament.material"].text == "petg"
    assert held(found.facts["profile.temperature"]) == pytest.approx(250 + 273.15)
    assert (event.fields["old"], event.fields["new"]) == ("12", "9")
    assert held(ask({"x.ini": flat, "F.json": FILAMENT}).facts[CAP]) == pytest.approx(9e-9)
    assert found.features[0].speed == pytest.approx(0.060)


def test_no_profile_states_nothing(ask: Ask) -> None:
    """Without files every fact is missing, and nothing is told."""
    found = ask({})

    assert {fact.state for fact in found.facts.values()} == {State.MISSING}
    assert (found.features, found.events, found.profiles) == ((), (), ())


def test_the_same_file_twice_counts_once(ask: Ask) -> None:
    """A path given twice is read once."""
    files = {"F.json": FILAMENT, "P.json": PROCESS}

    assert ask(files, "F.json", "P.json", "F.json") == ask(files, "F.json", "P.json")
