"""The set that is held out is complete and marked as invented.

What lint says of it is measured by tests/studies/field_precision.py --set field_later, and not
asserted: common practice, no source (the standards stand in README.md beside this file).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.studies.field_precision import LATER, LEVELS, Machine, judge, load, machines

SET = machines(folder=LATER)
KEYS = {"config", "profiles", "sheet", "print"}


def _files(machine: Machine) -> list[Path]:
    return sorted(path for path in machine.folder.rglob("*") if path.is_file())


def test_forty_machines_of_which_most_are_fine() -> None:
    """28 at least without anything above a note, and every folder is one of the set."""
    fine = [one for one in SET if all(entry.level == "note" for entry in one.expect)]
    folders = {path.parent for path in LATER.glob("*/*") if path.parent.name != "__pycache__"}

    assert len(SET) == 40
    assert len(fine) >= 28
    assert {one.folder for one in SET} == folders


@pytest.mark.parametrize("machine", SET, ids=lambda machine: machine.name)
def test_a_folder_is_complete_and_marked_as_invented(machine: Machine) -> None:
    """Each first line says so, what is run is there, each expectation stands where it says."""
    for path in _files(machine):
        assert "invented" in path.read_bytes().splitlines()[0].decode("utf-8").lower(), path
    run = machine.run
    assert set(run) <= KEYS
    given = [run.get("config", "printer.cfg"), *run.get("profiles", ()), run.get("print")]
    for name in (one for one in given if one is not None):
        assert (machine.folder / name).is_file(), name
    assert machine.reason
    for entry in (*machine.expect, *machine.optional):
        assert entry.level in LEVELS
        assert entry.why
        assert entry.first is not None
        texts = [
            (machine.folder / file).read_text("utf-8").splitlines()[line - 1].strip()
            for file, line in (entry.first, *entry.places)
        ]
        assert texts[0] == entry.text


def test_a_print_of_the_set_is_read() -> None:
    """The study hands on the sliced print: one that is not there is told as unread."""
    calm = load(LATER / "percale")

    assert calm.run["print"] == "tag.gcode"
    assert judge(calm, draws=64).errors == ()
    assert judge(replace(calm, run={"print": "no.gcode"}), draws=64).errors
