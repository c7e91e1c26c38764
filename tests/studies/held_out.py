"""What every set of invented machines that is held out must hold to: complete, marked, in place."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tests.studies.field_precision import LEVELS, Machine

__all__ = ["check_folder", "check_set"]

KEYS = {"config", "profiles", "sheet", "print"}


def check_set(machines: Sequence[Machine], folder: Path, count: int, fine: int) -> None:
    """Hold the set to its number, to those that get a note at most, and to every folder being one."""
    calm = [one for one in machines if all(entry.level == "note" for entry in one.expect)]
    folders = {path.parent for path in folder.glob("*/*") if path.parent.name != "__pycache__"}
    assert len(machines) == count
    assert len(calm) >= fine
    assert {one.folder for one in machines} == folders


def check_folder(machine: Machine) -> None:
    """Hold one folder to its marks, to the files it runs, and to the lines its entries name."""
    for path in sorted(path for path in machine.folder.rglob("*") if path.is_file()):
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
