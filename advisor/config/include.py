"""Follows the includes of a config, in place and in order, and makes a tree of it.

Files are reached through two functions that a caller may replace. Paths are shown as the
user gave them: joined to the including file's folder, never resolved. ``~`` means nothing.
Of what lies outside of the config's folder only what a redactor leaves is kept.
"""

from __future__ import annotations

import glob
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from advisor.base import Event, FileStatus, UnreadableError
from advisor.config.document import Document, Include, Section, encode, printable
from advisor.config.reader import read_document
from advisor.config.tree import MissingInclude, Tree
from advisor.files import MAX_LISTED, Listing, ListingFullError, Reach, plain, real_path

__all__ = ["Redactor", "read_tree", "read_tree_from_bytes"]

MAX_FILES = 1000  # includes followed in one tree
MAX_DEPTH = 50  # includes within includes
MAX_TOTAL = 4 * plain.MAX_BYTES  # bytes of all files of one tree
MAX_LINES = 500_000  # of all files, each as often as it is included
MAX_PATTERNS = 4  # parts of one path that may hold a pattern

OpenFile = Callable[[str], bytes]
ListGlob = Callable[[str], list[str]]


class Redactor(Protocol):
    """Takes out of files outside of the config's folder what may be shown."""

    def know(self, document: Document) -> None:
        """Take note of a document inside."""

    def text(self, document: Document) -> str:
        """Return what may be shown of a document outside, line for line."""


def read_tree(
    path: str,
    *,
    open_file: OpenFile = plain.open_file,
    list_glob: ListGlob | None = None,
    reach: Reach | None = None,
    redactor: Redactor | None = None,
) -> Tree:
    """Return a config file with all that it includes.

    Parameters
    ----------
    path : str
        The root file; it is shown as given.
    open_file, list_glob : callable
        Return the bytes of a file (or raise OSError or UnreadableError), and the paths that
        match a pattern.
    reach : Reach, optional
        What is inside; everything where not given. Outside nothing is quoted.
    redactor : Redactor, optional
        What may be shown of a config outside; without it none is followed.

    Raises
    ------
    UnreadableError
        If the root file cannot be read. What is amiss with an include is an event.
    """
    try:
        data = open_file(path)
    except (OSError, ValueError) as err:
        raise plain.unreadable(path, err) from None
    return read_tree_from_bytes(
        data, path, open_file=open_file, list_glob=list_glob, reach=reach, redactor=redactor
    )


