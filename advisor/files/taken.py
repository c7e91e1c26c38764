"""Which files were read in this run, by device and number; no output may go over one of them."""

from __future__ import annotations

import os
import stat
from typing import IO

__all__ = ["forget", "remember", "remember_stream", "was_read"]

_READ: set[tuple[int, int]] = set()


def forget() -> None:
    """Begin a new run: nothing was read yet."""
    _READ.clear()


def remember(status: os.stat_result) -> None:
    """Take note of a file that is read."""
    if stat.S_ISREG(status.st_mode):
        _READ.add((status.st_dev, status.st_ino))


def remember_stream(stream: IO[str] | IO[bytes] | None) -> None:
    """Take note of the file behind a stream, such as what standard input comes from."""
    try:
        if stream is not None:
            remember(os.fstat(stream.fileno()))
    except (OSError, ValueError, AttributeError):
        return


def was_read(status: os.stat_result) -> bool:
    """Whether this file was read in this run, by whatever name."""
    return (status.st_dev, status.st_ino) in _READ
