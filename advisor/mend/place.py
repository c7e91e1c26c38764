"""Says whether a file may be written where it is: links, other names, permissions."""

from __future__ import annotations

import os
import stat

from advisor.base import MendError
from advisor.files import failure

__all__ = ["check_place", "place_notes"]


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
