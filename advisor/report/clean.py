"""Makes text of unknown origin safe to show: no control characters, no broken bytes.

A value, a path or a section name of the user's is never markup and never a terminal command.
It does not wrap or style text: see `page`.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["cell_text", "cell_width", "controls", "plain", "unicode_text"]

_COMMANDS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\udc80-\udc9f]")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def controls(data: bytes) -> int:
    """Return how many characters of a text a terminal would take as commands."""
    return len(_COMMANDS.findall(data.decode("utf-8", "surrogateescape")))


def plain(text: str) -> str:
    """Return `text` on one line with every control or invisible character written as an escape.

    Line breaks and tabs become blanks; a byte that was no text (kept as a lone surrogate)
    becomes ``\\xNN``.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(_shown(character) for character in text)


def unicode_text(text: str) -> str:
    """Return `text` with bytes that were no text written as escapes; the rest is kept.

    For machine formats, where control characters are quoted by the format itself.
    """
    if text.isascii():
        return text
    return "".join(_escape(c) if unicodedata.category(c) == "Cs" else c for c in text)


def cell_text(text: str) -> str:
    """Return a text for a cell of CSV, which no spreadsheet takes for a formula.

    One that begins like a formula gets an apostrophe before it. Numbers are no texts.
    """
    safe = unicode_text(text)
    return f"'{safe}" if safe.startswith(_FORMULA) else safe


def _shown(character: str) -> str:
    if character in "\t\n\r":
        return " "
    return _escape(character) if unicodedata.category(character) in _HIDDEN else character


def _escape(character: str) -> str:
    code = ord(character)
    if 0xDC80 <= code <= 0xDCFF:  # a byte that was no text, kept by PEP 383
        code -= 0xDC00
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def cell_width(text: str) -> int:
    """Return how many terminal columns `text` takes, [-]."""
    if text.isascii():
        return len(text)
    return sum(_cells(character) for character in text)


def _cells(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1
