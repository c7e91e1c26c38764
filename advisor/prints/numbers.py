"""Decimal numbers in a byte buffer to floats, many at once, eight characters in one word.

Reads an optional sign, up to 16 digits and one point: the numbers of sliced prints. The result
is the float nearest to the text, as ``float`` gives it: an exact integer over an exact power of
ten. What has another shape is marked, not guessed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["PAD", "read_numbers"]

PAD = 16  # bytes that must stand before the first number of a buffer

_U = np.uint64
_ZEROS = _U(0x3030303030303030)
_POINTS = _U(0x2E2E2E2E2E2E2E2E)
_ONES = _U(0x0101010101010101)
_HIGH = _U(0x8080808080808080)
_ABOVE_NINE = _U(0x7676767676767676)
_PLACES = _U(0x0001020304050607)  # its byte 7 - k holds k
_PAIRS, _QUADS, _LOW = _U(0x00FF00FF00FF00FF), _U(0x0000FFFF0000FFFF), _U(0xFFFFFFFF)
_KEEP = np.array([2**64 - 2 ** (64 - 8 * n) for n in range(9)], dtype=np.uint64)
_TENS = 10.0 ** np.arange(23)

Words = NDArray[np.uint64]


def read_numbers(
    buffer: NDArray[np.uint8], start: NDArray[np.intp], end: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the numbers at ``buffer[start:end]`` and whether each is one.

    Parameters
    ----------
    buffer : ndarray of uint8
        The text, with `PAD` bytes before the first number.
    start, end : ndarray
        First byte of each number, sign included, and the byte after its last.

    Returns
    -------
    tuple of ndarray
        Values (0 where there is none) and whether the text is a number.
    """
    first = buffer[start]
    signed = (first == 45) | (first == 43)
    length = end - start - signed
    words = np.ndarray((len(buffer) - 7,), "<u8", buffer=buffer.data, strides=(1,))
    short = length <= 8
    value, places, good = _eight(words[end - 8], np.minimum(length, 8), short)
    good &= length > (places >= 0)
    value /= _TENS[np.maximum(places, 0)]
    if not short.all():
        _long(words, end, length, short, value, good)
    np.negative(value, out=value, where=first == 45)
    return value, good


def _eight(
    word: Words, length: NDArray[np.intp], whole: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.bool_]]:
    """Return mantissa, digits after the point (-1: no point) and goodness of the last 8 bytes."""
    keep = _KEEP[length]
    word = (word & keep) | (_ZEROS & ~keep)
    mark, places = _point(word)
    below = mark - _U(1)  # all bytes before the point; all bytes where there is no point
    closed = ((word & below) << _U(8)) | (word & ~(below | mark * _U(255))) | _U(0x30)
    digits = np.where(mark == 0, word, closed) - _ZEROS
    good = (((digits + _ABOVE_NINE) | digits) & _HIGH) == 0
    good &= whole
    return _decimal(digits).astype(np.float64), places, good


def _point(word: Words) -> tuple[Words, NDArray[np.intp]]:
    """Return 1 << 8 k for the first point at byte k (0: none), and 7 - k (-1: none)."""
    other = word ^ _POINTS
    found = (other - _ONES) & ~other & _HIGH
    mark = (found & (~found + _U(1))) >> _U(7)
    places = 7 - ((mark * _PLACES) >> _U(56)).astype(np.intp)
    places[mark == 0] = -1
    return mark, places


def _decimal(digits: Words) -> Words:
    """Return the number whose decimal digits are the eight bytes, first byte highest."""
    pairs = (digits * _U(10) + (digits >> _U(8))) & _PAIRS
    quads = (pairs * _U(100) + (pairs >> _U(16))) & _QUADS
    return (quads * _U(10000) + (quads >> _U(32))) & _LOW


def _long(
    words: Words,
    end: NDArray[np.intp],
    length: NDArray[np.intp],
    short: NDArray[np.bool_],
    value: NDArray[np.float64],
    good: NDArray[np.bool_],
) -> None:
    """Read the numbers of 9 to 16 characters with up to eight digits on each side of a point."""
    at = np.flatnonzero(~short & (length <= 16))
    stop, size = end[at], length[at]
    _, places = _point(words[stop - 8])
    places[(places < 0) & (words[stop - 9] & _U(0xFF) == _U(46))] = 8
    before = size - 1 - places  # digits before the point
    fits = (places >= 0) & (before <= 8) & (before >= 0)
    at, stop, places, before = at[fits], stop[fits], places[fits], before[fits]
    whole, point, fine = _eight(words[stop - places - 9], before, np.ones(len(at), bool))
    part, second, sound = _eight(words[stop - 8], places, np.ones(len(at), bool))
    mantissa = whole * _TENS[places] + part
    value[at] = mantissa / _TENS[places]
    good[at] = fine & sound & (point < 0) & (second < 0) & (mantissa < 2.0**53)
