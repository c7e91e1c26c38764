"""Turns the bytes of a file into text and back without losing one; tells text from no text.

Bytes that are no UTF-8 become lone surrogates, one each, and come back as the same bytes. It
does not guess code pages: such bytes stand in comments, and the firmware would refuse them.
"""

from __future__ import annotations

from advisor.files import printable

__all__ = ["bom_length", "decode", "encode", "no_text", "printable"]

_SIGNATURES = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_ARCHIVES = (b"PK\x03\x04", b"\x1f\x8b", b"\x7fELF", b"\x89PNG", b"%PDF", b"BZh", b"\xfd7zXZ")
_SAMPLE = 4096  # bytes looked at for the pattern of NUL bytes


def decode(data: bytes) -> str:
    """Return the text of `data`; `encode` gives the same bytes back, whatever they are."""
    return data.decode("utf-8", "surrogateescape")


def encode(text: str) -> bytes:
    """Return the bytes that `decode` made `text` of."""
    return text.encode("utf-8", "surrogateescape")


def bom_length(text: str) -> int:
    """Return how many characters of a byte order mark stand at the beginning: 0 or 1."""
    return int(text.startswith("\ufeff"))


_CONTROLS = bytes(set(range(1, 32)) - set(b"\t\n\v\f\r\x1b"))
_FEW_CONTROLS = 0.05  # share of control characters that no text has


def no_text(data: bytes) -> str | None:
    """Return what `data` is where it is no 8-bit text: ``UTF-16``, ``UTF-32``, ``binary``.

    Notes
    -----
    UTF-16 without a mark is known by its NUL bytes, which stand nearly all on one side of
    each pair. A few NUL bytes in a text (a card that lost power) leave it a text; a file in
    which one byte in twenty is another control character is none.
    """
    for signature, name in _SIGNATURES:
        if data.startswith(signature):
            return name
    if data.startswith(_ARCHIVES):
        return "binary"
    sample = data[:_SAMPLE]
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    if controls > max(_FEW_CONTROLS * len(sample), 20):
        return "binary"
    nuls = data.count(0)
    if not nuls:
        return None
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    if max(even, odd) > 0.4 * len(sample) / 2 and min(even, odd) < 0.1 * max(even, odd):
        return "UTF-16"
    return "binary" if nuls > 0.01 * len(data) else None
