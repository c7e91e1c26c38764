"""Keeps two runs from writing in the same folder at once; the lock ends with the process.

The folder itself is locked, so nothing is left behind. Where the system knows no such lock, the
comparison before each write still holds.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterable, Iterator

from advisor.base import MendError

__all__ = ["locked"]

_BUSY = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES)


@contextlib.contextmanager
def locked(folders: Iterable[str]) -> Iterator[None]:
    """Hold the folders for one run of writing.

    Raises
    ------
    MendError
        If another run is writing there.
    """
    with contextlib.ExitStack() as held:
        for folder in sorted(set(folders)):
            _lock(folder, held)
        yield


def _lock(folder: str, held: contextlib.ExitStack) -> None:
    try:
        import fcntl
    except ImportError:  # a system without these locks
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return  # writing there will say why
    held.callback(_unlock, handle)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as err:
        if err.errno in _BUSY:
            problem = f"another run is writing in the folder '{folder}'"
            raise MendError(problem, "let it end, and run this again") from None


def _unlock(handle: int) -> None:
    with contextlib.suppress(OSError):
        os.close(handle)
