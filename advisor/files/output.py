"""Writes the one file that an option names: whole or not at all, and never over another's.

It replaces only what carries our own mark, and nothing that was read in this run. Over a file
that is there it writes only where the caller says so.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Callable

from advisor.base import InputError, UsageError
from advisor.files import steps
from advisor.files.plain import open_plain, was_read

__all__ = ["Ours", "begins_with", "earlier", "exists", "write_out"]

Ours = Callable[[bytes], bool]
"""Tells from the first bytes of a file whether we wrote it."""

_HEAD = 1024
_OTHER = "name another file"


def begins_with(*marks: str) -> Ours:
    """Return what knows our files by how they begin; a byte order mark is passed over."""
    wanted = tuple(mark.encode() for mark in marks)
    return lambda head: head.removeprefix(b"\xef\xbb\xbf").startswith(wanted)


def exists(path: str, *, option: str = "--out") -> bool:
    """Return whether there is a file of this name.

    Raises
    ------
    UsageError
        If something else has this name, or there is no folder for it.
    """
    try:
        folder = os.path.dirname(os.path.realpath(path))
        if not path or not os.path.isdir(folder):
            problem = f"{option}: there is no folder for '{path}'"
            raise UsageError(problem, "make it, or name another file")
        mode = os.stat(path).st_mode
    except FileNotFoundError:
        return os.path.lexists(path)
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or "it can be no path"
        problem = f"{option}: '{path}' cannot be: {reason.lower()}"
        raise UsageError(problem, "name another") from None
    if not stat.S_ISREG(mode):
        remedy = "name a file that can be written"
        raise UsageError(f"{option}: '{path}' is no plain file", remedy)
    return True


def earlier(path: str, *, option: str, ours: Ours, what: str) -> bool:
    """Return whether there is an earlier file of ours that may be replaced.

    Parameters
    ----------
    path, option : str
        The file and the option that names it.
    ours : callable
        Tells our files by their first bytes; an empty file may be replaced too.
    what : str
        What an earlier one would be, in words.

    Raises
    ------
    UsageError
        If anything else has this name, or there is no folder for it.
    """
    if not exists(path, option=option):
        return False
    _refuse_read(path, option)
    try:
        with open_plain(path, told=False) as stream:
            head = stream.read(_HEAD)
    except (OSError, ValueError) as err:
        words = (getattr(err, "strerror", None) or "it cannot be opened").lower()
        raise UsageError(f"{option}: '{path}' cannot be read: {words}", _OTHER) from None
    if head and not ours(head):
        raise UsageError(f"{option}: '{path}' is there, and no {what}", _OTHER)
    return True


def write_out(
    path: str, text: str, *, replace: bool, option: str = "--out", over_read: bool = False
) -> None:
    """Write a file; with `replace` over one that is there, which keeps its permissions.

    Parameters
    ----------
    path, text : str
        The file and what goes into it.
    replace : bool
        Whether it takes the place of one that is there.
    option : str, optional
        The option that names it.
    over_read : bool, optional
        Whether the owner agreed to replace a file that was read in this run.

    Raises
    ------
    UsageError
        If it is a file that was read in this run.
    InputError
        If it cannot be written, or is there by now and must not be replaced.
    """
    data, real = text.encode("utf-8", "surrogateescape"), os.path.realpath(path)
    try:
        if replace and os.path.exists(real):
            if not over_read:
                _refuse_read(path, option)
            if not stat.S_ISREG(os.lstat(real).st_mode):
                raise InputError(f"'{path}' is no plain file any more", _OTHER)
            made, _ = steps.create_beside(real, data)
            _move(made, real)
        else:
            _create(real, data)
        steps.sync_folder(os.path.dirname(real))
    except FileExistsError:
        raise InputError(f"'{path}' is there by now", _OTHER) from None
    except OSError as err:
        raise steps.failure(path, err) from None


def _refuse_read(path: str, option: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        if was_read(os.stat(path)):
            raise UsageError(f"{option}: '{path}' is what is to be read", _OTHER)


def _move(made: str, real: str) -> None:
    try:
        steps.move(made, real)
    except OSError:
        steps.remove(made)
        raise


def _create(real: str, data: bytes) -> None:
    """Write beside the name, then give it the name if that is still free."""
    folder, name = os.path.split(real)
    made = os.path.join(folder, f".{name}.feedwright-{secrets.token_hex(4)}.tmp")
    try:
        with os.fdopen(os.open(made, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        _name(made, real)
    finally:
        steps.remove(made)


def _name(made: str, real: str) -> None:
    with contextlib.suppress(OSError, NotImplementedError, AttributeError):
        if not os.path.lexists(real):
            os.link(made, real)
            return
    if os.path.lexists(real):
        raise FileExistsError(real)
    steps.move(made, real)  # a disk without second names
