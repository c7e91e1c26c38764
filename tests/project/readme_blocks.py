"""Runs the examples of a Markdown file; with --write it puts the real output into them.

An example is a ``console`` block: ``$ feedwright ...`` and what that prints, stdout and stderr
together, 80 columns wide, without colour. ``$ echo $?`` shows the exit code of the command before
it. A line ``...`` stands for any number of lines (with --write it and what is below it stay).
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FILES = ("README.md", "DEVELOPERS.md")
_BLOCK = re.compile(r"(?<=^```console\n).*?(?=^```$)", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Step:
    """One command of an example and the output that stands below it."""

    command: str
    output: str


def blocks(file: str) -> list[str]:
    """Return the text of each example of a file."""
    return _BLOCK.findall((ROOT / file).read_text(encoding="utf-8"))


def steps(block: str) -> list[Step]:
    """Return the commands of an example."""
    parts = re.split(r"^\$ (.*)\n", block, flags=re.MULTILINE)
    assert parts[0] == "", f"an example begins with a command, not with {parts[0]!r}"
    return [Step(*pair) for pair in zip(parts[1::2], parts[2::2], strict=True)]


def play(block: str) -> list[tuple[Step, str]]:
    """Return each step of an example with what its command really prints."""
    code, played = 0, []
    for step in steps(block):
        if step.command == "echo $?":
            played.append((step, f"{code}\n"))
            continue
        code, output = _run(step.command)
        played.append((step, output))
    return played


def fits(shown: str, real: str) -> bool:
    """Say whether the real output is the shown one, where a line ``...`` is anything."""
    pattern = "".join(
        r"(?:.*\n)*" if line == "...\n" else re.escape(line)
        for line in shown.splitlines(keepends=True)
    )
    return re.fullmatch(pattern, real) is not None


def _run(command: str) -> tuple[int, str]:
    program, *arguments = shlex.split(command)
    assert program == "feedwright", f"{program} is not run in an example"
    from advisor.cli import main

    both = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with _as_shown(both), contextlib.chdir(ROOT):
        code = main(arguments)
    both.flush()
    return int(code), both.buffer.getvalue().decode()  # type: ignore[attr-defined]


@contextlib.contextmanager
def _as_shown(both: io.TextIOWrapper) -> Iterator[None]:
    """Both streams into one, 80 columns wide, without colour; nothing on standard input."""
    environment, streams = dict(os.environ), (sys.stdin, sys.stdout, sys.stderr)
    os.environ.pop("FORCE_COLOR", None)
    os.environ.update({"COLUMNS": "80", "NO_COLOR": "1"})
    sys.stdin, sys.stdout, sys.stderr = io.TextIOWrapper(io.BytesIO(), "utf-8"), both, both
    try:
        yield
    finally:
        sys.stdin, sys.stdout, sys.stderr = streams
        os.environ.clear()
        os.environ.update(environment)


def _kept(shown: str, real: str) -> str:
    """Return the real output, cut where the shown one is cut."""
    head, dots, tail = shown.partition("...\n")
    if not dots:
        return real
    lines = len(head.splitlines())
    return "".join(real.splitlines(keepends=True)[:lines]) + dots + tail


def _write(file: str) -> None:
    path = ROOT / file
    played = {
        block: "".join(f"$ {s.command}\n{_kept(s.output, real)}" for s, real in play(block))
        for block in blocks(file)
    }
    text = _BLOCK.sub(lambda found: played[found[0]], path.read_text(encoding="utf-8"))
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    assert sys.argv[1:] == ["--write"], "python tests/project/readme_blocks.py --write"
    for name in FILES:
        _write(name)
