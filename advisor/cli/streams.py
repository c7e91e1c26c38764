"""What a run leaves behind it: the three streams, and the exit code; the worst of all files wins.

The report goes to stdout, everything else to stderr; answers come in. A reader that goes away early
is no fault; text that the stream's encoding cannot hold is written as escapes instead of failing.
"""

from __future__ import annotations

import contextlib
import enum
import os
import signal
import sys
from collections.abc import Iterable
from typing import IO, AnyStr, TextIO

from advisor.base import UnreadableError
from advisor.report import plain

__all__ = [
    "Exit", "complain", "complain_each", "emit", "emit_bytes", "not_written", "read_input",
    "read_line", "tell",
]  # fmt: skip


class Exit(enum.IntEnum):
    """What a command's exit code says."""

    CLEAN = 0  # nothing at or above --fail-on
    FINDINGS = 1
    USAGE = 2  # the command line asks for something that cannot be
    FAULT = 3  # something could not be read, or an internal fault
    INTERRUPTED = 130


def emit(text: str) -> bool:
    """Write a report to stdout and return whether that went well.

    A reader that closed the pipe has what it wanted: that counts as well. A stdout that was
    closed from the start never had a reader: that is a fault.
    """
    stream = sys.stdout
    if not text:
        return True
    if stream is None:
        return _closed()
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="backslashreplace")
    return _written(stream, text)


def emit_bytes(data: bytes) -> bool:
    """Write bytes to stdout as they are, and return whether that went well.

    To a terminal they are written as text without control characters.
    """
    stream = sys.stdout
    if not data:
        return True
    if stream is None:
        return _closed()
    if stream.isatty() or not hasattr(stream, "buffer"):
        lines = data.decode("utf-8", "surrogateescape").split("\n")
        return emit("\n".join(plain(line.removesuffix("\r")) for line in lines))
    return _written(stream, "") and _written(stream.buffer, data)


def _written(stream: IO[AnyStr], report: AnyStr) -> bool:
    try:
        stream.write(report)
        stream.flush()
    except BrokenPipeError:
        _point_at_nothing()
    except OSError as error:
        not_written(error)
        return False
    return True


def not_written(error: OSError) -> None:
    """Say that stdout does not take what was to be written."""
    _point_at_nothing()
    complain(f"cannot write the report: {error.strerror or error}; make room and run it again")


def read_input(most: int) -> bytes:
    """Return what comes on stdin, up to one byte more than `most`; nothing where there is none.

    Raises
    ------
    UnreadableError
        If stdin cannot be read.
    """
    stream = sys.stdin
    if stream is None:
        return b""
    try:
        return stream.buffer.read(most + 1)
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or "it is closed"
        problem = f"standard input cannot be read: {reason.lower()}"
        raise UnreadableError(problem, "pipe a config into it, or name a file") from None


def tell(text: str) -> None:
    """Write lines of a report's second half to stderr."""
    stream = sys.stderr
    if stream is None:
        return
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="backslashreplace")
    with contextlib.suppress(OSError):
        stream.write(text)
        stream.flush()


def read_line() -> str | None:
    """Return a line of stdin with its end; None where there is no more, or no stdin.

    A Ctrl-C is not missed, however little before the reading it comes.
    """
    stream = sys.stdin
    if stream is None:
        return None
    try:
        _wait_for_keys(stream)
        return stream.readline() or None
    except (OSError, ValueError):  # the terminal is gone, or closed
        return None


def _wait_for_keys(stream: TextIO) -> None:
    """Wait until a terminal has a line, or a signal came.

    A signal that comes after the interpreter last looked for one, and before the system call that
    reads, would wait for the next line; the wake-up pipe ends that wait.
    """
    if os.name != "posix" or not stream.isatty():
        return
    import select

    woken, wake = os.pipe()
    try:
        os.set_blocking(wake, False)
        try:
            before = signal.set_wakeup_fd(wake, warn_on_full_buffer=False)
        except ValueError:  # not in the main thread, where signals do not arrive
            return
        try:
            select.select([stream.fileno(), woken], [], [])
        finally:
            signal.set_wakeup_fd(before)
    finally:
        os.close(woken)
        os.close(wake)


def complain(sentence: str) -> None:
    """Write one sentence to stderr, whatever characters it quotes."""
    stream = sys.stderr
    if stream is None:
        return
    with contextlib.suppress(OSError):
        stream.write(f"feedwright: {plain(sentence)}\n")
        stream.flush()


def complain_each(errors: Iterable[str]) -> None:
    """Complain of errors, line by line."""
    for error in errors:
        for line in error.splitlines():
            complain(line)


def _closed() -> bool:
    """Say that there is no stdout: what nobody can have read was not reported."""
    complain("cannot write the report: stdout is closed; send it to a terminal, file or pipe")
    return False


def _point_at_nothing() -> None:
    """Let the interpreter's own flush at exit go nowhere instead of complaining."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
