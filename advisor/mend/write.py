"""Writes edited files: each is old or new, whole, at every moment, and the old one is kept.

Everything that can fail is done for all files before the first one is replaced: comparing,
writing the new text beside it, making the backup. It decides nothing about the edits.

Whether a file may be written where it is hangs on links, other names and permissions.

The newest mend can be taken back: each file becomes again what its backup holds, or stays as it is.
A backup knows by a digest in its name what its file was written as. A file that was changed
since is not touched.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from advisor.base import AdvisorError, MendError
from advisor.files import failure, locked, names_in, steps as disk

__all__ = [
    "Backup",
    "Job",
    "Written",
    "backup_name",
    "backups_of",
    "check_place",
    "digest",
    "place_notes",
    "undo_jobs",
    "write_all",
]

_NAME = re.compile(r"\.(?P<name>.+)\.feedwright-(?P<stamp>\d{8}-\d{6})-(?P<of>[0-9a-f]{8})\.bak",
                   re.DOTALL)  # fmt: skip


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


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup: the file it is of, when it was made, the digest of what was written then."""

    path: str
    shown: str
    real: str
    folder: str
    stamp: str
    written: str


def backups_of(files: Mapping[str, tuple[str, str]]) -> list[Backup]:
    """Return the backups that belong to the newest mend of these files.

    Parameters
    ----------
    files : mapping of str to tuple
        By real path: the path to show, and the folder that links may not leave.
    """
    found = [backup for real in files for backup in _beside(real, *files[real])]
    newest = max((backup.stamp for backup in found), default="")
    return [backup for backup in found if backup.stamp == newest]


def _beside(real: str, shown: str, folder: str) -> Iterable[Backup]:
    home, name = os.path.split(real)
    try:
        names = names_in(home)
    except OSError:
        return
    for other in names:
        match = _NAME.fullmatch(other)
        if match is not None and match["name"] == name:
            path = os.path.join(home, other)
            yield Backup(path, shown, real, folder, match["stamp"], match["of"])


def undo_jobs(backups: Iterable[Backup]) -> tuple[list[Job], list[str]]:
    """Return what is to be put back, and backups of files that are old already.

    Raises
    ------
    MendError
        If a file was changed since it was written, or cannot be read.
    """
    jobs: list[Job] = []
    idle: list[str] = []
    for backup in backups:
        try:
            present, old = disk.read(backup.real), disk.read(backup.path)
        except OSError as err:
            raise disk.failure(backup.shown, err) from None
        if present == old:
            idle.append(backup.path)
        elif digest(present) != backup.written:
            problem = f"'{backup.shown}' was changed since the mend; it is left as it is"
            raise MendError(problem, f"its old text is in '{backup.path}': compare the two by hand")
        else:
            job = Job(backup.shown, backup.real, backup.folder, present, old, backup.path)
            jobs.append(job)
    return jobs, idle
