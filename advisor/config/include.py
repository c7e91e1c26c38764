"""Follows the includes of a config, in place and in order, and makes a tree of it.

Files are reached through two functions that a caller may replace. Paths are shown as the
user gave them: joined to the including file's folder, never resolved. ``~`` means nothing.
"""

from __future__ import annotations

import glob
import os
from collections.abc import Callable
from dataclasses import dataclass, field

from advisor.config import disk
from advisor.config.document import Document, read_document
from advisor.config.encoding import printable
from advisor.config.records import Include, Section
from advisor.config.tree import MissingInclude, Tree
from advisor.errors import UnreadableError
from advisor.model import Event, FileStatus

__all__ = ["read_tree", "read_tree_from_bytes"]

MAX_FILES = 1000  # includes followed in one tree
MAX_DEPTH = 50  # includes within includes
MAX_TOTAL = 4 * disk.MAX_BYTES  # bytes of all files of one tree
MAX_LINES = 2_000_000  # of all files, each as often as it is included
MAX_PATTERNS = 4  # parts of one path that may hold a pattern

OpenFile = Callable[[str], bytes]
ListGlob = Callable[[str], list[str]]


def read_tree(
    path: str, *, open_file: OpenFile = disk.open_file, list_glob: ListGlob = disk.list_glob
) -> Tree:
    """Return a config file with all that it includes.

    Parameters
    ----------
    path : str
        The root file; it is shown as given.
    open_file, list_glob : callable
        Return the bytes of a file (or raise OSError or UnreadableError), and the paths that
        match a pattern.

    Raises
    ------
    UnreadableError
        If the root file cannot be read. What is amiss with an include is an event.
    """
    try:
        data = open_file(path)
    except (OSError, ValueError) as err:
        raise disk.unreadable(path, err) from None
    return read_tree_from_bytes(data, path, open_file=open_file, list_glob=list_glob)


def read_tree_from_bytes(
    data: bytes,
    name: str,
    *,
    open_file: OpenFile = disk.open_file,
    list_glob: ListGlob = disk.list_glob,
) -> Tree:
    """Return the config whose root has these bytes; includes are relative to `name`'s folder.

    Raises
    ------
    UnreadableError
        If there are more bytes than a config may have.
    """
    if len(data) > disk.MAX_BYTES:
        raise disk.too_large(name)
    walk = _Walk(open_file, list_glob)
    root = walk.keep(name, read_document(data, name), len(data))
    walk.document(root, (_identity(name),))
    events = (*(event for doc in walk.documents.values() for event in doc.events), *walk.events)
    return Tree(
        documents=tuple(walk.documents.values()),
        live=tuple(walk.live),
        files=tuple(walk.files.values()),
        missing_includes=tuple(walk.missing),
        events=events,
    )


@dataclass(slots=True)
class _Walk:
    open_file: OpenFile
    list_glob: ListGlob
    documents: dict[str, Document] = field(default_factory=dict)
    files: dict[str, FileStatus] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)  # why a path was not read
    live: list[Section] = field(default_factory=list)
    missing: list[MissingInclude] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    followed: int = 0
    total: int = 0  # bytes
    lines: int = 0
    full: bool = False  # a limit was met and said

    def keep(self, path: str, document: Document, size: int) -> Document:
        self.documents[path] = document
        status = "read" if document.complete else "unreadable"
        self.files[path] = FileStatus(path, status)
        self.total += size
        if len(self.documents) > 1 and document.saved:
            self.events.append(Event("saved-block-in-include", document.saved[0].header))
        return document

    def document(self, document: Document, chain: tuple[str, ...]) -> None:
        """Add the sections of a document and, in place, those of what it includes."""
        self.lines += len(document.kinds)
        for item in document.items:
            if isinstance(item, Section):
                self.live.append(item)
            elif not self.full:
                self.include(item, chain)

    def include(self, item: Include, chain: tuple[str, ...]) -> None:
        folder = os.path.dirname(item.document.path)
        if not glob.has_magic(item.target):
            self.file(item, os.path.join(folder, item.target), chain)
            return
        if sum(map(glob.has_magic, item.target.split("/"))) > MAX_PATTERNS:
            self.fail(item, "include-limit", item.target, limit=f"{MAX_PATTERNS} patterns")
            return
        pattern = os.path.join(glob.escape(folder), item.target)
        for path in sorted(self.list_glob(pattern)):
            if not self.full:
                self.file(item, path, chain)

    def file(self, item: Include, path: str, chain: tuple[str, ...]) -> None:
        """Follow an include to one file."""
        if _identity(path) in chain:
            self.fail(item, "include-cycle", path)
            return
        self.followed += 1
        limit = self.limit(len(chain))
        if limit:
            self.full = True
            self.fail(item, "include-limit", path, limit=limit)
            return
        document = self.documents.get(path) or self.read(item, path)
        if document is not None:
            self.document(document, (*chain, _identity(path)))

    def limit(self, depth: int) -> str | None:
        if self.followed > MAX_FILES:
            return f"{MAX_FILES} files"
        if depth > MAX_DEPTH:
            return f"{MAX_DEPTH} includes within each other"
        if self.lines > MAX_LINES:
            return f"{MAX_LINES} lines"
        return f"{MAX_TOTAL // 1024 // 1024} MB" if self.total > MAX_TOTAL else None

    def read(self, item: Include, path: str) -> Document | None:
        """Return the document of a path met for the first time, or again after it failed."""
        if path not in self.reasons:
            try:
                data = self.open_file(path)
            except (OSError, ValueError, UnreadableError) as err:
                missing = isinstance(err, FileNotFoundError)
                self.files[path] = FileStatus(path, "missing" if missing else "unreadable")
                self.reasons[path] = disk.unreadable(path, err).problem
            else:
                return self.keep(path, read_document(data, path), len(data))
        missing = self.files[path].status == "missing"
        kind = "include-missing" if missing else "include-unreadable"
        self.fail(item, kind, path, reason=self.reasons[path])
        return None

    def fail(self, item: Include, kind: str, path: str, **more: str) -> None:
        target = printable(item.target)
        fields = {"target": target, "path": printable(path), **more}
        self.events.append(Event(kind, item.at, fields))
        if kind != "include-cycle":
            self.missing.append(MissingInclude(target, item.at, kind))


def _identity(path: str) -> str:
    """Return what tells a file from another within a chain of includes."""
    return os.path.abspath(path)
