"""Parents: where they are found, which value wins, and what is said when one is missing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from held import held

from advisor.base import ProfileError, State
from advisor.inputs.profile import read_profiles
from tests.inputs_profile.conftest import Ask

CAP = "demand.profile_flow"
CHILD = {
    "type": "filament",
    "name": "child",
    "inherits": "Base 0.20mm",
    "nozzle_temperature": "230",
}
BASE = {
    "type": "filament",
    "name": "Base 0.20mm",
    "filament_max_volumetric_speed": ["13"],
    "nozzle_temperature": ["215"],
}
PLACES = {
    "beside": ("user/filament/c.json", "user/filament/Base 0.20mm.json"),
    "sibling folder": ("tree/filament/c.json", "tree/base/Base 0.20mm.json"),
    "folder below": ("tree/filament/c.json", "tree/filament/base/Base 0.20mm.json"),
    "folder above": ("tree/filament/base/c.json", "tree/filament/Base 0.20mm.json"),
    "beside, other file name": ("user/c.json", "user/exported.json"),
    "current folder": ("c.json", "Base 0.20mm.json"),
}


@pytest.mark.parametrize("place", PLACES)
def test_a_parent_is_found_near_the_file(ask: Ask, place: str) -> None:
    """The parent gives what the child does not state; the child's own value wins."""
    child, parent = PLACES[place]
    found = ask({child: CHILD, parent: BASE}, child)
    cap = found.facts[CAP]

    assert held(cap) == pytest.approx(13e-9)
    assert cap.origin.at is not None
    assert cap.origin.at.file == parent
    assert held(found.facts["profile.temperature"]) == pytest.approx(230 + 273.15)
    assert [(status.path, status.role) for status in found.files] == [
        (child, "profile"),
        (parent, "profile-parent"),
    ]
    assert found.profiles[0].parents == ("Base 0.20mm",)


@pytest.mark.parametrize("parent", ["lib/Base 0.20mm.json", "lib/a/b/Base 0.20mm.json"])
def test_a_parent_is_found_in_a_folder_given(ask: Ask, parent: str) -> None:
    """A folder given is searched with the folders below it; without it the parent is missing."""
    files = {"my/deep/c.json": CHILD, parent: BASE}

    assert ask(files, "my/deep/c.json", folders=["lib"]).facts[CAP].known
    assert ask(files, "my/deep/c.json").facts[CAP].state is State.UNKNOWN


def test_a_parent_of_another_kind_is_none(ask: Ask) -> None:
    """A print profile of the same name is not the parent of a filament."""
    other = {"type": "process", "name": "Base 0.20mm", "filament_max_volumetric_speed": "99"}

    found = ask({"a/c.json": CHILD, "a/Base 0.20mm.json": other}, "a/c.json")

    assert found.facts[CAP].state is State.UNKNOWN


def test_a_missing_parent_is_told_by_name_and_place(ask: Ask) -> None:
    """What is not stated is UNKNOWN, points at the line that names the parent, and is told."""
    found = ask({"c.json": CHILD})
    (event,) = [event for event in found.events if event.kind == "profile-parent-missing"]
    cap = found.facts[CAP]

    assert (cap.state, cap.origin.text) == (State.UNKNOWN, "Base 0.20mm")
    assert cap.origin.at == event.at
    assert event.at.line == 4
    assert event.fields["profile"] == "child"
    assert event.fields["parent"] == "Base 0.20mm"
    assert event.fact == CAP
    assert event.fields["lacking"].startswith("stated largest flow, filament material, ")
    assert found.facts["profile.temperature"].known
    assert found.profiles[0].missing_parents == ("Base 0.20mm",)


def test_speeds_in_a_missing_parent_are_open_features(ask: Ask) -> None:
    """A print profile that leaves its speeds to a missing parent has open features, not none."""
    found = ask(
        {"p.json": {"type": "process", "name": "p", "inherits": "X", "layer_height": "0.2"}}
    )

    assert found.features == ()
    assert found.features_state is State.UNKNOWN
    assert "outer-wall" in found.open_features
    (event,) = [event for event in found.events if event.kind == "profile-parent-missing"]
    assert "outer wall speed" in event.fields["lacking"]
    assert "layer height" not in event.fields["lacking"]


def test_a_part_in_a_missing_parent_is_named(ask: Ask) -> None:
    """A feature with its own speed whose width is open says so, and does not take another one."""
    data = {"type": "process", "name": "p", "inherits": "X", "outer_wall_speed": "60",
            "line_width": "0.5", "layer_height": "0.2"}  # fmt: skip
    (wall,) = ask({"p.json": data}).features

    assert wall.width is None
    assert wall.height == pytest.approx(0.2e-3)
    assert "width" in wall.unknown
    assert "height" not in wall.unknown


