"""The second set that is held out is complete and marked as invented.

What lint says of it is measured by tests/studies/field_precision.py --set field_third, and not
asserted: common practice, no source (the standards stand in README.md beside this file).
"""

from __future__ import annotations

import functools

from every import every

from tests.studies.field_precision import THIRD, Machine, machines
from tests.studies.held_out import check_folder, check_set


@functools.cache
def the_set() -> list[Machine]:
    """Return the machines of the set, read when they are needed."""
    return machines(folder=THIRD)


def test_thirty_machines_of_which_most_are_fine() -> None:
    """24 at least with a note at most; 8 with a profile, 4 with a sheet, 2 with a print."""
    check_set(the_set(), THIRD, count=30, fine=24)

    assert sum("profiles" in one.run for one in the_set()) == 8
    assert sum((one.folder / "hardware.yaml").is_file() for one in the_set()) == 4
    assert sum("print" in one.run for one in the_set()) == 2


@every("machine", the_set, ids=lambda machine: machine.name)
def test_a_folder_is_complete_and_marked_as_invented(machine: Machine) -> None:
    """Each first line says so, what is run is there, each expectation stands where it says."""
    check_folder(machine)
