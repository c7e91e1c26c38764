"""Decides once how a report may look on a stream: width, line drawing, bars, colour.

Nothing else reads the environment. A pipe gets 80 columns and no colour; a locale that
cannot show line drawing gets plain ASCII; a dumb terminal gets no bars at all.

Units are shown as people write them, or in plain ASCII where the terminal cannot. The texts hold
units in the ASCII of the table of units (``mm3/s``, ``degC``, ``mN m``); this is the one place that
knows how they look. What is to be typed (``--asked 20mm3/s``) has no blank before its unit and
stays as it is. It knows no values and no reports.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from typing import TextIO

from advisor.base import frozen

__all__ = ["COLOUR_CHOICES", "Look", "look_for", "typeset", "written"]

_WRITTEN = {
    "mm3/s": "mm\u00b3/s",
    "mm/s2": "mm/s\u00b2",
    "mm2/s": "mm\u00b2/s",
    "mm3": "mm\u00b3",
    "mm2": "mm\u00b2",
    "g/cm3": "g/cm\u00b3",
    "degC": "\u00b0C",
    "mN m": "mN\u00b7m",
    "N m": "N\u00b7m",
    "N mm": "N\u00b7mm",
    "g cm2": "g\u00b7cm\u00b2",
    "W/(m K)": "W/(m\u00b7K)",
    "J/(kg K)": "J/(kg\u00b7K)",
    "um": "\u00b5m",
    "A rms": "A RMS",
}
_PLAIN = {"degC": "C", "A rms": "A RMS"}
_FOREIGN = {foreign: ours for ours, foreign in _WRITTEN.items()}
_FOREIGN |= {"\u00b0C": "C", "\u00b1": "+-", "\u00d7": "x"}

_MARKS = re.compile("|".join(sorted(map(re.escape, _FOREIGN), key=len, reverse=True)))
COLOUR_CHOICES = ("auto", "always", "never")
NARROWEST, WIDEST, USUAL = 40, 120, 80
DRAWN = "\u2550\u2500\u2502\u256a\u253c"
_ASCII_LOCALES = frozenset({"C", "POSIX"})


def _pattern(units: dict[str, str]) -> re.Pattern[str]:
    longest_first = sorted(units, key=len, reverse=True)
    words = "|".join(re.escape(unit) for unit in longest_first)
    return re.compile(rf"(?<![^\s(])(?:{words})(?![\w/])")


_UNITS = _pattern(_WRITTEN)


def typeset(text: str, *, drawn: bool = True) -> str:
    """Return `text` with its units as people write them.

    Parameters
    ----------
    text : str
        A text of ours.
    drawn : bool
        Whether the stream can show more than ASCII.

    >>> typeset("9.7 (6.1-14) mm3/s at 220 degC; --asked 20mm3/s") == (
    ...     "9.7 (6.1-14) mm\u00b3/s at 220 \u00b0C; --asked 20mm3/s")
    True
    >>> typeset("9.7 mm\u00b3/s at 220 degC", drawn=False)
    '9.7 mm3/s at 220 C'
    """
    if drawn:
        return _UNITS.sub(lambda unit: _WRITTEN[unit[0]], text)
    plain = _UNITS.sub(lambda unit: _PLAIN.get(unit[0], unit[0]), text)
    return plain if plain.isascii() else _MARKS.sub(lambda mark: _FOREIGN[mark[0]], plain)


def written(text: str, look: Look) -> str:
    """Return a line with its units as people write them, where the stream can show them."""
    return typeset(text, drawn=look.drawn)


@frozen
class Look:
    """How a report may look; the defaults are those of a file."""

    width: int = USUAL
    drawn: bool = True  # line-drawing characters; else ASCII
    bars: bool = True
    colours: str | None = None  # "standard", "256", "truecolor"; None for no colour


def look_for(
    stream: TextIO | None, colour: str = "auto", env: Mapping[str, str] | None = None
) -> Look:
    """Return how a report may look on `stream`.

    Parameters
    ----------
    stream : text stream or None
        Where the report goes; None where stdout is closed.
    colour : str
        ``auto``, ``always`` or ``never``: what the command line says.
    env : mapping, optional
        The environment; the process's own by default.
    """
    env = os.environ if env is None else env
    if stream is None:
        return Look()
    terminal = _is_terminal(stream)
    dumb = env.get("TERM", "").lower() in {"dumb", "unknown"}
    coloured = _wants_colour(colour, env, terminal=terminal and not dumb)
    return Look(
        width=_width(stream, env, terminal=terminal),
        drawn=_can_draw(stream, env),
        bars=not (terminal and dumb),
        colours=_palette(env) if coloured else None,
    )


def _wants_colour(colour: str, env: Mapping[str, str], *, terminal: bool) -> bool:
    """The option beats NO_COLOR, that beats FORCE_COLOR, that beats what the stream is."""
    if colour != "auto":
        return colour == "always"
    if env.get("NO_COLOR"):
        return False
    if env.get("FORCE_COLOR"):
        return env["FORCE_COLOR"] not in {"0", "false"}
    return terminal


def _palette(env: Mapping[str, str]) -> str:
    if env.get("COLORTERM", "").lower() in {"truecolor", "24bit"}:
        return "truecolor"
    return "256" if "256" in env.get("TERM", "") else "standard"


def _width(stream: TextIO, env: Mapping[str, str], *, terminal: bool) -> int:
    stated = env.get("COLUMNS", "")
    columns = int(stated) if stated.isdecimal() else 0
    if not columns and terminal:
        try:
            columns = os.get_terminal_size(stream.fileno()).columns
        except (OSError, ValueError):
            columns = 0
    return min(max(columns, NARROWEST), WIDEST) if columns else USUAL


def _can_draw(stream: TextIO, env: Mapping[str, str]) -> bool:
    if sys.platform != "win32" and _locale(env) in _ASCII_LOCALES:
        return False
    try:
        DRAWN.encode(stream.encoding or "ascii")
    except (UnicodeError, LookupError):
        return False
    return True


def _locale(env: Mapping[str, str]) -> str:
    """Return the locale the user chose; ``C.UTF-8`` in LC_CTYPE is Python's own doing."""
    kind = env.get("LC_CTYPE", "")
    return env.get("LC_ALL") or ("" if kind == "C.UTF-8" else kind) or env.get("LANG", "")


def _is_terminal(stream: TextIO) -> bool:
    try:
        return stream.isatty()
    except ValueError:  # a closed stream
        return False
