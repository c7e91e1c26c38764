"""The exit codes; the worst of all files wins."""

from __future__ import annotations

import enum

__all__ = ["Exit"]


class Exit(enum.IntEnum):
    """What a command's exit code says."""

    CLEAN = 0  # nothing at or above --fail-on
    FINDINGS = 1
    USAGE = 2  # the command line asks for something that cannot be
    FAULT = 3  # something could not be read, or an internal fault
    INTERRUPTED = 130
