"""Opens the files of slicer profiles within bounds, and tells what kind of text they hold.

Everything that cannot be a profile is refused here with a sentence: too large, binary,
G-code, XML, compressed. It does not understand the text; see `texts`. The
folders in which the parent of a profile may lie are named here too, nearest first.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

from advisor.base import PROFILE_BYTES, ProfileError, Span, UnreadableError
from advisor.files import folder_names, open_plain

__all__ = [
    "MAX_TEXT",
    "Folders",
    "ListFolder",
    "OpenFile",
    "container_of",
    "decode",
    "default_list_folder",
    "default_open_file",
    "open_path",
    "plain",
    "read_capped",
]

OpenFile = Callable[[str], BinaryIO]
ListFolder = Callable[[str], Sequence[str]]

MAX_TEXT = PROFILE_BYTES
_HEAD = 65_536
_MAX_ENTRIES = 20_000
_GCODE = re.compile(r"(?:N\d+\s*)?[GMT]\d+(?:\.\d+)?(?:\s|;|\*|$)")
_GCODE_LINES = 20  # so many live lines are looked at
_CONTROL = frozenset(range(32)) - set(b"\t\n\r\f\v\x1b\x00")
_MAGIC = (
    (b"\x1f\x8b", "a compressed file", "unpack it first"),
    (b"BZh", "a compressed file", "unpack it first"),
    (b"7z\xbc\xaf", "an archive of a kind we do not read", "unpack it first"),
    (b"Rar!", "an archive of a kind we do not read", "unpack it first"),
    (b"GCDE", "a sliced print in a binary container", "give it with --print"),
)
_DEEPEST = 4  # levels below a folder given
_MOST_FOLDERS = 500


def default_open_file(path: str) -> BinaryIO:
    """Open a plain file of the file system for reading."""
    return open_plain(path)


def default_list_folder(path: str) -> Sequence[str]:
    """Return the names in a folder, those of folders with a ``/`` at the end."""
    return folder_names(path, _MAX_ENTRIES)


def open_path(path: str, open_file: OpenFile) -> BinaryIO:
    """Open `path`.

    Raises
    ------
    UnreadableError
        If it cannot be opened; the system's reason is in the sentence.
    """
    try:
        return open_file(path)
    except (OSError, ValueError) as err:
        raise UnreadableError(f"the profile '{plain(path)}' cannot be read: {_reason(err)}",
                              "check the path and its permissions") from None  # fmt: skip


def read_capped(
    handle: BinaryIO, path: str, head: bytes = b"", *, limit: int = MAX_TEXT, whole: bool = True
) -> bytes:
    """Return the content of `handle`, of which `head` was read before; at most `limit` bytes.

    Raises
    ------
    UnreadableError
        If the medium fails, or if the `whole` content is wanted and there is more of it.
    """
    try:
        data = head + handle.read(limit + whole - len(head))
    except (OSError, ValueError) as err:
        problem = f"the profile '{plain(path)}' cannot be read: {_reason(err)}"
        raise UnreadableError(problem, "copy it anew") from None
    if len(data) > limit:
        _refuse_gcode(data[:_HEAD].decode("latin-1"), path)
        problem = f"this is larger than {limit // 2**20} MB; no slicer profile is"
        raise UnreadableError(problem, "give the profile itself", Span(path, 1))
    return data


def _reason(err: Exception) -> str:
    words = getattr(err, "strerror", None) or str(err) or type(err).__name__
    return str(words)[:1].lower() + str(words)[1:]


def decode(data: bytes, file: str) -> str:
    """Return the text of `data`: UTF-8 or UTF-16 with its mark, else the western code page.

    Raises
    ------
    UnreadableError
        If it is binary.
    """
    for magic, what, remedy in _MAGIC:
        if data.startswith(magic):
            raise UnreadableError(f"this is {what}, not a slicer profile", remedy, Span(file, 1))
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    head = data[:_HEAD]
    odd = sum(byte in _CONTROL for byte in head)
    if b"\0" in head or odd * 50 > len(head):
        problem = "this is binary, not a slicer profile"
        raise UnreadableError(problem, "give a profile as ini, JSON or zip", Span(file, 1))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def container_of(text: str, file: str) -> str:
    """Return ``json`` or ``ini``.

    Raises
    ------
    ProfileError
        If the text is empty, G-code or XML.
    """
    start = text[:_HEAD].lstrip() or text.lstrip()
    if not start:
        problem = "the file is empty"
        raise ProfileError(problem, "export the profile anew from the slicer", Span(file, 1))
    if start[0] == "{" or re.match(r"\[\s*[{\]]", start):
        return "json"
    if start[0] == "<":
        problem = "this is XML, which holds no slicer profile we read"
        raise ProfileError(problem, "export the profile as ini or JSON", Span(file, 1))
    _refuse_gcode(text, file)
    return "ini"


def _refuse_gcode(text: str, file: str) -> None:
    """Refuse a text of which most live lines are G-code commands."""
    seen = commands = 0
    for line in _live_lines(text):
        seen += 1
        commands += bool(_GCODE.match(line))
        if seen >= _GCODE_LINES:
            break
    if commands * 2 > seen:
        problem = "this is G-code, not a slicer profile"
        raise ProfileError(problem, "give a sliced print with --print", Span(file, 1))


def _live_lines(text: str) -> Iterable[str]:
    for found in re.finditer(r"[^\r\n]+", text):
        line = found.group().strip()
        if line and line[0] not in ";#":
            yield line


def plain(text: str, limit: int = 80) -> str:
    """Return `text` fit for a sentence: one line, printable, not longer than `limit`."""
    shown = "".join(char if char.isprintable() else " " for char in text[: limit + 1])
    return shown if len(shown) <= limit else shown[: limit - 3] + "..."


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
