"""Edits a config text: replaces the characters of one value, or inserts one setting.

Everything else stays, byte for byte. Each edit is read again and compared before it is handed
back. It writes no file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from advisor.base import InputError
from advisor.config.document import Document, Section, Setting, encode
from advisor.config.reader import read_document

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
    edited = _edited(document, text[:start] + new + text[stop:])
    if _meaning(edited) != expected:
        raise _too_much(document)
    return edited


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
    content = key + _delimiter(document, block) + value
    expected = _meaning(document, block=block, new=value, key=key.lower())
    for line, indent in _places(document, block):
        edited = _edited(document, _with_line(document, line, indent + content))
        if _meaning(edited) == expected:
            return edited
    raise _too_much(document)


def _check(text: str, what: str, bad: re.Pattern[str]) -> None:
    if bad.search(text):
        raise InputError(f"{text!r} cannot be a {what}", f"give a {what} on one line, no comment")


def _with_line(document: Document, line: int, new: str) -> str:
    """Return the text with a new line after `line`, with that one's line end."""
    text, place, end = document.text, document.starts[line + 1], _line_end(document, line)
    if text[place - 1] in "\r\n":
        return text[:place] + new + end + text[place:]
    return text[:place] + end + new + text[place:]


def _line_end(document: Document, line: int) -> str:
    """Return the line end of a line, or of the first line where that one has none."""
    for index in (line, 0):
        _, stop = document.content(index)
        end = document.text[stop : document.starts[index + 1]]
        if end:
            return end
    return "\n"


def _places(document: Document, block: Section) -> Iterator[tuple[int, str]]:
    """Yield lines to insert after, and indentations to try there, the likeliest first.

    A setting that is indented deeper than the line above would become its continuation, and
    so would an indented header that follows; lines that are neither make it worse.
    """
    last = block.settings[-1] if block.settings else None
    own = _leading(document, last.line) if last else ""
    for line in dict.fromkeys((last.last_line if last else block.line, block.last_line)):
        following = _next_content(document, line + 1)
        near = [_leading(document, at) for at in (following, line) if at is not None]
        for indent in dict.fromkeys((own, "", *near)):
            yield line, indent


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


def _edited(document: Document, text: str) -> Document:
    return read_document(encode(text), document.path)


def _too_much(document: Document) -> InputError:
    problem = f"the edit of {document.path} would change more than the one setting"
    return InputError(problem, "make it by hand")
