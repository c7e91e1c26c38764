"""A parent outside of the profile's folder gives its values; no text of it gets out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from file_runs import Runner
from tiers import spread, wide

SECRET = "Zq7SECRETzq"
CONFIG = """\
[printer]
max_velocity: 300
max_accel: 3000

[extruder]
rotation_distance: 22.6
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
max_temp: 280
"""
INI_CHILD = "name = mine\ninherits = Shared\nlayer_height = 0.2\n"
INI_PARENT = f"""\
# {SECRET}
name = {{name}}
inherits = {SECRET} above; {SECRET}
filament_max_volumetric_speed = 13.5
filament_type = PLA{{extra}}
temperature = {{extra}}215
external_perimeter_speed = 40
infill_speed = 80, {SECRET}
perimeter_speed = {SECRET}
solid_infill_speed = ={SECRET}(1)
extrusion_width = 0.45
start_filament_gcode = ; {SECRET}\\nM900 K0.04 ; {SECRET}
{SECRET} = {SECRET}
"""
JSON_CHILD = {"type": "filament", "name": "mine", "inherits": "Shared"}
JSON_PARENT = {
    "type": "filament", "name": "Shared", "inherits": f"{SECRET} above",
    "filament_max_volumetric_speed": ["13.5", SECRET], "nozzle_temperature": [SECRET],
    "filament_type": [SECRET], "filament_start_gcode": [f"M900 K0.04 ; {SECRET}"],
    "filament_notes": SECRET, SECRET: SECRET,
}  # fmt: skip


def lay_out(top: Path, parent: str, *, form: str = "ini", name: str = "Shared") -> None:
    """A profile in a folder of its own, its parent beside that."""
    own = top / "mine"
    own.mkdir()
    (own / "printer.cfg").write_text(CONFIG)
    child = INI_CHILD if form == "ini" else json.dumps(JSON_CHILD)
    (own / f"child.{form}").write_text(child)
    (top / "shared").mkdir()
    (top / "shared" / f"{name}.{form}").write_text(parent)


def commands(own: Path, form: str) -> Iterator[tuple[object, ...]]:
    """Yield the commands that take a profile, in each of their forms."""
    given = (own / "printer.cfg", "--profile", own / f"child.{form}")
    yield "lint", *given
    yield "lint", *given, "--full"
    yield "flow", *given, "--full"
    yield "lint", *given, "--format", "sarif"
    yield "flow", *given, "--format", "json"
    yield "mend", *given, "--format", "json"
    yield "mend", *given, "--write"
    yield "compare", *given, "--target", "30mm3/s"
    yield "report", *given, "--html", "-"


MAKERS = {
    "ini": ("ini", "Shared", INI_PARENT.format(name="Shared", extra="")),
    "ini with bad values": ("ini", "Shared", INI_PARENT.format(name="Shared", extra=SECRET)),
    "ini of another file name": ("ini", SECRET, INI_PARENT.format(name="Shared", extra="")),
    "ini of another own name": ("ini", "Shared", INI_PARENT.format(name=SECRET, extra="")),
    "JSON": ("json", "Shared", json.dumps(JSON_PARENT)),
    "JSON of another file name": ("json", SECRET, json.dumps(JSON_PARENT)),
}


@wide
@pytest.mark.parametrize("made", spread(list(MAKERS), 1))
def test_no_text_of_a_parent_outside_gets_out(tmp_path: Path, run: Runner, made: str) -> None:
    """Values count; the secret in names, keys, values, comments and G-code is in no output."""
    form, name, parent = MAKERS[made]
    lay_out(tmp_path, parent, form=form, name=name)
    own = tmp_path / "mine"
    leaks = [words for words in commands(own, form)
             if SECRET in (said := run(*words).said) or "INTERNAL" in said]  # fmt: skip
    flow = run("flow", own / "printer.cfg", "--profile", own / f"child.{form}")

    assert leaks == []
    read = "13.5 mm\u00b3/s" in flow.said
    assert read is (name == "Shared")  # beside, only its name finds a file
    assert (tmp_path / "shared" / f"{name}.{form}").read_text() == parent


@pytest.mark.parametrize("option", ["--allow-outside", "--parents"])
def test_a_folder_that_is_named_is_quoted(tmp_path: Path, run: Runner, option: str) -> None:
    """Both options say that the folder is the user's own."""
    form, name, parent = MAKERS["ini with bad values"]
    lay_out(tmp_path, parent, form=form, name=name)
    own = tmp_path / "mine"
    words = ("lint", own / "printer.cfg", "--profile", own / "child.ini", "--full")

    assert SECRET in run(*words, option, tmp_path / "shared").said
    assert SECRET not in run(*words).said


def test_parents_outside_that_differ_are_told_without_their_names(
    tmp_path: Path, run: Runner
) -> None:
    """Two files state other values: the parent is left open, and their names are not shown."""
    lay_out(tmp_path, INI_PARENT.format(name=SECRET, extra=""))
    other = INI_PARENT.format(name=SECRET, extra="").replace("13.5", "9")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "Shared.ini").write_text(other)
    own = tmp_path / "mine"
    said = run("lint", own / "printer.cfg", "--profile", own / "child.ini", "--full").said

    assert "'Shared'" in said
    assert SECRET not in said


def test_a_circle_outside_is_told_without_names(tmp_path: Path, run: Runner) -> None:
    """Parents outside that go round: the sentence holds no name of theirs."""
    lay_out(tmp_path, f"name = Shared\ninherits = {SECRET}\nlayer_height = 0.2\n")
    (tmp_path / "shared" / f"{SECRET}.ini").write_text(
        f"name = {SECRET}\ninherits = Shared\nlayer_height = 0.2\n"
    )
    own = tmp_path / "mine"
    said = run("flow", own / "printer.cfg", "--profile", own / "child.ini").said

    assert "circle" in said
    assert SECRET not in said
