"""Reads one file into its presets, whatever its container is; it follows no parent.

A zipped archive gives the presets of all its members. A member that cannot be read is told,
and is an error only where nothing else is in the archive.

Archives are zipped projects or bundles, read within bounds. Only members that can be profiles are
unpacked, all together up to a limit that is counted on the bytes that come out, those of a damaged
member too, and not on what the archive claims. Nothing is written to disk.
"""

from __future__ import annotations

import io
import os
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import BinaryIO

from advisor.base import (
    DIRECTORY_BYTES,
    MB,
    MEMBERS,
    PRESETS,
    UNPACKED_BYTES,
    Event,
    InputError,
    ProfileError,
    Span,
)
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
from advisor.inputs.profile.presets import (
    ProfileText,
    active_names,
    join_parts,
    presets_of,
    repeats_of,
)
from advisor.inputs.profile.records import Preset
from advisor.inputs.profile.texts import parse_ini, parse_json, too_many

__all__ = ["MAGIC", "Member", "ProfileSource", "members_of", "read_source"]

MAGIC = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
Member = tuple[str, bytes | None, str]  # name, content or None, why it could not be read
_SUFFIXES = frozenset({".config", ".json", ".ini", ".cfg", ""})
_PIECE = 64 * 1024  # bytes unpacked at a time
_END, _END_SIZE = b"PK\x05\x06", 22
_END64, _LOCATOR_SIZE = b"PK\x06\x06", 20
_DAMAGE = (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, struct.error,
           RuntimeError, NotImplementedError, IndexError, OverflowError)  # fmt: skip
_MAGIC_SIZE = 4
_SHOWN = 6  # names in a sentence
_NO_PROFILE = "no setting of a slicer profile that we know is in it"


def members_of(handle: BinaryIO, file: str) -> Iterator[Member]:
    """Yield the members that can be profiles, in the order of the archive.

    Raises
    ------
    ProfileError
        If the archive is damaged or larger than a project with profiles can be.
    """
    try:
        _check_directory(handle, file)
        archive = zipfile.ZipFile(handle)
    except _DAMAGE as err:
        problem = f"this zip archive is truncated or damaged ({plain(str(err))})"
        raise ProfileError(problem, "export or download it anew", Span(file, 1)) from None
    with archive:
        yield from _contents(archive, file)


def _check_directory(handle: BinaryIO, file: str) -> None:
    """Refuse an archive whose list of members alone would fill the memory."""
    end = handle.seek(0, io.SEEK_END)
    start = max(0, end - 65_536 - _END_SIZE - _LOCATOR_SIZE)
    handle.seek(start)
    tail = handle.read()
    at = tail.rfind(_END)
    if at < 0 or len(tail) - at < _END_SIZE:
        return  # the library says what is wrong with it
    size = struct.unpack_from("<L", tail, at + 12)[0]
    locator = tail[max(0, at - _LOCATOR_SIZE) : at]
    if locator.startswith(b"PK\x06\x07") and len(locator) == _LOCATOR_SIZE:
        handle.seek(struct.unpack_from("<Q", locator, 8)[0])
        record = handle.read(56)
        if record.startswith(_END64) and len(record) == 56:
            size = struct.unpack_from("<Q", record, 40)[0]
    if size > DIRECTORY_BYTES:
        problem = "this zip archive has more members than any project"
        raise ProfileError(problem, "give the profile itself", Span(file, 1))


def _contents(archive: zipfile.ZipFile, file: str) -> Iterator[Member]:
    left = UNPACKED_BYTES
    profiles = [info for info in archive.infolist() if _may_be_profile(info.filename)]
    for number, info in enumerate(profiles, 1):
        content, why, unpacked = _content(archive, info, left)
        left -= unpacked
        if left < 0 or number > MEMBERS:
            problem = (
                f"this zip archive unpacks to more than {UNPACKED_BYTES // MB} MB"
                f" or {MEMBERS} profiles"
            )
            raise ProfileError(problem, "give the profile itself", Span(file, 1))
        yield plain(info.filename, 200), content, why


def _may_be_profile(name: str) -> bool:
    base = name.rpartition("/")[2]  # empty for a folder
    suffix = os.path.splitext(base)[1].lower()
    return bool(base) and base[0] != "." and suffix in _SUFFIXES


def _content(
    archive: zipfile.ZipFile, info: zipfile.ZipInfo, most: int
) -> tuple[bytes | None, str, int]:
    """Return a member's bytes or why there are none, and how many came out: at most `most` + 1."""
    if info.flag_bits & 1:
        return None, "it is encrypted", 0
    content = bytearray()
    try:
        with archive.open(info) as member:
            while len(content) <= most and (
                piece := member.read(min(_PIECE, most + 1 - len(content)))
            ):
                content += piece
    except _DAMAGE as err:
        return None, f"it is damaged ({plain(str(err) or type(err).__name__)})", len(content)
    except Exception as err:  # a decompressor of the library may raise errors of its own
        if type(err).__module__.partition(".")[0] not in ("_lzma", "lzma", "_bz2", "zlib"):
            raise
        return None, f"it is damaged ({plain(str(err))})", len(content)
    return bytes(content), "", len(content)


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
        if head.startswith(MAGIC):
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


def _members(path: str, handle: BinaryIO, head: bytes) -> Iterator[Member]:
    try:
        seekable = handle.seekable()
    except (AttributeError, OSError, ValueError):
        seekable = False
    whole = handle if seekable else io.BytesIO(read_capped(handle, path, head))
    yield from members_of(whole, path)


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
