"""The time that a slicer states for its print, and why it may not be the planned one.

Slicers reckon with limits of their own, and older ones without any acceleration; such a figure
says nothing of the plan.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from advisor.prints.records import OwnTime

__all__ = ["own_time", "read_time"]

_PART = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([a-z]*)[,\s]*(?:and\s+)?", re.IGNORECASE)
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{2}(?:\.\d+)?)$")
_LONGEST = 1e8  # s; three years


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
