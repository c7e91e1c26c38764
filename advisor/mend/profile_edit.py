"""Finds and replaces one value in the text of a slicer profile, ini or JSON, in its own style.

Only the characters of the value change: of a list the first element, within its quotes. It
knows no key and judges no value.
"""

from __future__ import annotations

import re

from advisor.base import InputError, Span
from advisor.inputs import MAGIC, MAX_TEXT, container_of, open_path, read_capped
from advisor.mend.overlay import Snapshot, real_path

__all__ = ["original", "replaced", "text_of", "value_place", "value_text", "why_not_editable"]

_WIDE = (b"\xff\xfe", b"\xfe\xff")
_INI_END = re.compile(r"\r\n|\n|\r")
_JSON_KEY = re.compile(r'"(?:[^"\\]|\\.)*"\s*:\s*(?:\[\s*)?')
_JSON_VALUE = re.compile(r'"(?P<text>[^"\\]*)"|(?P<number>-?[0-9][0-9.eE+-]*)')
_ELEMENT = re.compile(r'\s*"?(?P<value>[^\s",;]+(?: +[^\s",;]+)*)"?\s*(?:[,;]|\Z)')


def original(path: str, files: Snapshot) -> bytes:
    """Return the bytes of a profile as they were first read, and let the snapshot keep them.

    Raises
    ------
    UnreadableError
        If it cannot be read.
    """
    real = real_path(path)
    if real not in files.first:
        with open_path(path, files.open) as stream:
            files.first[real] = read_capped(stream, path, limit=MAX_TEXT)
    return files.first[real]


def why_not_editable(path: str, at: Span, key: str, files: Snapshot) -> str | None:
    """Return why the value of a key cannot be edited in this file; None where it can."""
    try:
        data = original(path, files)
    except InputError as err:
        return err.problem
    if data.startswith(MAGIC):
        return "archives are not written; enter it in the slicer"
    if data.startswith(_WIDE):
        return "the profile is UTF-16 text, which is not written; enter it in the slicer"
    if value_place(text_of(data)[0], at, key) is None:
        return "the value's text could not be found for sure; enter it in the slicer"
    return None


def replaced(data: bytes, at: Span, key: str, new: str) -> bytes:
    """Return the bytes of a profile with the value of a key, which stands at `at`, replaced.

    Raises
    ------
    InputError
        If it is not there as one plain value.
    """
    text, codec = text_of(data)
    place = value_place(text, at, key)
    if place is None:
        raise InputError(f"'{key}' was not found in {at.file}", "enter it in the slicer", at)
    start, stop = place
    return (text[:start] + new + text[stop:]).encode(codec)


def value_text(data: bytes, at: Span, key: str) -> str:
    """Return the characters of a value that can be edited; empty where there is none."""
    text, _ = text_of(data)
    start, stop = value_place(text, at, key) or (0, 0)
    return text[start:stop]


def text_of(data: bytes) -> tuple[str, str]:
    """Return the text and the codec that gives the same bytes back."""
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "latin-1"


def value_place(text: str, at: Span, key: str) -> tuple[int, int] | None:
    """Return where the value's characters begin and end."""
    try:
        json = container_of(text.removeprefix("\ufeff"), at.file) == "json"
    except InputError:
        return None
    start = _offset(text, at, _INI_END if not json else re.compile("\n"))
    if start is None:
        return None
    return _json_value(text, start, key) if json else _ini_value(text, start, key)


def _offset(text: str, at: Span, line_end: re.Pattern[str]) -> int | None:
    """Return the place of a line and column; a byte order mark is no column."""
    start, ends = len(text) - len(text.removeprefix("\ufeff")), line_end.finditer(text)
    for _ in range(at.line - 1):
        end = next(ends, None)
        if end is None:
            return None
        start = end.end()
    return start + at.column - 1


def _ini_value(text: str, start: int, key: str) -> tuple[int, int] | None:
    if not text.startswith(key, start):
        return None
    end = _INI_END.search(text, start)
    line = text[start : end.start() if end else len(text)]
    name, equals, value = line.partition("=")
    if not equals or name.strip() != key:
        return None
    return _element(value, start + len(name) + 1)


def _json_value(text: str, start: int, key: str) -> tuple[int, int] | None:
    head = _JSON_KEY.match(text, start)
    if head is None or not text.startswith(f'"{key}"', start):
        return None
    found = _JSON_VALUE.match(text, head.end())
    if found is None:
        return None
    if found["number"] is not None:
        return found.span("number")
    return _element(found["text"], found.start("text"))


def _element(value: str, start: int) -> tuple[int, int] | None:
    """Return where the first element of a list of values stands, without its quotes."""
    found = _ELEMENT.match(value)
    if found is None or value.strip()[:1] in ("=", "{"):
        return None
    return start + found.start("value"), start + found.end("value")
