"""`mend --weighed`: what a weighed test narrows, the edits follow."""

from __future__ import annotations

import re
from pathlib import Path

from mend_helpers import Machine
from tiers import only_wide, wide

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
PROFILE = "filament_type = PLA\nfilament_max_volumetric_speed = 24\n"


def healthy(machine: Machine) -> str:
    """Lay out the sample that was weighed, and return the name of a profile that asks too much."""
    for name in ("printer.cfg", "hardware.yaml", "flow-test.csv"):
        machine.config((SAMPLES / "healthy" / name).read_bytes(), name)
    return machine.profile(PROFILE)


def test_the_cap_follows_the_weighed_capacity(machine: Machine) -> None:
    """The new cap is the flow to set with the test, as lint works it out; below the capacity."""
    profile = healthy(machine)
    weighed = ("--profile", profile, "--weighed", "flow-test.csv")
    caps = {}
    for options in (weighed[:2], weighed):
        ran = machine.run("mend", "printer.cfg", *options, "--format", "json")
        (edit,) = ran.json["edits"]
        caps[len(options)] = float(edit["to"])
        lint = machine.run("lint", "printer.cfg", *options, "--format", "json").json
        facts = lint["extruders"][0]["facts"]
        assert caps[len(options)] == facts["profile.cap_setting"]["value"]
        assert caps[len(options)] < facts["flow.capacity"]["value"]

    assert caps[2] != caps[4]


@wide
@only_wide
def test_what_is_written_needs_no_more_edits(machine: Machine) -> None:
    """The command that the summary names writes the edits shown, and a second run finds none."""
    profile = healthy(machine)
    shown = machine.run("mend", "printer.cfg", "--profile", profile, "--weighed", "flow-test.csv")
    named = re.search(r"to write    feedwright ((?:.+\n)(?:            .+\n)*)", shown.err)
    assert named is not None
    arguments = named[1].split()
    written = machine.run(*arguments)

    assert "--weighed flow-test.csv" in " ".join(arguments)
    assert (written.code, written.out) == (0, shown.out)
    assert machine.run(*arguments).out == b""


def test_a_table_that_cannot_be_read_stops_it(machine: Machine) -> None:
    """Without the test the edits would be others: none is made, with exit code 3."""
    profile = healthy(machine)
    before = machine.bytes(profile)
    ran = machine.run("mend", "printer.cfg", "--profile", profile, "--weighed", "none.csv",
                      "--write-profile")  # fmt: skip

    assert (ran.code, ran.out) == (3, b"")
    assert "none.csv" in ran.err
    assert machine.bytes(profile) == before


def test_the_next_command_is_the_one_given(machine: Machine) -> None:
    """Every option that decides on the edits is named again."""
    healthy(machine)
    options = ("--sheet", "hardware.yaml", "--material", "pla", "--asked", "12mm3/s",
               "--skip", "run-current-above-derated", "--no-allow")  # fmt: skip
    machine.config(re.sub(r"hold_current: .*", "hold_current: 1.4", machine.bytes().decode()))
    ran = machine.run("mend", "printer.cfg", *options)

    named = " ".join(ran.err.partition("to write")[2].split())
    for name, value in zip(options[:6:2], options[1:6:2], strict=True):
        assert f"{name} {value}" in named
    assert "--skip run-current-above-derated" in named
    assert "--no-allow" in named
