"""Writes edited files: each is old or new, whole, at every moment, and the old one is kept.

Everything that can fail is done for all files before the first one is replaced: comparing,
writing the new text beside it, making the backup. It decides nothing about the edits.

Whether a file may be written where it is hangs on links, other names and permissions.
"""

from __future__ import annotations

import hashlib
import os
import stat
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from advisor.base import AdvisorError, MendError
from advisor.files import failure, locked, steps as disk

__all__ = ["Job", "Written", "backup_name", "check_place", "digest", "place_notes", "write_all"]


def check_place(shown: str, real: str, folder: str) -> None:
    """Make sure that a file may be written.

    Parameters
    ----------
    shown : str
        Its path as the user gave it.
    real : str
        Its path, links followed.
    folder : str
        The config's folder; a link may lead to a file in it and nowhere else.

    Raises
    ------
    MendError
        If a link leads out of the folder, or the file is read-only or no plain file.
    """
    if _is_linked(shown, real, folder) and not _inside(real, folder):
        problem = f"'{shown}' is a link out of its folder, to '{real}'; nothing is written there"
        raise MendError(problem, "name the file it leads to, if that is what you want")
    try:
        status, writable = os.lstat(real), os.access(real, os.W_OK)
    except OSError as err:
        raise failure(shown, err) from None
    if not stat.S_ISREG(status.st_mode):
        raise MendError(f"'{shown}' is no plain file", "copy its text into one")
    if not status.st_mode & 0o222 or not writable:
        raise MendError(f"'{shown}' is read-only", "allow writing it, if it is yours to change")


def place_notes(shown: str, real: str, folder: str) -> list[str]:
    """Return what is to be said of a file that may be written."""
    notes = []
    if _is_linked(shown, real, folder):
        notes.append(f"'{shown}' is a link; the file it leads to is written: '{real}'.")
    try:
        names = os.lstat(real).st_nlink
    except OSError:
        names = 1
    if names > 1:
        others = "another name" if names == 2 else f"{names - 1} other names"
        notes.append(f"'{shown}' has {others} (hard links), which will keep the old text.")
    return notes


def _is_linked(shown: str, real: str, folder: str) -> bool:
    """Whether a link below the folder, or the file itself as a link, is on the way."""
    inner = os.path.relpath(os.path.abspath(shown), os.path.abspath(folder))
    return os.path.normpath(os.path.join(os.path.realpath(folder), inner)) != real


def _inside(real: str, folder: str) -> bool:
    base = os.path.realpath(folder)
    try:
        return os.path.commonpath([base, real]) == base
    except ValueError:  # another drive
        return False


@dataclass(frozen=True, slots=True)
class Job:
    """One file to be replaced: how it is named, its folder's limits, old and new bytes.

    ``ready`` is a file that holds the new bytes already, in the same folder; it is used up.
    """

    shown: str
    real: str
    folder: str  # links may lead to files in here only
    before: bytes
    after: bytes
    ready: str | None = None

    @property
    def home(self) -> str:
        """The folder the file is in."""
        return os.path.dirname(self.real)


@dataclass(frozen=True, slots=True)
class Written:
    """A file that was replaced, and where its old text is."""

    shown: str
    backup: str | None
    owner_kept: bool = True


@dataclass(slots=True)
class _Prepared:
    job: Job
    new: str
    backup: str | None = None
    owner_kept: bool = True
    done: bool = False


def write_all(jobs: Sequence[Job], *, clock: Callable[[], float] = time.time) -> list[Written]:
    """Replace files, each in one step, and return where the old ones are.

    Parameters
    ----------
    jobs : sequence of Job
        The files, in the order in which they are replaced.
    clock : callable, optional
        Returns the time for the names of the backups.

    Raises
    ------
    MendError
        If one cannot be written. It says which files are written all the same.
    """
    with locked(job.home for job in jobs):
        prepared: list[_Prepared] = []
        try:
            stamp = _free_stamp(jobs, clock())
            for job in jobs:
                check_place(job.shown, job.real, job.folder)
                _compare(job)
            for job in jobs:
                _prepare(job, stamp, prepared)
            for one in prepared:
                _replace(one)
        except BaseException as err:  # noqa: BLE001 - an interruption too leaves no half
            _tidy(prepared)
            raise _told(err, prepared) from None
        return [Written(one.job.shown, one.backup, one.owner_kept) for one in prepared]


def digest(data: bytes) -> str:
    """Return a short digest, by which a backup tells whether its file is still as written."""
    return hashlib.blake2b(data, digest_size=4).hexdigest()


def backup_name(real: str, stamp: str, after: bytes) -> str:
    """Return the path of the backup of a file; hidden, so that no include pattern reads it."""
    folder, name = os.path.split(real)
    return os.path.join(folder, f".{name}.feedwright-{stamp}-{digest(after)}.bak")


def _free_stamp(jobs: Sequence[Job], now: float) -> str:
    """Return the present time, later where a backup has that name already."""
    while True:
        stamp = time.strftime("%Y%m%d-%H%M%S", time.localtime(now))
        if not any(os.path.lexists(backup_name(job.real, stamp, job.after)) for job in jobs):
            return stamp
        now += 1.0


def _compare(job: Job) -> None:
    """Make sure that a file is as it was read."""
    try:
        present = disk.read(job.real)
    except OSError as err:
        raise disk.failure(job.shown, err) from None
    if present != job.before:
        problem = f"'{job.shown}' was changed since it was read; it is left as it is"
        raise MendError(problem, "run this again on the new text")


def _prepare(job: Job, stamp: str, prepared: list[_Prepared]) -> None:
    """Put the new text beside the file, and a backup; the file itself is not touched."""
    for path in disk.stale(job.real):
        disk.remove(path)
    if job.ready is not None:
        prepared.append(_Prepared(job, job.ready))
        return
    try:
        new, kept = disk.create_beside(job.real, job.after)
        one = _Prepared(job, new, owner_kept=kept)
        prepared.append(one)
        copy, _ = disk.create_beside(job.real, job.before)
        one.backup = copy
        backup = backup_name(job.real, stamp, job.after)
        disk.move(copy, backup)
        one.backup = backup
        disk.sync_folder(job.home)
    except OSError as err:
        raise disk.failure(job.shown, err) from None


def _replace(one: _Prepared) -> None:
    _compare(one.job)
    try:
        disk.move(one.new, one.job.real)
        one.done = True
        disk.sync_folder(one.job.home)
    except OSError as err:
        raise disk.failure(one.job.shown, err) from None


def _tidy(prepared: Sequence[_Prepared]) -> None:
    """Take away what was put beside the files that are still old."""
    for one in prepared:
        one.done = one.done or _is(one.job.real, one.job.after, one.job.before)
        if one.done:
            continue
        if one.job.ready is None:
            disk.remove(one.new)
        if one.backup is not None and _is(one.job.real, one.job.before, one.job.after):
            disk.remove(one.backup)


def _is(path: str, data: bytes, other: bytes) -> bool:
    try:
        return data != other and disk.read(path) == data
    except (OSError, AdvisorError):
        return False


def _told(err: BaseException, prepared: Sequence[_Prepared]) -> BaseException:
    """Return the error with the files that are written all the same."""
    done = [one.job.shown for one in prepared if one.done]
    if not done:
        return err
    names = ", ".join(f"'{name}'" for name in done)
    words = err.problem if isinstance(err, AdvisorError) else "it was interrupted"
    if not isinstance(err, AdvisorError | KeyboardInterrupt):
        words = f"{type(err).__name__}: {err}"
    return MendError(f"{words}; written before that: {names}", "take them back with mend --undo")
