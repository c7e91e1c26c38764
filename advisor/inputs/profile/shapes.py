"""Tells what the text of one value is: a number, a share, nothing, switched off, an expression.

It deliberately knows no key: what 0 or a negative number means is said by the dialect.
"""

from __future__ import annotations

import enum
import re

from advisor.data import parse_number

__all__ = ["Shape", "classify", "is_on"]

_NOTHING = frozenset({"", "nil", "none", "null"})
_ON = frozenset({"1", "true", "yes", "on", "enabled"})
_OFF = frozenset({"0", "false", "no", "off", "disabled"})
_EXPRESSION = re.compile(r"^=|[{}()]|\[[A-Za-z_]")
_LARGEST = 1e9  # no setting of a profile is larger; products of a few stay finite


class Shape(enum.Enum):
    """The shape of a value."""

    NUMBER = "number"
    PERCENT = "percent"
    NOTHING = "nothing"  # nil, None, an empty text
    OFF = "off"  # a leading '!'
    EXPRESSION = "an expression"
    WORDS = "no number"


def classify(text: str) -> tuple[Shape, float]:
    """Return the shape of `text`, and its number (of a percentage: before the sign), else 0.0."""
    bare = text.strip()
    if bare.lower() in _NOTHING:
        return Shape.NOTHING, 0.0
    if bare[0] == "!":
        return Shape.OFF, 0.0
    if _EXPRESSION.search(bare):
        return Shape.EXPRESSION, 0.0
    percent = bare.endswith("%")
    number = parse_number(bare[:-1] if percent else bare)
    if number is None or abs(number) > _LARGEST:
        return Shape.WORDS, 0.0
    return (Shape.PERCENT if percent else Shape.NUMBER), number


def is_on(text: str) -> bool | None:
    """Return whether a switch is on; None if the text is neither on nor off."""
    bare = text.strip().lower()
    if bare in _ON:
        return True
    return False if bare in _OFF or bare in _NOTHING else None
