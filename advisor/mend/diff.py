"""Writes edits as one unified diff in bytes, that ``patch -p1`` and ``git apply`` take.

Lines end at ``\\n`` and nowhere else; all other bytes, carriage returns and bytes that are no text
among them, are copied as they are. It has no times of day in it.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

__all__ = ["Patch", "make_patch"]

_CONTEXT = 3
_NO_END = b"\\ No newline at end of file\n"
_ODD = frozenset('"\\') | {chr(code) for code in range(32)} | {"\x7f"}
_ESCAPES = {"\t": "t", "\n": "n", "\r": "r", '"': '"', "\\": "\\"}


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
