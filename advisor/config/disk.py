"""Reads config files from the disk, with a limit; says in a sentence why one cannot be read.

It opens nothing but plain files: a pipe or a device could hold us up for ever.
"""

from __future__ import annotations

import errno
import glob
import os
import re
import stat

from advisor.budgets import CONFIG_BYTES
from advisor.config.encoding import printable
from advisor.errors import UnreadableError

__all__ = ["MAX_BYTES", "list_glob", "open_file", "too_large", "unreadable"]

MAX_BYTES = CONFIG_BYTES
_REASONS = {
    errno.ENOENT: ("there is no file '{}'", "check the path"),
    errno.ENOTDIR: ("there is no file '{}'", "check the path"),
    errno.EISDIR: ("'{}' is a folder", "name the config file in it"),
    errno.EACCES: ("'{}' may not be read", "ask for read permission"),
    errno.EPERM: ("'{}' may not be read", "ask for read permission"),
    errno.ELOOP: ("'{}' is a link that leads to itself", "mend the link"),
    errno.ENAMETOOLONG: ("'{}' is too long for a path", "check the path"),
    errno.ENXIO: ("'{}' is no plain file", "copy its text into a file"),
    errno.EINVAL: ("'{}' can be no path", "check the path"),
}
_KINDS: dict[type[Exception], int] = {
    FileNotFoundError: errno.ENOENT,
    IsADirectoryError: errno.EISDIR,
    PermissionError: errno.EACCES,
    ValueError: errno.EINVAL,
}


def open_file(path: str) -> bytes:
    """Return the bytes of a plain file.

    Raises
    ------
    FileNotFoundError
        If there is none.
    UnreadableError
        If it is a folder, a pipe or a device, may not be read or is above `MAX_BYTES`.
    """
    try:
        return _read(path)
    except FileNotFoundError:
        raise
    except (OSError, ValueError) as err:
        raise unreadable(path, err) from None


def list_glob(pattern: str) -> list[str]:
    """Return the paths that match a pattern, sorted; none for a pattern that makes no sense."""
    try:
        return sorted(glob.glob(pattern))
    except (OSError, ValueError, re.error, RecursionError):
        return []


def unreadable(path: str, err: Exception) -> UnreadableError:
    """Return the error that says why `path` cannot be read."""
    if isinstance(err, UnreadableError):
        return err
    number = next((code for kind, code in _KINDS.items() if isinstance(err, kind)), None)
    number = number or getattr(err, "errno", None) or 0
    problem, remedy = _REASONS.get(number, ("'{}' cannot be read", "try to copy it"))
    return UnreadableError(problem.format(printable(path)), remedy)


def too_large(path: str) -> UnreadableError:
    """Return the error that says that `path` is above the limit."""
    limit = MAX_BYTES // 1024 // 1024
    return UnreadableError(f"'{printable(path)}' is larger than {limit} MB", "name a config file")


def _read(path: str) -> bytes:
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    if os.path.isdir(path):
        raise IsADirectoryError(errno.EISDIR, "is a folder", path)
    with os.fdopen(os.open(path, flags), "rb") as stream:
        status = os.fstat(stream.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise OSError(errno.ENXIO, "is no plain file", path)
        data = stream.read(MAX_BYTES + 1) if status.st_size <= MAX_BYTES else b""
    if status.st_size > MAX_BYTES or len(data) > MAX_BYTES:
        raise too_large(path)
    return data
