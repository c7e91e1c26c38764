"""Finds the plain moves of a block of G-code and their words, all lines at once.

A plain move is a motion letter with one digit, then words of letter and number, one blank or
none between; a comment may follow. All other lines are left to `interpret`, by number.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.dialect import AXES, PrintDialect
from advisor.prints.numbers import PAD, read_numbers

__all__ = ["LINE", "PrintLines", "Scanner"]

LINE = 1  # code of a straight move; 2 clockwise, 3 counterclockwise

_NO_WORD = 255
_FIRST_WORD = 254
_ARC = AXES.index("arc_x")  # from here on only arcs have words

Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


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
