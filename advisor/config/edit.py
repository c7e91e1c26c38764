"""Edits a config text: replaces the characters of one value, or inserts one setting.

Everything else stays, byte for byte. Each edit is read again and compared before it is handed
back. It writes no file.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from advisor.config.document import Document, read_document
from advisor.config.encoding import encode
from advisor.config.records import Section, Setting
from advisor.errors import InputError

__all__ = ["insert_setting", "replace_value"]

_Meaning = list[tuple[str, list[tuple[str, str]]]]

_BAD_VALUE = re.compile(r"[#\r\n\ud800-\udfff]|\s;|\A[\s;]|\s\Z")
_BAD_KEY = re.compile(r"[#:=\r\n\ud800-\udfff]|\s;|\A[\s;\[]|\s\Z|\A\Z")
_INDENT = re.compile(r"[^\S\r\n]*")
_LONGEST_GAP = 3  # blanks around a delimiter that are taken over; more is a column of its own


def replace_value(document: Document, setting: Setting, new_text: str) -> Document:
    """Return the document with the first line of one value replaced.

    Raises
    ------
    InputError
        If `new_text` cannot be a value, or the setting is of another document.
    """
    _check(new_text, "value", _BAD_VALUE)
    if setting.document is not document:
        raise InputError("the setting is of another document", "read the document again")
    start, stop = setting.places[3], setting.places[4]
    text = document.text
    glued = start == stop and text[stop : stop + 1] in ("#", ";")
    new = new_text + (" " if glued and new_text else "")
    expected = _meaning(document, changed=setting, new=new_text)
    return _verified(document, text[:start] + new + text[stop:], expected)


def insert_setting(document: Document, section: str, key: str, value: str) -> Document:
    """Return the document with one more setting, after the last of that section's block.

    Delimiter, indentation and line end are those of its neighbours.

    Raises
    ------
    InputError
        If key or value cannot be one, the key is there already, or the document has no live
        block of that section.
    """
    _check(key, "key", _BAD_KEY)
    _check(value, "value", _BAD_VALUE)
    blocks = [block for block in document.sections if block.name == section]
    if not blocks:
        problem = f"there is no section [{section}] in {document.path}"
        raise InputError(problem, "insert it where its header stands")
    if any(setting.key == key.lower() for block in blocks for setting in block.settings):
        raise InputError(f"'{key}' is in [{section}] already", "replace its value")
    block = blocks[-1]
    place = document.starts[block.last_line + 1]
    line = _indent(document, block) + key + _delimiter(document, block) + value
    text = _with_line(document.text, place, line, _line_end(document, block.last_line))
    return _verified(document, text, _meaning(document, block=block, new=value, key=key.lower()))


def _check(text: str, what: str, bad: re.Pattern[str]) -> None:
    if bad.search(text):
        raise InputError(f"{text!r} cannot be a {what}", f"give a {what} on one line, no comment")


def _with_line(text: str, place: int, line: str, end: str) -> str:
    """Return `text` with a line at `place`, which is where a line begins or the text ends."""
    if text[place - 1] in "\r\n":
        return text[:place] + line + end + text[place:]
    return text[:place] + end + line + text[place:]


def _line_end(document: Document, line: int) -> str:
    """Return the line end of a line, or of the first line where that one has none."""
    for index in (line, 0):
        _, stop = document.content(index)
        end = document.text[stop : document.starts[index + 1]]
        if end:
            return end
    return "\n"


def _indent(document: Document, block: Section) -> str:
    """Return the indentation at which a line is a setting and leaves the next lines theirs."""
    if block.settings:
        return _leading(document, block.settings[-1].line)
    near = [line for line in (block.last_line, block.last_line + 1) if line > block.line]
    indents = [_leading(document, line) for line in near if _has_content(document, line)]
    following = _next_content(document, block.last_line + 1)
    if following is not None:
        indents.append(_leading(document, following))
    return max(indents, key=len, default="")


def _leading(document: Document, line: int) -> str:
    found = _INDENT.match(document.text, document.starts[line])
    return found[0] if found else ""


_EMPTY_KINDS = frozenset(("BLANK", "HASH_COMMENT", "SEMI_COMMENT", "SAVED", "SAVED_TITLE"))


def _has_content(document: Document, line: int) -> bool:
    return line < len(document.kinds) and document.kinds[line] not in _EMPTY_KINDS


def _next_content(document: Document, line: int) -> int | None:
    stop = len(document.kinds) if document.saved_from is None else document.saved_from
    return next((at for at in range(line, stop) if _has_content(document, at)), None)


def _delimiter(document: Document, block: Section) -> str:
    """Return the delimiter with the blanks around it, as the nearest setting has it."""
    for setting in _nearest(document, block):
        _, key_end, delimiter, value, stop = setting.places
        if value == stop:
            continue
        text = document.text
        gap = text[key_end:value]
        return gap if len(gap) <= _LONGEST_GAP else f"{text[delimiter]} "
    return ": "


def _nearest(document: Document, block: Section) -> Iterator[Setting]:
    yield from reversed(block.settings)
    for other in document.sections:
        yield from other.settings


def _meaning(
    document: Document,
    *,
    changed: Setting | None = None,
    block: Section | None = None,
    key: str = "",
    new: str = "",
) -> _Meaning:
    """Return sections with keys and values, as they will be after the edit."""
    result: _Meaning = []
    for section in (*document.sections, *document.saved):
        pairs = [
            (setting.key, _replaced(setting, new) if setting is changed else setting.value)
            for setting in section.settings
        ]
        result.append((section.name, [*pairs, (key, new)] if section is block else pairs))
    return result


def _replaced(setting: Setting, new: str) -> str:
    return "\n".join((new, *setting.extra_lines)).rstrip()


def _verified(document: Document, text: str, expected: _Meaning) -> Document:
    edited = read_document(encode(text), document.path)
    kinds = Counter(event.kind for event in edited.events)
    if _meaning(edited) != expected or kinds - Counter(e.kind for e in document.events):
        problem = f"the edit of {document.path} would change more than the one setting"
        raise InputError(problem, "make it by hand")
    return edited