def read_tree_from_bytes(
    data: bytes,
    name: str,
    *,
    open_file: OpenFile = plain.open_file,
    list_glob: ListGlob | None = None,
    reach: Reach | None = None,
    redactor: Redactor | None = None,
) -> Tree:
    """Return the config whose root has these bytes; includes are relative to `name`'s folder.

    Raises
    ------
    UnreadableError
        If there are more bytes than a config may have.
    """
    if len(data) > plain.MAX_BYTES:
        raise plain.too_large(name)
    walk = _Walk(open_file, list_glob or Listing().matches, reach, redactor)
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
    reach: Reach | None = None
    redactor: Redactor | None = None
    documents: dict[str, Document] = field(default_factory=dict)  # by the path they are opened by
    paths: dict[Document, str] = field(default_factory=dict)
    targets: dict[tuple[Document, int], str] = field(default_factory=dict)  # of includes outside
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
        self.paths[document] = path
        status = "read" if document.complete else "unreadable"
        self.files[document.path] = FileStatus(document.path, status)
        self.total += size
        if self.redactor is not None and not document.outside:
            self.redactor.know(document)
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
        target = self.targets.get((item.document, item.line), item.target)
        folder = os.path.dirname(self.paths[item.document])
        if not glob.has_magic(target):
            path = os.path.join(folder, target)
            if not self.file(item, path, self.shown(item, path, path), chain):
                self.refuse(item, path)
            return
        if sum(map(glob.has_magic, target.split("/"))) > MAX_PATTERNS:
            self.fail(item, "include-limit", item.target, limit=f"{MAX_PATTERNS} patterns")
            return
        self.pattern(item, folder, target, chain)

    def pattern(self, item: Include, folder: str, target: str, chain: tuple[str, ...]) -> None:
        """Follow an include to all files that match; outside, say the same whatever is there."""
        written = os.path.join(folder, target)
        outside = False
        try:
            outside = self.leads_out(folder, target)
            found = sorted(self.list_glob(os.path.join(glob.escape(folder), target)))
        except ListingFullError:
            if not outside:
                self.full = True
                limit = f"{MAX_LISTED} names of files"
                self.fail(item, "include-limit", item.target, limit=limit)
                return
            found = []
        count = 0
        for number, path in enumerate(found, 1):
            listed = self.holds(os.path.dirname(path))
            name = path if listed else f"{written} (file {number})"
            if self.full:
                return
            if self.file(item, path, self.shown(item, path, name, number), chain):
                count += 1
            elif listed:
                self.refuse(item, path)
        if outside and not count:
            self.refuse(item, written)

    def leads_out(self, folder: str, target: str) -> bool:
        """Whether a folder outside is gone through to find what matches a pattern."""
        pattern = "/" if target.startswith("/") else glob.escape(folder)
        folders, magic = ["/" if target.startswith("/") else folder], False
        for step in target.split("/"):
            magic = magic or glob.has_magic(step)
            if magic and not all(map(self.holds, folders)):
                return True
            pattern = os.path.join(pattern, step)
            folders = self.list_glob(pattern) if magic else [os.path.join(folders[0], step)]
        return False

    def holds(self, path: str) -> bool:
        """Whether a path is inside."""
        return self.reach is None or self.reach.holds(path or os.curdir)

    def shown(self, item: Include, path: str, name: str, number: int | None = None) -> str:
        """Return how a file is called: as written, and nothing that stands in a file outside."""
        if not item.document.outside:
            return name
        if self.holds(path):
            return real_path(path)
        more = "" if number is None else f", file {number}"
        return f"{item.document.path} (include in line {item.line + 1}{more})"

    def file(self, item: Include, path: str, shown: str, chain: tuple[str, ...]) -> bool:
        """Follow an include to one file; return False where it is outside and not followed."""
        inside = self.holds(path)
        if not inside and not self.may_follow(path):
            return False
        if _identity(path) in chain:
            self.fail(item, "include-cycle", shown)
            return True
        known = self.documents.get(path)
        document = known if known is not None or inside else self.read_outside(path, shown)
        if document is None and not inside:
            return False
        self.followed += 1
        limit = self.limit(len(chain))
        if limit:
            self.full = True
            self.fail(item, "include-limit", shown, limit=limit)
            return True
        document = document or self.read(item, path, shown)
        if document is not None:
            self.document(document, (*chain, _identity(path)))
        return True

    def may_follow(self, path: str) -> bool:
        return self.reach is not None and self.redactor is not None and self.reach.may_follow(path)

    def limit(self, depth: int) -> str | None:
        if self.followed > MAX_FILES:
            return f"{MAX_FILES} files"
        if depth > MAX_DEPTH:
            return f"{MAX_DEPTH} includes within each other"
        if self.lines > MAX_LINES:
            return f"{MAX_LINES} lines"
        return f"{MAX_TOTAL // 1024 // 1024} MB" if self.total > MAX_TOTAL else None

    def read(self, item: Include, path: str, shown: str) -> Document | None:
        """Return the document of a path met for the first time, or again after it failed."""
        if path not in self.reasons:
            try:
                data = self.open_file(path)
            except (OSError, ValueError, UnreadableError) as err:
                if item.document.outside:
                    self.refuse(item, path)
                    return None
                missing = isinstance(err, FileNotFoundError)
                self.files[shown] = FileStatus(shown, "missing" if missing else "unreadable")
                self.reasons[path] = plain.unreadable(shown, err).problem
            else:
                return self.keep(path, read_document(data, shown), len(data))
        missing = self.files[shown].status == "missing"
        kind = "include-missing" if missing else "include-unreadable"
        self.fail(item, kind, shown, reason=self.reasons[path])
        return None

    def read_outside(self, path: str, shown: str) -> Document | None:
        """Return what may be shown of a config outside; None where it is none, or not there."""
        if self.reach is None or self.redactor is None:
            return None
        try:
            data = self.open_file(real_path(path))
        except (OSError, ValueError, UnreadableError):
            return None
        if not self.reach.is_config(data):
            return None
        whole = read_document(data, shown)
        document = read_document(encode(self.redactor.text(whole)), shown)
        document.outside, document.complete = True, whole.complete
        for item in whole.items:
            if isinstance(item, Include):
                self.targets[document, item.line] = item.target
        return self.keep(path, document, len(data))

    def refuse(self, item: Include, path: str) -> None:
        """Say that an include leads outside and is not followed; what is there is not said."""
        if not item.document.outside:
            self.files.setdefault(path, FileStatus(path, "unreadable"))
        self.fail(item, "include-outside", item.target)

    def fail(self, item: Include, kind: str, path: str, **more: str) -> None:
        target = printable(item.target)
        fields = {"target": target, "path": printable(path), **more}
        self.events.append(Event(kind, item.at, fields))
        if kind != "include-cycle":
            self.missing.append(MissingInclude(target, item.at, kind))


def _identity(path: str) -> str:
    """Return what tells a file from another within a chain of includes."""
    return os.path.abspath(path)
