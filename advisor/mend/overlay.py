"""Files as they were when first read, with edits laid over them; it writes nothing.

A plan of edits is worked out on one state of the files: what is read twice gives the same
bytes, and what was edited in memory is read as edited. Paths that lead to one file share it.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import BinaryIO

from advisor.files import open_file, real_path

__all__ = ["Snapshot", "real_path"]


@dataclass(slots=True)
class Snapshot:
    """The files of one run.

    ``first`` holds the bytes as they were first read, ``edited`` those laid over them, both by
    real path.
    """

    first: dict[str, bytes] = field(default_factory=dict)
    edited: Mapping[str, bytes] = field(default_factory=dict)

    def read(self, path: str) -> bytes:
        """Return the bytes of a config or sheet: edited, remembered, or from the disk.

        Raises
        ------
        FileNotFoundError
            If there is no such file.
        UnreadableError
            If it cannot be read.
        """
        real = real_path(path)
        if real in self.edited:
            return self.edited[real]
        if real not in self.first:
            self.first[real] = open_file(path)
        return self.first[real]

    def open(self, path: str) -> BinaryIO:
        """Open a slicer profile: edited or remembered bytes, or the file itself.

        What is read from the file itself is not remembered: archives are large, and many files
        are only looked at in the search for a parent.
        """
        from advisor.inputs import default_open_file

        real = real_path(path)
        known = self.edited.get(real, self.first.get(real))
        return default_open_file(path) if known is None else io.BytesIO(known)
