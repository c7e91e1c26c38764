"""The set that is held out is complete and marked as invented.

What lint says of it is measured by tests/studies/field_precision.py --set field_later, and not
asserted: common practice, no source (the standards stand in README.md beside this file).
"""

from __future__ import annotations

import functools
from dataclasses import replace

from every import every

from tests.studies.field_precision import LATER, Machine, judge, load, machines
from tests.studies.held_out import check_folder, check_set


@functools.cache
def the_set() -> list[Machine]:
    """Return the machines of the set, read when they are needed."""
    return machines(folder=LATER)


def test_forty_machines_of_which_most_are_fine() -> None:
    """28 at least without anything above a note, and every folder is one of the set."""
    check_set(the_set(), LATER, count=40, fine=28)


@every("machine", the_set, ids=lambda machine: machine.name)
def test_a_folder_is_complete_and_marked_as_invented(machine: Machine) -> None:
    """Each first line says so, what is run is there, each expectation stands where it says."""
    check_folder(machine)


def test_a_print_of_the_set_is_read() -> None:
    """The study hands on the sliced print: one that is not there is told as unread."""
    calm = load(LATER / "percale")

    assert calm.run["print"] == "tag.gcode"
    assert judge(calm, draws=64).errors == ()
    assert judge(replace(calm, run={"print": "no.gcode"}), draws=64).errors
