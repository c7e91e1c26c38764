"""Takes the profiles out of a zipped project or bundle archive, within bounds.

Only members that can be profiles are unpacked, all together up to a limit that is counted on the
bytes that come out, those of a damaged member too, and not on what the archive claims. Nothing is
written to disk.
"""

from __future__ import annotations

import io
import os
import struct
import zipfile
import zlib
from collections.abc import Iterator
from typing import BinaryIO

from advisor.base import DIRECTORY_BYTES, MB, MEMBERS, UNPACKED_BYTES, ProfileError, Span
from advisor.inputs.profile.door import plain

__all__ = ["MAGIC", "Member", "members_of"]

MAGIC = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
Member = tuple[str, bytes | None, str]  # name, content or None, why it could not be read
_SUFFIXES = frozenset({".config", ".json", ".ini", ".cfg", ""})
_PIECE = 64 * 1024  # bytes unpacked at a time
_END, _END_SIZE = b"PK\x05\x06", 22
_END64, _LOCATOR_SIZE = b"PK\x06\x06", 20
_DAMAGE = (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, struct.error,
           RuntimeError, NotImplementedError, IndexError, OverflowError)  # fmt: skip


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
