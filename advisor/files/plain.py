"""Reads plain files, with a limit; says in a sentence why one cannot be read.

It opens nothing but plain files, and never waits: pipes, sockets and devices, and what the system
shows of itself under /proc, /sys and /dev, are refused.

Which files were read in this run is kept, by device and number: no output may go over one of them.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import stat
from typing import IO, BinaryIO

from advisor.base import CONFIG_BYTES, UnreadableError

__all__ = [
    "MAX_BYTES",
    "forget",
    "is_plain",
    "of_the_system",
    "open_file",
    "open_plain",
    "printable",
    "remember",
    "remember_stream",
    "size_of",
    "too_large",
    "unreadable",
    "was_read",
]

_READ: set[tuple[int, int]] = set()
MAX_BYTES = CONFIG_BYTES
_SURROGATES = re.compile("[\ud800-\udfff]")
_SYSTEM = ("/proc", "/sys", "/dev")
_MEMORY = "/dev/shm"  # an ordinary disk in memory
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


def open_plain(path: str, *, told: bool = True) -> BinaryIO:
    """Open a plain file of any size, to be read in blocks.

    Parameters
    ----------
    path : str
        The file.
    told : bool, optional
        Whether it is remembered as one that was read in this run.

    Raises
    ------
    OSError, ValueError
        If it cannot be opened; with ENXIO if it is no plain file.
    """
    if os.path.isdir(path):
        raise IsADirectoryError(errno.EISDIR, "is a folder", path)
    if of_the_system(path):
        raise OSError(errno.ENXIO, "it is no plain file", path)
    flags = os.O_RDONLY
    for name in ("O_NONBLOCK", "O_CLOEXEC", "O_NOCTTY", "O_BINARY"):
        flags |= getattr(os, name, 0)
    handle = os.open(path, flags)
    try:
        status = os.fstat(handle)
        if not stat.S_ISREG(status.st_mode):
            raise OSError(errno.ENXIO, "it is no plain file", path)
        if told:
            remember(status)
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def is_plain(path: str) -> bool:
    """Whether there is a plain file of this name, or a link to one."""
    try:
        return stat.S_ISREG(os.stat(path).st_mode) and not of_the_system(path)
    except (OSError, ValueError):
        return False


def size_of(path: str) -> int:
    """Return the size of a file in bytes; 0 where it has none."""
    with contextlib.suppress(OSError, ValueError):
        return os.stat(path).st_size
    return 0


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


def printable(text: str) -> str:
    """Return `text` with U+FFFD in place of bytes that are no UTF-8, safe to print anywhere."""
    return text if text.isascii() else _SURROGATES.sub("\ufffd", text)


def _read(path: str) -> bytes:
    with open_plain(path) as stream:
        size = os.fstat(stream.fileno()).st_size
        data = (stream.read(MAX_BYTES + 1) or b"") if size <= MAX_BYTES else b""
    if size > MAX_BYTES or len(data) > MAX_BYTES:
        raise too_large(path)
    return data


def of_the_system(path: str) -> bool:
    """Whether a path leads to what the system shows of itself, links followed."""
    real = os.path.realpath(path)
    within = any(real == top or real.startswith(f"{top}/") for top in _SYSTEM)
    return within and not real.startswith(f"{_MEMORY}/")
