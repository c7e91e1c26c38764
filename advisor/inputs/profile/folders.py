"""Names the folders in which the parent of a profile may lie, nearest first, within bounds.

It opens no file.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from advisor.inputs.profile.door import ListFolder

__all__ = ["Folders"]

_DEEPEST = 4  # levels below a folder given
_MOST_FOLDERS = 500


@dataclass(slots=True)
class Folders:
    """The folders of a file system, each listed once; one that cannot be listed is empty."""

    list_folder: ListFolder
    _listed: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def names(self, folder: str) -> tuple[str, ...]:
        """Return the names in a folder; those of folders end in ``/``."""
        if folder not in self._listed:
            try:
                self._listed[folder] = tuple(self.list_folder(folder))
            except (OSError, ValueError):
                self._listed[folder] = ()
        return self._listed[folder]

    def ranks(self, own: str, given: Sequence[str]) -> Iterator[list[str]]:
        """Yield the folder itself, those next to it, and each given one with what is below it."""
        yield [own]
        above = os.path.normpath(os.path.join(own, os.pardir))
        near = [*self._below(own), above, *self._below(above)]
        yield [path for path in near if os.path.normpath(path) != os.path.normpath(own)]
        for folder in given:
            yield list(self._walk(folder))

    def _below(self, folder: str) -> list[str]:
        names = [name for name in self.names(folder) if name.endswith("/")]
        return [os.path.join(folder, name[:-1]) for name in names[:_MOST_FOLDERS]]

    def _walk(self, folder: str) -> Iterator[str]:
        level, count = [folder], 0
        for _ in range(_DEEPEST + 1):
            deeper: list[str] = []
            for path in level:
                count += 1
                if count > _MOST_FOLDERS:
                    return
                yield path
                deeper += self._below(path)
            level = deeper
