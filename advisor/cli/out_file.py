"""Writes one file that the owner named with --out: whole or not at all, and never over another.

Over a file that is there it writes only where the owner agreed.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat

from advisor.errors import InputError, UsageError
from advisor.mend import disk

__all__ = ["exists", "write_out"]


def exists(path: str, *, option: str = "--out") -> bool:
    """Return whether there is a file of this name.

    Raises
    ------
    UsageError
        If something else has this name, or there is no folder for it.
    """
    folder = os.path.dirname(os.path.realpath(path))
    if not path or not os.path.isdir(folder):
        raise UsageError(
            f"{option}: there is no folder for '{path}'", "make it, or name another file"
        )
    try:
        mode = os.stat(path).st_mode
    except FileNotFoundError:
        return os.path.lexists(path)
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or "it can be no path"
        raise UsageError(
            f"{option}: '{path}' cannot be: {reason.lower()}", "name another"
        ) from None
    if not stat.S_ISREG(mode):
        remedy = "name a file that can be written"
        raise UsageError(f"{option}: '{path}' is no plain file", remedy)
    return True


def write_out(path: str, text: str, *, replace: bool) -> None:
    """Write a file; with `replace` over one that is there, which keeps its permissions.

    Raises
    ------
    InputError
        If it cannot be written, or is there by now and must not be replaced.
    """
    data, real = text.encode("utf-8", "surrogateescape"), os.path.realpath(path)
    try:
        if replace and os.path.exists(real):
            made, _ = disk.create_beside(real, data)
            _move(made, real)
        else:
            _create(real, data)
        disk.sync_folder(os.path.dirname(real))
    except FileExistsError:
        raise InputError(f"'{path}' is there by now", "name another file") from None
    except OSError as err:
        raise disk.failure(path, err) from None


def _move(made: str, real: str) -> None:
    try:
        disk.move(made, real)
    except OSError:
        disk.remove(made)
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
        disk.remove(made)


def _name(made: str, real: str) -> None:
    with contextlib.suppress(OSError, NotImplementedError, AttributeError):
        if not os.path.lexists(real):
            os.link(made, real)
            return
    if os.path.lexists(real):
        raise FileExistsError(real)
    disk.move(made, real)  # a disk without second names
