"""Reads the comments of a print: features, widths, heights, and what the slicer states.

The styles are data of the dialect. It changes the modal state and reads no command.

The time that a slicer states may not be the planned one: slicers reckon with limits of their own,
and older ones without any acceleration; such a figure says nothing of the plan.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from advisor.prints.dialect import Notes, PrintDialect
from advisor.prints.modal import Modal, MoveField
from advisor.prints.records import OwnTime, Stated

__all__ = ["Remarks", "own_time", "read_time"]

_PART = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([a-z]*)[,\s]*(?:and\s+)?", re.IGNORECASE)
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{2}(?:\.\d+)?)$")
_LONGEST = 1e8  # s; three years
_TEXT = 200  # characters kept of a stated setting
_NAME = 60  # characters kept of a feature's name
_MOST_KNOWN = 1000  # comments behind moves that are remembered, none longer than `_NAME`


def read_time(text: str, words: Mapping[str, float]) -> float | None:
    """Return a time as slicers write it; None where it is none.

    Parameters
    ----------
    text : str
        ``1h 20m 3s``, ``1 hour 20 minutes``, ``1:20:03``, or a bare number of seconds.
    words : mapping of str to float
        Units of time in lower case, [s]
    """
    text = text.strip()
    if clock := _CLOCK.match(text):
        hours, minutes, seconds = (float(part or 0) for part in clock.groups())
        return _within(3600.0 * hours + 60.0 * minutes + seconds)
    parts, end = [], 0
    while end < len(text) and (found := _PART.match(text, end)):
        parts.append((float(found[1]), found[2].lower()))
        end = found.end()
    if end < len(text) or not parts:
        return None
    if parts[0][1] == "":
        return _within(parts[0][0]) if len(parts) == 1 else None
    if any(word not in words for _, word in parts):
        return None
    return _within(sum(number * words[word] for number, word in parts))


def _within(seconds: float) -> float | None:
    return seconds if 0.0 < seconds < _LONGEST else None


def own_time(
    time: float, line: int, planned: float, plain: float, bounds: Mapping[str, float]
) -> OwnTime:
    """Return what the time that a slicer states is beside the plan.

    Parameters
    ----------
    time : float
        What the slicer states, [s]
    line : int
        Where it does.
    planned, plain : float
        The planned time, and the one at the set speeds alone, [s]
    bounds : mapping
        ``own_time`` of the dialect.
    """
    if abs(time - planned) <= bounds["alike"] * planned:
        kind = "alike"
    elif abs(time - plain) <= bounds["plain"] * plain:
        kind = "plain"
    else:
        kind = "other"
    return OwnTime(time, line, plain, kind)


class Remarks:
    """Follows a print through its comments.

    ``features`` are the names met, by the number the modal state holds; ``stated`` what the
    slicer says of its own settings, ``own_time`` the time it reckons with [s] and the line.
    """

    def __init__(self, dialect: PrintDialect, modal: Modal, notes: Notes) -> None:
        self.features: list[str | None] = [None]
        self.stated: dict[str, Stated] = {}
        self.own_time: tuple[float, int] | None = None
        self._dialect, self._modal, self._notes = dialect, modal, notes
        self._known: dict[bytes, int | None] = {}
        self._longest = int(dialect.limits["command_length"])

    def behind_move(self, i: int, comment: bytes) -> None:
        """Take a comment behind a move: a known name is its feature."""
        try:
            feature = self._known[comment]
        except KeyError:
            feature = self._behind(comment[1 : self._longest])
            if len(comment) <= _NAME and len(self._known) < _MOST_KNOWN:
                self._known[comment] = feature
        if feature is not None:
            self._modal.set(i, MoveField.FEATURE, float(feature))

    def line(self, i: int, comment: bytes, before: int) -> None:
        """Take a comment that stands alone in line `i` of a block after `before` lines."""
        found = self._dialect.comment.match(comment[: self._longest])
        if found is None or found.lastindex is None:
            self._alone(i, comment)
            return
        words = found[found.lastindex].strip().decode("utf-8", "replace")
        gives = self._dialect.comment_gives[found.lastindex - 1]
        if gives == "feature":
            self._feature(i, words, known=self._dialect.comment_known[found.lastindex - 1])
        elif gives == "width":
            self._length(i, MoveField.WIDTH, words)
        elif gives == "layer-height":
            self._length(i, MoveField.LAYER_HEIGHT, words)
        elif gives == "time" and self.own_time is None:
            time = read_time(words[:_TEXT], self._dialect.time_words)
            self.own_time = None if time is None else (time, before + i + 1)
        elif gives == "setting":
            self._setting(words, before + i + 1)

    def _alone(self, i: int, comment: bytes) -> None:
        """Take an old comment that is a feature's name and nothing else."""
        if len(comment) <= _NAME and (feature := self._behind(comment[1:])) is not None:
            self._modal.set(i, MoveField.FEATURE, float(feature))

    def _behind(self, text: bytes) -> int | None:
        ours = self._dialect.features.get(text.strip().lower().decode("utf-8", "replace"))
        return self._number(ours) if ours else None

    def _feature(self, i: int, words: str, *, known: bool) -> None:
        ours = self._dialect.features.get(words.lower())
        if ours is None and known:
            return
        if ours is None:
            ours = "".join(c if c.isprintable() else "?" for c in words.lower()[:_NAME])
        self._modal.set(i, MoveField.FEATURE, float(self._number(ours)))

    def _number(self, name: str) -> int:
        if name in self.features:
            return self.features.index(name)
        if len(self.features) >= self._dialect.limits["features"]:
            self._notes.add("many-features", 0, name)
            name = "other"
            if name in self.features:
                return self.features.index(name)
        self.features.append(name)
        return len(self.features) - 1

    def _length(self, i: int, field: MoveField, words: str) -> None:
        try:
            self._modal.set(i, field, min(float(words), 1e3) * 1e-3)
        except ValueError:
            return

    def _setting(self, words: str, line: int) -> None:
        key, _, value = words.partition("=")
        name = self._dialect.settings.get(key.strip())
        if name is not None and name not in self.stated:
            self.stated[name] = Stated(name, key.strip(), value.strip()[:_TEXT], line)
