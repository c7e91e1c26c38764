"""The field set is well-formed and marked as invented, and its study runs.

What lint says of it is not asserted.

Expectations were written from trade practice and the project's notes on how configs look, by
somebody who did not run the tool over them: common practice, no source.
"""

from __future__ import annotations

import functools
from pathlib import Path

from every import every
from tiers import only_wide, wide

from advisor import Finding, Level
from advisor.base import Span
from tests.studies.field_precision import (
    FIELD,
    LEVELS,
    Machine,
    details,
    held,
    judge,
    load,
    machines,
    summary,
    table,
)

TEN = ("aire", "bramble", "emmer", "flax", "forth", "heath", "ling", "severn", "thames", "vetch")
READ = (".cfg", ".ini", ".json", ".yaml")


@functools.cache
def the_set() -> list[Machine]:
    """Return the machines of the set, read when they are needed."""
    return machines()


def _files(machine: Machine) -> list[Path]:
    return sorted(path for path in machine.folder.rglob("*") if path.is_file())


def test_the_set_is_large_and_mostly_sound() -> None:
    """At least 60 machines; on at least half nothing above a note is due."""
    grave = [one for one in the_set() if any(entry.level != "note" for entry in one.expect)]

    assert len(the_set()) >= 60
    assert len(grave) <= len(the_set()) / 2
    folders = [path for path in FIELD.iterdir()
               if (path / "printer.cfg").exists() or any(path.glob("*/printer.cfg"))]  # fmt: skip
    assert len(the_set()) == len(folders)


def test_the_configs_are_as_long_as_real_ones() -> None:
    """A few of 300 lines and more, and none of a handful."""
    lengths = [
        sum(len(path.read_bytes().splitlines()) for path in one.folder.rglob("*.cfg"))
        for one in the_set()
    ]

    assert min(lengths) >= 20
    assert sum(length >= 300 for length in lengths) >= 3


@every("machine", the_set, ids=lambda machine: machine.name)
def test_a_folder_is_well_formed(machine: Machine) -> None:
    """Files are marked, the run's files are there, and each expectation stands where it says."""
    for path in _files(machine):
        assert path.suffix in READ, path
        assert "invented" in path.read_bytes().splitlines()[0].decode("utf-8").lower(), path
    for given in (machine.run.get("config", "printer.cfg"), *machine.run.get("profiles", ())):
        assert (machine.folder / given).exists(), given
    assert set(machine.run) <= {"config", "profiles", "sheet"}
    assert machine.reason
    assert "none_else: true" in (machine.folder / "expected.yaml").read_text("utf-8")
    for entry in (*machine.expect, *machine.optional):
        assert entry.level in LEVELS
        assert entry.why
        for file, line in entry.places:
            lines = (machine.folder / file).read_text("utf-8").splitlines()
            assert 1 <= line <= len(lines), (file, line)
        if entry.first is not None:
            file, line = entry.first
            text = (machine.folder / file).read_text("utf-8").splitlines()[line - 1]
            assert text.strip() == entry.text, (file, line)


@wide
@only_wide
def test_the_study_runs_on_ten_machines() -> None:
    """Each is judged, nothing is unread, and each finding and each expectation is counted once."""
    judged = [judge(one, draws=64) for one in machines(TEN)]

    assert [one.machine.name for one in judged] == list(TEN)
    assert [one.errors for one in judged] == [()] * len(TEN)
    told = sum(len(one.told) for one in judged)
    due = sum(len(one.machine.expect) for one in judged)
    for by in ("rule", "level"):
        numbers = [int(word) for word in table(judged, by)[-1].split() if word.isdigit()]
        assert numbers[0] == told
        assert due in numbers
    assert summary(judged)[0].startswith("machines 10;")
    assert isinstance(details(judged), list)


def test_the_judge_is_no_yes_man() -> None:
    """Right once, then again; another line is wrong; milder counts, graver does not."""
    machine = load(FIELD / "heath")
    cold = next(one for one in machine.expect if one.rule.startswith("min-extrude"))
    assert cold.first is not None
    file, line = cold.first

    def verdicts(*given: tuple[str, Level, int]) -> list[str]:
        findings = [
            Finding(rule=rule, level=level, stage="melt", message="m",
                    at=Span(str(machine.folder / file), at))
            for rule, level, at in given
        ]  # fmt: skip
        return [one.verdict for one in held(machine, findings).told]

    assert verdicts((cold.rule, Level.WARNING, line), (cold.rule, Level.NOTE, line)) == [
        "right",
        "again",
    ]
    assert verdicts((cold.rule, Level.NOTE, line)) == ["milder"]
    assert verdicts((cold.rule, Level.ERROR, line)) == ["graver"]
    assert verdicts((cold.rule, Level.WARNING, line + 1), ("no-such", Level.NOTE, line)) == [
        "extra",
        "extra",
    ]
    assert len(held(machine, []).missed) == len(machine.expect) == 2