def test_a_chain_of_parents(ask: Ask) -> None:
    """Six steps are followed, the nearest value wins, and one missing at the top is told."""
    files: dict[str, Any] = {
        f"p{i}.json": {
            "type": "process",
            "name": f"p{i}",
            "inherits": f"p{i + 1}",
            **({"outer_wall_speed": str(10 * i)} if i >= 2 else {}),
        }
        for i in range(6)
    }
    found = ask(files, "p0.json")
    (event,) = [event for event in found.events if event.kind == "profile-parent-missing"]

    assert {f.name: f.speed for f in found.features} == {"outer-wall": pytest.approx(0.020)}
    assert found.profiles[0].parents == ("p1", "p2", "p3", "p4", "p5")
    assert (event.fields["profile"], event.fields["parent"]) == ("p5", "p6")


@pytest.mark.parametrize("length", [1, 2, 5])
def test_a_circle_of_parents_is_an_error(ask: Ask, length: int) -> None:
    """Parents that go round are told with their names and a place."""
    files: dict[str, Any] = {
        f"p{i}.json": {"name": f"p{i}", "inherits": f"p{(i + 1) % length}", "layer_height": "0.2"}
        for i in range(length)
    }
    files["start.json"] = {"name": "start", "inherits": "p0"}
    if length == 1:
        # a profile that names itself has no parent of another file: it is missing, not a circle
        assert ask(files, "start.json").profiles[0].missing_parents == ("p0",)
        return
    with pytest.raises(ProfileError, match="in a circle: 'p0' -> 'p1'") as caught:
        ask(files, "start.json")

    assert caught.value.at is not None


def test_a_chain_without_end_is_an_error(ask: Ask) -> None:
    """A chain longer than any real one is refused instead of followed."""
    files: dict[str, Any] = {
        f"p{i}.json": {"name": f"p{i}", "inherits": f"p{i + 1}", "layer_height": "0.2"}
        for i in range(100)
    }
    with pytest.raises(ProfileError, match="over more than 64 steps"):
        ask(files, "p0.json")


def test_two_different_parents_of_one_name_are_told(ask: Ask) -> None:
    """Where two folders have different parents of that name none is taken; equal ones are one."""
    other = BASE | {"filament_max_volumetric_speed": ["20"]}
    files = {"t/f/c.json": CHILD, "t/a/Base 0.20mm.json": BASE, "t/b/Base 0.20mm.json": other}
    found = ask(files, "t/f/c.json")
    (event,) = [event for event in found.events if event.kind == "profile-parent-unclear"]

    assert found.facts[CAP].state is State.UNKNOWN
    assert event.fields["candidates"] == "t/a/Base 0.20mm.json, t/b/Base 0.20mm.json"
    same = ask(files | {"t/b/Base 0.20mm.json": BASE}, "t/f/c.json")
    assert same.facts[CAP].known


def test_a_parent_given_too_is_no_ask_of_its_own(ask: Ask) -> None:
    """Child and parent given together make the child's ask, without a conflict."""
    found = ask({"a/c.json": CHILD, "b/d/base.json": BASE})

    assert [profile.name for profile in found.profiles] == ["child"]
    assert found.facts[CAP].known
    assert not [event for event in found.events if event.kind == "profile-conflict"]


def test_a_broken_file_beside_does_not_disturb(ask: Ask) -> None:
    """The search for a parent passes over files that cannot be read."""
    files = {"c.json": CHILD, "a.json": "{broken", "b.json": b"\0\1", "z.json": BASE}

    assert ask(files, "c.json").facts[CAP].known


def test_a_flat_ini_finds_a_flat_parent(ask: Ask) -> None:
    """Ini profiles have parents beside them too."""
    files = {
        "print/a.ini": "inherits = Base\nlayer_height = 0.2\nperimeter_speed = 60\n",
        "print/Base.ini": "layer_height = 0.3\nextrusion_width = 0.5\n",
    }
    found = ask(files, "print/a.ini")

    assert held(found.facts["profile.layer_height"]) == pytest.approx(0.2e-3)
    assert held(found.facts["profile.line_width"]) == pytest.approx(0.5e-3)


def test_parents_in_the_file_system(tmp_path: Path) -> None:
    """With the default functions the real file system is read."""
    (tmp_path / "user").mkdir()
    (tmp_path / "system").mkdir()
    child = tmp_path / "user" / "c.json"
    child.write_text('{"type": "filament", "name": "c", "inherits": "b"}', encoding="utf-8")
    parent = tmp_path / "system" / "b.json"
    parent.write_text('{"filament_max_volumetric_speed": "9"}', encoding="utf-8")

    assert held(read_profiles([str(child)]).facts[CAP]) == pytest.approx(9e-9)
