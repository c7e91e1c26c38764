"""Every example of the documents is run, and prints what stands there."""

from __future__ import annotations

import re

import pytest
import readme_blocks as examples
from every import every

CASES = [
    pytest.param(block, id=f"{file}:{number}:{block.splitlines()[0][2:]}")
    for file in examples.FILES
    for number, block in enumerate(examples.blocks(file), 1)
]


@every("block", CASES)
def test_example_prints_what_it_says(block: str) -> None:
    """The command prints exactly the text below it."""
    for step, real in examples.play(block):
        if not examples.fits(step.output, real):
            assert step.output == real, step.command


def test_the_three_uses_are_shown() -> None:
    """README.md has an example of each main command, so that the test above means something."""
    commands = {
        step.command.split()[1]
        for block in examples.blocks("README.md")
        for step in examples.steps(block)
        if step.command != "echo $?"
    }

    assert {"lint", "derate", "explain"} <= commands


def test_a_wrong_example_is_found() -> None:
    """Another word, a missing line and a line too many are each seen; dots stand for lines."""
    real = "one\ntwo\nthree\n"

    assert examples.fits(real, real)
    assert examples.fits("one\n...\nthree\n", real)
    assert not examples.fits("one\ntwo\n", real)
    assert not examples.fits("one\nTWO\nthree\n", real)
    assert not examples.fits("one\n...\nfour\n", real)


def test_readme_begins_with_two_commands() -> None:
    """After the first paragraph stand two commands of one line each, and no other such block."""
    text = (examples.ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^```sh\n(.*?)\n```$", text, re.MULTILINE | re.DOTALL)

    assert len(commands) == 2
    assert not any("\n" in command for command in commands)
    assert "feedwright lint samples/" in commands[0]
    assert commands[1].endswith("python -m pytest -n auto")
