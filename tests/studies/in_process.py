"""Runs a command in this process and says what was wrong with the run, whatever was asked.

Shared by the studies and by their smoke in the quick tests. What must always hold: an exit code
of the table in the README, no traceback, no internal error, no warning, and an end.
"""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from advisor.cli import main

CODES = (0, 1, 2, 3)
LONGEST = 300  # seconds of the clock: a wait without end is seen as one, a busy machine is not
_FAULTS = ("INTERNAL ERROR", "Traceback (most recent call last)", "Warning:")


@dataclass(frozen=True)
class Run:
    """What a run left: exit code, the two streams, and what is wrong with it whatever was asked."""

    code: int | None
    out: bytes
    err: str
    faults: tuple[str, ...]

    @property
    def text(self) -> str:
        """All that it said."""
        return self.out.decode("utf-8", "replace") + self.err


class TooLongError(BaseException):
    """The run did not end; no `except Exception` of the program stops this."""


def run(arguments: Sequence[str], folder: Path, stdin: bytes = b"") -> Run:
    """Run the program with `folder` as its working directory."""
    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8"), io.TextIOWrapper(io.BytesIO(), "utf-8")
    faults: list[str] = []
    code: int | None = None
    with _streams(out, err, stdin), _within(folder), warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        try:
            with _alarm():
                code = main(list(arguments))
        except TooLongError:
            faults.append(f"it did not end within {LONGEST} s")
        except BaseException as error:  # noqa: BLE001 - whatever comes out is what we look for
            faults.append(f"{type(error).__name__} came out: {error}"[:200])
    out.flush()
    err.flush()
    words = err.buffer.getvalue().decode("utf-8", "replace")  # type: ignore[attr-defined]
    faults += [
        f"a warning: {one.category.__name__}: {one.message} ({one.filename})" for one in told
    ]
    faults += [_line_of(words, mark) for mark in _FAULTS if mark in words]
    if code is not None and code not in CODES:
        faults.append(f"the exit code is {code}")
    if code in (2, 3) and not words and not out.buffer.getvalue():  # type: ignore[attr-defined]
        faults.append(f"exit code {code} without a word")
    return Run(code, out.buffer.getvalue(), words, tuple(faults))  # type: ignore[attr-defined]


def _line_of(text: str, mark: str) -> str:
    return next(line for line in text.splitlines() if mark in line)[:250]


@contextlib.contextmanager
def _streams(out: io.TextIOWrapper, err: io.TextIOWrapper, stdin: bytes) -> Iterator[None]:
    before = sys.stdin
    sys.stdin = io.TextIOWrapper(io.BytesIO(stdin), "utf-8", errors="surrogateescape")
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            yield
    finally:
        sys.stdin = before


@contextlib.contextmanager
def _within(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


@contextlib.contextmanager
def _alarm() -> Iterator[None]:
    def ring(number: int, frame: FrameType | None) -> None:
        raise TooLongError

    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(LONGEST)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
