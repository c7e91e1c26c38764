"""A folder without a config of its own: the message names the folders below that have one."""

from __future__ import annotations

import os
import shlex
from pathlib import Path

import pytest

from advisor.answers.which_configs import expand
from advisor.base import UsageError
from advisor.cli import main

ROOT = Path(__file__).resolve().parents[2]
CONFIG = "[extruder]\nrotation_distance: 22\n"


def message(folder: Path | str) -> str:
    with pytest.raises(UsageError) as caught:
        expand([str(folder)])
    return str(caught.value)


def test_the_sample_tree_names_its_machine(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The folder of the machine, not those of its includes; typed as it stands, it works."""
    monkeypatch.chdir(ROOT)
    assert main(["lint", "samples/include-tree"]) == 2
    said = capsys.readouterr().err
    assert said.rstrip().endswith("name samples/include-tree/sorghum")
    assert main(["lint", said.split()[-1]]) in (0, 1)


def test_several_are_named_nearest_first(tmp_path: Path) -> None:
    """Three of them, and how many more."""
    for name in ("a/deep/er", "b", "c d", "e", "f"):
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "printer.cfg").write_text(CONFIG)
    said = message(tmp_path).partition("name ")[2]
    named, _, more = said.partition(" or ")

    assert shlex.split(named.replace(", ", " ")) == [str(tmp_path / n) for n in ("b", "c d", "e")]
    assert more == "2 more"


def test_nothing_below_is_said_as_before(tmp_path: Path) -> None:
    """Also where what is below is hidden, a link back, or too deep."""
    (tmp_path / ".git").mkdir()
    (tmp_path / ".git" / "x.cfg").write_text(CONFIG)
    deep = tmp_path / "1/2/3/4/5/6"
    deep.mkdir(parents=True)
    (deep / "printer.cfg").write_text(CONFIG)
    if hasattr(os, "symlink"):
        (tmp_path / "round").symlink_to(tmp_path)
    assert message(tmp_path).endswith("name one (.cfg or .conf)")


def test_a_large_tree_does_not_hold_it_up(tmp_path: Path) -> None:
    """Thousands of folders are not searched to their end."""
    for number in range(1500):
        (tmp_path / f"{number:04}").mkdir()
    (tmp_path / "1499" / "printer.cfg").write_text(CONFIG)
    assert message(tmp_path).endswith("name one (.cfg or .conf)")
