"""The few steps on the disk that writing is made of; each leaves the file old or new, whole.

All system calls of a write are made here. It decides nothing about what is written.

A lock keeps two runs from writing in the same folder at once, and ends with the process. The folder
itself is locked, so nothing is left behind. Where the system knows no such lock, the
comparison before each write still holds.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from collections.abc import Iterable, Iterator

from advisor.base import MendError
from advisor.files.plain import open_file

__all__ = ["create_beside", "failure", "locked", "move", "read", "remove", "stale", "sync_folder"]

_BUSY = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES)
_TEMPORARY = ".tmp"
_NO_FOLDER_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EACCES)
_REASONS = {
    errno.ENOSPC: ("the disk is full", "make room"),
    errno.EDQUOT: ("your share of the disk is full", "make room"),
    errno.EFBIG: ("the file would be larger than is allowed here", "ask for a larger limit"),
    errno.EROFS: ("the disk is mounted read-only", "mount it for writing"),
    errno.EACCES: ("its folder may not be written by you", "ask for the right to write there"),
    errno.EPERM: ("the system does not permit it", "ask for the right to write there"),
    errno.ENOENT: ("it is gone", "see what became of it"),
    errno.EIO: ("the disk reports an error", "check the disk, and copy what is on it"),
    errno.ENAMETOOLONG: ("its name is too long for a backup beside it", "give it a shorter name"),
}


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


def failure(shown: str, err: OSError) -> MendError:
    """Return the error that says why a file could not be written."""
    words = (err.strerror or "the system refuses").lower()
    why, remedy = _REASONS.get(err.errno or 0, (words, "see what is wrong there"))
    return MendError(f"'{shown}' cannot be written: {why}", remedy)


def read(path: str) -> bytes:
    """Return the bytes of a plain file that is no link.

    Raises
    ------
    OSError
        If it cannot be read; with ENOENT also where it has become something else.
    """
    if not stat.S_ISREG(os.lstat(path).st_mode):
        raise FileNotFoundError(errno.ENOENT, "is no plain file any more", path)
    return open_file(path)


def create_beside(path: str, data: bytes) -> tuple[str, bool]:
    """Write a new file beside `path`, like it in permissions and owner, and put it on the disk.

    Returns
    -------
    tuple of str and bool
        The new file's path, and whether the owner could be kept.

    Raises
    ------
    OSError
        If it cannot be written; nothing of it is left then.
    """
    folder, name = os.path.split(path)
    made = os.path.join(folder, f".{name}.feedwright-{secrets.token_hex(4)}{_TEMPORARY}")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(made, flags | getattr(os, "O_NOFOLLOW", 0), 0o600)
    try:
        try:
            _write(handle, data)
            kept = _like(handle, path)
            os.fsync(handle)
        finally:
            os.close(handle)
    except BaseException:
        remove(made)
        raise
    return made, kept


def _write(handle: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(handle, view) :]


def _like(handle: int, path: str) -> bool:
    """Give a new file the owner, the permissions and the attributes of an old one."""
    old, new = os.stat(path), os.fstat(handle)
    kept = True
    if hasattr(os, "fchown") and (old.st_uid, old.st_gid) != (new.st_uid, new.st_gid):
        try:
            os.fchown(handle, old.st_uid, old.st_gid)
        except OSError:
            kept = False
    _copy_attributes(handle, path)
    if hasattr(os, "fchmod"):
        os.fchmod(handle, stat.S_IMODE(old.st_mode) & (0o7777 if kept else 0o777))
    return kept


def _copy_attributes(handle: int, path: str) -> None:
    """Copy the extended attributes (access lists, labels), as far as the system lets us."""
    if not hasattr(os, "listxattr"):
        return
    names: list[str] = []
    with contextlib.suppress(OSError):
        names = os.listxattr(path)
    for name in names:
        with contextlib.suppress(OSError):
            os.setxattr(handle, name, os.getxattr(path, name))


def move(source: str, target: str) -> None:
    """Put a file in the place of another, in one step that is done or not done."""
    os.replace(source, target)


def sync_folder(folder: str) -> None:
    """Put the names in a folder on the disk, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    try:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as err:
        if err.errno not in _NO_FOLDER_SYNC:
            raise


def remove(path: str) -> None:
    """Remove a file of ours; what cannot be removed is left."""
    with contextlib.suppress(OSError):
        os.unlink(path)


def stale(path: str) -> list[str]:
    """Return what a write of `path` that was killed has left beside it."""
    folder, name = os.path.split(path)
    with contextlib.suppress(OSError):
        return [
            os.path.join(folder, other)
            for other in sorted(os.listdir(folder))
            if other.startswith(f".{name}.feedwright-") and other.endswith(_TEMPORARY)
        ]
    return []
