"""Reads one file into its presets, whatever its container is; it follows no parent.

A zipped archive gives the presets of all its members. A member that cannot be read is told,
and is an error only where nothing else is in the archive.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import BinaryIO

from advisor.base import PRESETS, Event, InputError, ProfileError, Span
from advisor.inputs.profile import archive
from advisor.inputs.profile.dialects import Dialects
from advisor.inputs.profile.door import (
    MAX_TEXT,
    OpenFile,
    container_of,
    decode,
    open_path,
    plain,
    read_capped,
)
from advisor.inputs.profile.ini_text import parse_ini, too_many
from advisor.inputs.profile.json_text import parse_json
from advisor.inputs.profile.presets import (
    ProfileText,
    active_names,
    join_parts,
    presets_of,
    repeats_of,
)
from advisor.inputs.profile.records import Preset

__all__ = ["ProfileSource", "read_source"]

_MAGIC_SIZE = 4
_SHOWN = 6  # names in a sentence
_NO_PROFILE = "no setting of a slicer profile that we know is in it"


@dataclass(slots=True)
class ProfileSource:
    """A file that was read: its presets, those it marks as active, what was noticed."""

    path: str
    presets: list[Preset] = field(default_factory=list)
    active: tuple[str, ...] = ()
    events: list[Event] = field(default_factory=list)


def read_source(
    path: str, *, open_file: OpenFile, dialects: Dialects, tool: int, limit: int = MAX_TEXT
) -> ProfileSource:
    """Return the presets of the file `path`, of at most `limit` bytes.

    Raises
    ------
    UnreadableError
        If it cannot be opened, is binary or too large.
    ProfileError
        If it is text but no profile that we read.
    """
    source = ProfileSource(path)
    with open_path(path, open_file) as handle:
        head = read_capped(handle, path, limit=_MAGIC_SIZE, whole=False)
        if head.startswith(archive.MAGIC):
            _read_archive(source, handle, head, dialects)
        else:
            data = read_capped(handle, path, head, limit=limit)
            _read_text(source, data, path, path, dialects)
    if not source.presets:
        remedy = "give a filament or print profile as the slicer saves or exports it"
        raise ProfileError(_NO_PROFILE, remedy, Span(path, 1))
    source.presets = join_parts(source.presets, tool)
    return source


def _read_text(
    source: ProfileSource, data: bytes, file: str, base: str, dialects: Dialects
) -> None:
    text = decode(data, file)
    container = container_of(text, file)
    parse = {"json": parse_json, "ini": parse_ini}[container]
    sections = parse(text, file, wanted=dialects.wanted_keys)
    place = ProfileText(container, file, source.path, base)
    source.presets += presets_of(sections, place, dialects)
    if len(source.presets) > PRESETS:
        raise too_many(Span(file, 1))
    source.active += active_names(sections, dialects)
    source.events += repeats_of(sections, dialects.known_keys)


def _read_archive(source: ProfileSource, handle: BinaryIO, head: bytes, dialects: Dialects) -> None:
    """Read every member; raise only if none is a profile."""
    seen: list[str] = []
    at = Span(source.path, 1)
    for name, content, why in _members(source.path, handle, head):
        seen.append(name)
        reason = why if content is None else _read_member(source, name, content, dialects)
        if reason:
            fields = {"member": name, "reason": reason}
            source.events.append(Event("profile-member-unreadable", at, fields))
    if source.presets:
        return
    unread = [event.fields for event in source.events]
    if unread:
        problem = f"the member '{unread[0]['member']}' cannot be read: {unread[0]['reason']}"
        raise ProfileError(problem, "export the archive anew", at)
    shown = ", ".join(f"'{name}'" for name in seen[:_SHOWN])
    problem = f"the archive holds no profile we read ({shown or 'no member could be one'})"
    raise ProfileError(problem, "give the profile itself; a sliced print goes to --print", at)


def _members(path: str, handle: BinaryIO, head: bytes) -> Iterator[archive.Member]:
    try:
        seekable = handle.seekable()
    except (AttributeError, OSError, ValueError):
        seekable = False
    whole = handle if seekable else io.BytesIO(read_capped(handle, path, head))
    yield from archive.members_of(whole, path)


def _read_member(source: ProfileSource, name: str, content: bytes, dialects: Dialects) -> str:
    """Add the presets of a member; return why it cannot be read, if it is a broken profile."""
    if not content.strip() or content.lstrip()[:1] == b"<":
        return ""  # empty, or a description of the project in XML
    file = f"{source.path}!{name}"
    try:
        _read_text(source, content, file, name, dialects)
    except InputError as err:
        place = f" in line {err.at.line}" if err.at and err.at.line > 1 else ""
        return plain(f"{err.problem}{place}")
    return ""
