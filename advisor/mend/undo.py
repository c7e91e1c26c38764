"""Takes back the newest mend: each file becomes again what its backup holds, or stays as it is.

A backup knows by a digest in its name what its file was written as. A file that was changed
since is not touched.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.base import MendError
from advisor.files import names_in, steps as disk
from advisor.mend.write import Job, digest

__all__ = ["Backup", "backups_of", "undo_jobs"]

_NAME = re.compile(r"\.(?P<name>.+)\.feedwright-(?P<stamp>\d{8}-\d{6})-(?P<of>[0-9a-f]{8})\.bak",
                   re.DOTALL)  # fmt: skip


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
