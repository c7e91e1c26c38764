"""Makes the bytes of files with a set of changes in them, and one diff of them in bytes.

All changes of a file are made anew from its first bytes each time, so that nothing of a step
between is left. It writes nothing.

``patch -p1`` and ``git apply`` take the diff. Lines end at a line feed and nowhere else; all other
bytes, carriage returns and bytes that are no text among them, are copied as they are. It has no
times of day in it.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.config import Document, insert_setting, read_document, replace_value
from advisor.mend.profile_edit import replaced
from advisor.mend.target import Located, Target, find_setting

__all__ = ["FileChange", "Patch", "edited_bytes", "make_patch"]

_CONTEXT = 3
_NO_END = b"\\ No newline at end of file\n"
_ODD = frozenset('"\\') | {chr(code) for code in range(32)} | {"\x7f"}
_ESCAPES = {"\t": "t", "\n": "n", "\r": "r", '"': '"', "\\": "\\"}


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


@dataclass(frozen=True, slots=True)
class Patch:
    """A diff, and the folder in which ``patch -p1`` takes it (``.``: the present one)."""

    data: bytes
    folder: str


def make_patch(before: Mapping[str, bytes], after: Mapping[str, bytes], folder: str = "") -> Patch:
    """Return the diff between files.

    Parameters
    ----------
    before, after : mapping of str to bytes
        By real path; a file of `after` must be in `before`.
    folder : str, optional
        The folder to name files from, where all of them are below it; the present folder
        where not given. Else the folder that they share.
    """
    start = os.path.realpath(folder or os.curdir)
    base = _base(after, start)
    parts = [
        _one(before[path], after[path], os.path.relpath(path, base))
        for path in sorted(after)
        if before[path] != after[path]
    ]
    return Patch(b"".join(parts), os.curdir if base == start else base)


def _base(paths: Iterable[str], start: str) -> str:
    folders = [os.path.dirname(path) for path in paths]
    if not folders or os.path.commonpath([start, *folders]) == start:
        return start
    return os.path.commonpath(folders)


def _one(before: bytes, after: bytes, name: str) -> bytes:
    shown = name.replace(os.sep, "/")
    lines = difflib.diff_bytes(
        difflib.unified_diff,
        _lines(before),
        _lines(after),
        _header(f"a/{shown}"),
        _header(f"b/{shown}"),
        n=_CONTEXT,
        lineterm=b"\n",
    )
    return b"".join(line if line.endswith(b"\n") else line + b"\n" + _NO_END for line in lines)


def _lines(data: bytes) -> list[bytes]:
    parts = data.split(b"\n")
    whole = [part + b"\n" for part in parts[:-1]]
    return [*whole, parts[-1]] if parts[-1] else whole


def _header(name: str) -> bytes:
    """Return a file's name as a diff writes it: quoted where it holds signs that would mislead.

    A tab behind a name with blanks tells where it ends.
    """
    if not _ODD.isdisjoint(name):
        return f'"{"".join(map(_escaped, name))}"'.encode("utf-8", "surrogateescape")
    end = "\t" if " " in name else ""
    return f"{name}{end}".encode("utf-8", "surrogateescape")


def _escaped(sign: str) -> str:
    if sign in _ESCAPES:
        return f"\\{_ESCAPES[sign]}"
    return f"\\{ord(sign):03o}" if sign in _ODD else sign
