"""The snapshot of all outputs (tests/snapshot.py) leaves no command, sample or difference out."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
import typer
from tiers import only_wide, wide

from advisor.cli.app import app

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))
import snapshot  # noqa: E402
from snapshot_cases import Case, cases  # noqa: E402


@pytest.fixture(scope="module")
def every() -> list[Case]:
    """All cases of this tree."""
    return list(cases(ROOT, ROOT / "rules"))


def commands(group: object, *above: str) -> list[str]:
    """Return the words of each command below a group."""
    made: list[str] = []
    for name, command in getattr(group, "commands", {}).items():
        made += commands(command, *above, name) if hasattr(command, "commands") else [
            " ".join((*above, name))]  # fmt: skip
    return made


def test_every_command_is_run_and_its_help_is_shown(every: list[Case]) -> None:
    """A command without a case is told by name."""
    runs = {" ".join(case.arguments) for case in every}
    for command in commands(typer.main.get_command(app)):
        assert f"{command} --help" in runs, command
        assert any(run.startswith(f"{command} ") and "--help" not in run for run in runs), command


def test_every_sample_is_read(every: list[Case]) -> None:
    """Each config, sheet, profile, print and table that lies beside a planted.yaml."""
    named = {part for case in every for part in case.arguments}
    for planted in (ROOT / "samples").rglob("planted.yaml"):
        for path in planted.parent.iterdir():
            if path.is_file() and path != planted:
                assert path.relative_to(ROOT).as_posix() in named, path


def test_each_case_has_a_name_of_its_own(every: list[Case]) -> None:
    """Else one output would hide another."""
    names = [case.name for case in every]
    assert len(names) == len(set(names))


@wide
@only_wide
def test_a_snapshot_is_the_same_each_time_and_shows_each_width(tmp_path: Path) -> None:
    """Equal bytes; the lines keep to the width they are asked for; nothing of ours is changed."""
    before = dict(os.environ), Path.cwd(), list(sys.path)
    made = [snapshot.outputs(ROOT, ROOT / "samples", "no-sheet/printer.cfg/lint") for _ in "ab"]
    assert (dict(os.environ), Path.cwd(), list(sys.path)) == before
    for number, one in enumerate(made):
        snapshot.save(one, tmp_path / f"{number}.zip")
    assert (tmp_path / "0.zip").read_bytes() == (tmp_path / "1.zip").read_bytes()
    assert snapshot.load(tmp_path / "0.zip") == made[0]
    widest = {
        width: max(map(len, made[0][f"no-sheet/printer.cfg/lint/{width}"].splitlines()[3:]))
        for width in (60, 80, 120)
    }
    assert widest[60] <= 60 < widest[80] <= 80 < widest[120] <= 120


@wide
@only_wide
def test_what_is_written_is_shown_and_put_back() -> None:
    """The edited config and its backup, whose time is left out; the next case finds the old one."""
    written, shown = (
        snapshot.outputs(ROOT, ROOT / "samples", f"over-driven/printer.cfg/mend{end}")
        for end in ("/written", "")
    )
    text = written["over-driven/printer.cfg/mend/written"]
    assert "== written samples/over-driven/printer.cfg\n" in text
    assert "<time>" in text
    assert "run_current: 1.0 ->" in shown["over-driven/printer.cfg/mend/80"]


def test_a_difference_is_shown_once_with_the_names_of_all_that_have_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Changed, new and gone outputs; exit code 1, and 0 where all is the same."""
    old = {"a": "one\ntwo", "b": "one\ntwo", "c": "same", "gone": "x"}
    new = {"a": "one\n2", "b": "one\n2", "c": "same", "new": "y"}
    assert snapshot._tell(old, new, "before") == 1
    shown = capsys.readouterr().out
    assert shown.count("-two\n+2") == 1
    assert "=== a\n=== b\n--- before\n+++ this tree" in shown
    assert "=== gone" in shown
    assert "=== new" in shown
    assert "c\n" not in shown
    assert shown.endswith("4 of 5 outputs differ\n")
    assert snapshot._tell(new, new, "before") == 0
