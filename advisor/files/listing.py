"""Lists folders within a budget that counts names: alone, and for the patterns of includes."""

from __future__ import annotations

import fnmatch
import glob
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from advisor.base import UnreadableError

__all__ = ["MAX_LISTED", "Listing", "ListingFullError", "files_and_folders", "folder_names",
           "list_glob", "names_in"]  # fmt: skip

MAX_LISTED = 20_000  # names in all folders that one tree of includes makes us list


class ListingFullError(UnreadableError):
    """More names than the budget allows would have to be listed."""


@dataclass(slots=True)
class Listing:
    """The folders of one run, each listed once.

    ``left`` is how many names may still be listed.
    """

    left: int = MAX_LISTED
    _folders: dict[str, tuple[tuple[str, bool], ...]] = field(default_factory=dict)

    def entries(self, folder: str) -> tuple[tuple[str, bool], ...]:
        """Return names, and whether each is a folder, sorted.

        Raises
        ------
        OSError, ValueError
            If it cannot be listed.
        ListingFullError
            If the budget is used up.
        """
        if folder not in self._folders:
            found: list[tuple[str, bool]] = []
            with os.scandir(folder or os.curdir) as entries:
                for entry in entries:
                    if self.left <= 0:
                        problem = f"more than {MAX_LISTED} names would have to be listed"
                        raise ListingFullError(problem, "name the files")
                    self.left -= 1
                    found.append((entry.name, _is_folder(entry)))
            self._folders[folder] = tuple(sorted(found))
        return self._folders[folder]

    def matches(self, pattern: str) -> list[str]:
        """Return the paths that match a pattern, sorted, as the system's own patterns do.

        ``*``, ``?`` and ``[...]`` match within one name; a leading dot only where it is written.

        Raises
        ------
        ListingFullError
            If the budget is used up.
        """
        try:
            return sorted(self._matches(pattern))
        except (OSError, ValueError, re.error, RecursionError):
            return []

    def _matches(self, pattern: str) -> Iterator[str]:
        above, name = os.path.split(pattern)
        for folder in self._folders_of(above):
            for found in self._within(folder, name):
                yield os.path.join(folder, found)

    def _folders_of(self, pattern: str) -> Iterator[str]:
        """Yield what matches a pattern and may hold something."""
        above, name = os.path.split(pattern)
        if not glob.has_magic(pattern) or above == pattern:
            yield pattern
            return
        for folder in self._folders_of(above):
            for found in self._within(folder, name, only_folders=True):
                yield os.path.join(folder, found)

    def _within(self, folder: str, name: str, *, only_folders: bool = False) -> list[str]:
        if not glob.has_magic(name):
            path = os.path.join(folder, name)
            there = os.path.lexists(path) if name else os.path.isdir(folder)
            return [name] if there else []
        try:
            entries = self.entries(folder)
        except ListingFullError:
            raise
        except (OSError, ValueError):
            return []
        names = [entry for entry, is_folder in entries if is_folder or not only_folders]
        if not name.startswith("."):
            names = [entry for entry in names if not entry.startswith(".")]
        return fnmatch.filter(names, name)


def list_glob(pattern: str) -> list[str]:
    """Return the paths that match one pattern, sorted; none for a pattern that makes no sense.

    Raises
    ------
    ListingFullError
        If too many names would have to be listed.
    """
    return Listing().matches(pattern)


def names_in(folder: str) -> list[str]:
    """Return all names in a folder, sorted.

    Raises
    ------
    OSError, ValueError
        If it cannot be listed.
    """
    return sorted(os.listdir(folder))


def files_and_folders(folder: str) -> tuple[list[str], list[str]]:
    """Return the paths of plain files and of folders in a folder, sorted; hidden ones left out.

    Links to folders are left out too. Nothing is returned where the folder may not be read.
    """
    try:
        with os.scandir(folder) as entries:
            every = sorted((e for e in entries if not e.name.startswith(".")), key=lambda e: e.name)
            files = [e.path for e in every if e.is_file()]
            return files, [e.path for e in every if e.is_dir(follow_symlinks=False)]
    except OSError:
        return [], []


def folder_names(path: str, most: int) -> list[str]:
    """Return the first so many names in a folder, sorted; those of folders end in ``/``.

    Raises
    ------
    OSError, ValueError
        If it cannot be listed.
    """
    names: list[str] = []
    with os.scandir(path) as entries:
        for entry in entries:
            if len(names) >= most:
                break
            names.append(f"{entry.name}/" if _is_folder(entry) else entry.name)
    return sorted(names)


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False
