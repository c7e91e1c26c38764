"""Makes the bytes of files with a set of changes in them, from the bytes as they were read.

All changes of a file are made anew from its first bytes each time, so that nothing of a step
between is left. It writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.config import Document, insert_setting, read_document, replace_value
from advisor.mend.profile_edit import replaced
from advisor.mend.target import Located, Target, find_setting

__all__ = ["FileChange", "edited_bytes"]


@dataclass(frozen=True, slots=True)
class FileChange:
    """One setting that gets a new value; ``old`` is None where it is a new line."""

    located: Located
    setting: str
    old: str | None
    new: str

    @property
    def target(self) -> Target:
        """Which setting it is."""
        return self.located.target


def edited_bytes(first: Mapping[str, bytes], changes: Iterable[FileChange]) -> dict[str, bytes]:
    """Return the bytes of each file that is changed, by real path.

    Parameters
    ----------
    first : mapping of str to bytes
        The files as they were read, by real path.
    changes : iterable of FileChange
        At most one for each target.

    Raises
    ------
    InputError
        If a change would do more than it should.
    """
    by_file: dict[str, list[FileChange]] = {}
    for change in changes:
        by_file.setdefault(change.target.real, []).append(change)
    return {
        real: _profile(first[real], group)
        if group[0].target.role == "profile"
        else _config(first[real], group)
        for real, group in by_file.items()
    }


def _config(data: bytes, changes: Iterable[FileChange]) -> bytes:
    document: Document | None = None
    for change in changes:
        document = document or read_document(data, change.located.file)
        setting = find_setting(document, change.target)
        if setting is not None:
            document = replace_value(document, setting, change.new)
        else:
            section = change.target.section
            document = insert_setting(document, section, change.setting, change.new)
    return data if document is None else document.to_bytes()


def _profile(data: bytes, changes: Iterable[FileChange]) -> bytes:
    for change in changes:
        data = replaced(data, change.located.at, change.setting, change.new)
    return data
