"""Finds the plain moves of a block of G-code and their words, all lines at once.

A plain move is a motion letter with one digit, then words of letter and number, one blank or
none between; a comment may follow. All other lines are left to `interpret`, by number.

Numbers become floats many at once, eight characters in one word. It reads an optional sign, up to
16 digits and one point: the numbers of sliced prints. The result is the float nearest to the text,
as ``float`` gives it: an exact integer over an exact power of ten. What has another shape is
marked, not guessed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.dialect import AXES, PrintDialect

__all__ = ["LINE", "PAD", "PrintLines", "Scanner", "read_numbers"]

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
LINE = 1  # code of a straight move; 2 clockwise, 3 counterclockwise
_NO_WORD = 255
_FIRST_WORD = 254
_ARC = AXES.index("arc_x")  # from here on only arcs have words
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


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


@dataclass(slots=True)
class PrintLines:
    """The lines of a block.

    ``code`` is 0 where a line is no plain move, ``words`` has one row per axis of `AXES` and NaN
    where a line has no such word (the words of arcs hold only where there are arcs). ``other``
    are the lines to interpret, in order: those that are no plain moves, and those whose comment
    is another than the one before. ``cut`` is where the comment of a line begins (or it ends).
    """

    text: bytes
    start: Ints
    end: Ints
    cut: Ints
    code: NDArray[np.uint8]
    words: NDArray[np.float64]
    other: Ints

    def __len__(self) -> int:
        return len(self.start)


class Scanner:
    """Reads blocks by the letters of a dialect."""

    def __init__(self, dialect: PrintDialect) -> None:
        self._word = np.full(256, _NO_WORD, np.uint8)
        for letter, axis in dialect.letters.items():
            self._word[[ord(letter), ord(letter.lower())]] = axis
        motion = dialect.motion_letter
        self._motion = (ord(motion), ord(motion.lower()))
        self._codes = np.zeros(256, np.uint8)
        for digit, code in dialect.motions.items():
            self._codes[ord(str(digit))] = code
        self._blank = np.zeros(256, bool)
        self._blank[[9, 13, 32]] = True
        self._largest = dialect.limits["number"]
        self._trailing = dialect.trailing_comments

    def scan(self, block: bytes) -> PrintLines:
        """Return the lines of a block that ends in a line end."""
        text = b"\n" * PAD + block
        buffer = np.frombuffer(text, np.uint8)
        end = np.flatnonzero(buffer == 10)[PAD:]
        start = np.empty_like(end)
        start[0], start[1:] = PAD, end[:-1] + 1
        cut = _comments(buffer, start, end)
        first, last, line = _runs(buffer, start, cut, commented=cut is not end)
        code = np.zeros(len(start), np.uint8)
        words = np.empty((len(AXES), len(start)))
        words[:_ARC] = np.nan
        if len(first):
            self._moves(buffer, start, cut, first, last, line, code, words)
        other = code == 0
        if self._trailing and cut is not end:
            other |= cut < end
        other = np.flatnonzero(other & (end > start))
        if cut is not end:
            other = other[~_repeated(buffer, cut[other], end[other], code[other])]
        return PrintLines(text, start, end, cut, code, words, other)

    def _moves(
        self,
        buffer: NDArray[np.uint8],
        start: Ints,
        cut: Ints,
        first: Ints,
        last: Ints,
        line: Ints,
        code: NDArray[np.uint8],
        words: NDArray[np.float64],
    ) -> None:
        """Fill in `code` and `words` from the runs of number characters first:last."""
        lead = np.flatnonzero(line[1:] != line[:-1]) + 1  # the first run of each line
        lead = np.concatenate(([0], lead))
        tail = np.append(lead[1:], len(line)) - 1
        mine = line[lead]
        kind = self._word[buffer[first - 1]]
        kind[lead] = _FIRST_WORD
        good = self._spaced(buffer, first, last)
        good &= kind != _NO_WORD
        good[lead] = self._headed(buffer, start[mine], first[lead], last[lead])
        good[tail] &= self._ended(buffer, last[tail], cut[mine])
        code[mine] = self._codes[buffer[first[lead]]]
        code[line[~good]] = 0
        if code.max() > LINE:
            words[_ARC:] = np.nan
        at = np.flatnonzero((kind != _FIRST_WORD) & (code[line] != 0))
        value, number = read_numbers(buffer, first[at], last[at])
        number &= np.abs(value) <= self._largest
        code[line[at[~number]]] = 0
        words.reshape(-1)[kind[at] * np.intp(len(start)) + line[at]] = value

    def _spaced(self, buffer: NDArray[np.uint8], first: Ints, last: Ints) -> Flags:
        """Whether one blank or none stands between a word and the one before it."""
        gap = np.empty_like(first)
        gap[0], gap[1:] = 0, first[1:] - last[:-1]
        close: Flags = (gap == 1) | ((gap == 2) & self._blank[buffer[first - 2]])
        return close

    def _headed(self, buffer: NDArray[np.uint8], start: Ints, first: Ints, last: Ints) -> Flags:
        """Whether a line begins with a motion letter and one digit."""
        letter = buffer[first - 1]
        motion = (letter == self._motion[0]) | (letter == self._motion[1])
        headed: Flags = motion & (first == start + 1) & (last == first + 1)
        return headed

    def _ended(self, buffer: NDArray[np.uint8], last: Ints, cut: Ints) -> Flags:
        """Whether nothing but up to two blanks stands between the last word and the end."""
        rest = cut - last
        blank = self._blank[buffer[last]]
        ended: Flags = (rest == 0) | ((rest == 1) & blank)
        if rest.max() > 1:
            second = self._blank[buffer[np.minimum(last + 1, len(buffer) - 1)]]
            ended |= (rest == 2) & blank & second
        return ended


def _comments(buffer: NDArray[np.uint8], start: Ints, end: Ints) -> Ints:
    """Return where the comment after a semicolon begins, or the line ends."""
    marks = np.flatnonzero(buffer == 59)
    if not len(marks):
        return end
    cut = end.copy()
    line = np.searchsorted(start, marks, side="right") - 1
    fresh = np.flatnonzero(np.diff(line, prepend=-1))
    cut[line[fresh]] = marks[fresh]
    return cut


def _repeated(buffer: NDArray[np.uint8], cut: Ints, end: Ints, code: NDArray[np.uint8]) -> Flags:
    """Whether a plain move carries the very comment that the line before it in the list carries.

    Comments of 8 to 32 bytes are compared, eight bytes at a time.
    """
    same = np.zeros(len(cut), bool)
    if len(cut) < 2:
        return same
    words = np.ndarray((len(buffer) - 7,), "<u8", buffer=buffer.data, strides=(1,))
    size, moves = end - cut, code != 0
    fits = moves & (size >= 8) & (size <= 32)
    np.logical_and(fits[1:], fits[:-1], out=same[1:])
    same[1:] &= size[1:] == size[:-1]
    if not same.any():
        return same
    last = np.maximum(end - 8, 0)
    for offset in (0, 8, 16, 32):
        piece = words[np.minimum(cut + offset, last)]
        same[1:] &= piece[1:] == piece[:-1]
    return same


def _runs(
    buffer: NDArray[np.uint8], start: Ints, cut: Ints, *, commented: bool
) -> tuple[Ints, Ints, Ints]:
    """Return begin, end and line of every run of number characters outside comments."""
    number = (buffer - np.uint8(43)) < 15  # + , - . / and digits; , and / are no numbers
    edges = np.flatnonzero(number[1:] != number[:-1]) + 1
    first, last = edges[0::2], edges[1::2]
    count = np.diff(np.searchsorted(first, start), append=len(first))
    line = np.repeat(np.arange(len(start)), count)
    if not commented:
        return first, last, line
    bare = first < cut[line]
    if bare.all():
        return first, last, line
    return first[bare], last[bare], line[bare]
