"""Reads the text of one value: a number, a whole number, a gear ratio, a quantity with unit.

A number is what the firmware takes for one: Python's float() decides. What is no number is
never guessed at; `why_no_number` says in one word what stands there instead. It knows no keys.
"""

from __future__ import annotations

import functools
import math
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from advisor.base import InputError, Span, Unit, frozen, parse_unit
from advisor.data.grammar import ParserTables, build_parser, load_parser

if TYPE_CHECKING:
    from lark import Lark, Token, Tree

__all__ = [
    "ARTIFACTS",
    "Quantity",
    "Range",
    "Ratio",
    "build_grammar",
    "parse_integer",
    "parse_number",
    "parse_quantity",
    "parse_ratio",
    "why_no_number",
    "why_no_ratio",
    "within",
]

_FILE, _STARTS = "values.lark", ("ratio", "quantity")
_LONGEST = 200  # characters of a ratio or quantity; longer texts are neither
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"


@frozen
class Ratio:
    """A gear ratio: the teeth (driven, driving) of each stage, from the motor on."""

    stages: tuple[tuple[float, float], ...]

    @property
    def product(self) -> float:
        """Motor turns per turn of the last gear, [-]."""
        return math.prod(driven / driving for driven, driving in self.stages)


@frozen
class Range:
    """The smallest and the largest that a number could be on any machine, in its own unit.

    The one place where a number of a config, a profile or a macro is held to its range. A 0
    says "none" or "off" where it may stand at all, so it is never outside.
    """

    low: float
    high: float

    def __contains__(self, value: float) -> bool:
        """Whether `value` could be; whole numbers of any length are compared as they are."""
        return value == 0 or self.low <= value <= self.high

    def words(self, unit: str) -> str:
        """Return the range as a sentence has it: ``0.1 to 1000 mm``."""
        return f"{self.low:g} to {self.high:g}{f' {unit}' if unit not in ('', '-') else ''}"


@frozen
class Quantity:
    """A value or a band in SI units, with the unit and the text it was written in."""

    low: float
    typical: float
    high: float
    unit: Unit
    text: str


def parse_number(text: str) -> float | None:
    """Return the number the firmware would read, or None if it is none.

    Notes
    -----
    Stricter than float() in two points: ``nan`` and ``inf`` (also by overflow) and digits
    grouped with underscores are no numbers here.
    """
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def parse_integer(text: str) -> int | None:
    """Return the whole number the firmware would read; ``16.0`` is none, as it is there."""
    try:
        return int(text) if "_" not in text else None
    except ValueError:
        return None


def why_no_number(text: str) -> str:
    """Return what stands in place of a number, in one word.

    Returns
    -------
    str
        ``empty``, ``template``, ``quoted``, ``decimal-comma``, ``glued-comment``, ``unit``,
        ``placeholder`` or ``other``.
    """
    plain = text[:_LONGEST].strip()
    for word, pattern in _NO_NUMBER:
        if pattern.search(plain):
            return word
    return "unit" if _tail_is_unit(plain) else "other"


def parse_ratio(text: str) -> Ratio | None:
    """Return a gear ratio such as ``50:17`` or ``44:7, 37:17``, or None if it is none.

    Notes
    -----
    Teeth may be any positive numbers. A comma at the end is allowed. A bare number without a
    colon is no ratio.
    """
    if len(text) > _LONGEST:
        return None
    tree = _tree(text, "ratio")
    if tree is None:
        return None
    teeth = [
        [parse_number(str(token)) for token in stage.children] for stage in _shown(tree) if stage
    ]
    stages = tuple((driven, driving) for driven, driving in teeth if driven and driving)
    if len(stages) < len(teeth) or any(driven < 0 or driving < 0 for driven, driving in stages):
        return None
    ratio = Ratio(stages)
    return ratio if 0.0 < ratio.product < math.inf else None


def why_no_ratio(text: str) -> str:
    """Return why `text` is no gear ratio: ``missing-part``, ``zero`` or ``malformed``."""
    stages = [part.partition(":") for part in text[:_LONGEST].split(",")]
    if all(colon for _, colon, _ in stages):
        parts = [part.strip() for driven, _, driving in stages for part in (driven, driving)]
        if not all(parts):
            return "missing-part"
        if any(parse_number(part) == 0.0 for part in parts):
            return "zero"
    return "malformed"


def parse_quantity(text: str, expected: Unit | None = None, *, at: Span | None = None) -> Quantity:
    """Return a value with unit, or a band ``low..high unit`` or ``low..typical..high unit``.

    Parameters
    ----------
    text : str
        E.g. ``0.09..0.14 N m``, ``24mm3/s``, ``-5 degC``, ``80 %``.
    expected : Unit, optional
        The unit must have its dimension and kind. Where it is a plain number, no unit is due.
    at : Span, optional
        The place an error names.

    Returns
    -------
    Quantity
        The typical value of a two-ended band is its middle. [SI]

    Raises
    ------
    InputError
        If there is no number, no unit or another unit than expected, or the band falls.
    """
    try:
        numbers, unit_text = _parts(text)
        unit = _unit(text, unit_text, expected)
        return _quantity(text, numbers, unit)
    except InputError as err:
        raise InputError(err.problem, err.remedy, at) from None


def within(value: float, low: float, high: float) -> bool:
    """Whether a converted value lies in bounds, each included whichever way a conversion rounds."""
    return low * (1.0 - _ROUNDING) <= value <= high * (1.0 + _ROUNDING)


_MOST_ENDS = 3  # of a band: low, typical, high
_ROUNDING = 1e-9  # of a bound that is not below zero; a thousand times what a conversion loses


def build_grammar() -> ParserTables:
    """Return the compiled tables of the value grammar: the artifact ``grammar-values``."""
    return build_parser(_FILE, _STARTS)


ARTIFACTS: Mapping[str, Callable[[], object]] = {"grammar-values": build_grammar}

_NO_NUMBER = tuple(
    (word, re.compile(pattern, re.IGNORECASE))
    for word, pattern in (
        ("empty", r"\A\Z"),
        ("template", r"\{\{|\{%|\{#|\$\{|\{[a-z_][^{}]*\}"),
        ("quoted", "\\A[\"'`\u2018\u201c\u00ab]|[\"'`\u2019\u201d\u00bb]\\Z"),
        ("decimal-comma", r"\A[+-]?\d*,\d+(?:\s*[^\d\s,.].*)?\Z"),
        ("glued-comment", rf"\A{_NUMBER};"),
        (
            "placeholder",
            r"\A(?:[?.*_xX-]+|<.*>|n/?a|nil|null|none|unset|todo|tbd|fixme|change[_ -]?me)\Z",
        ),
    )
)
_TAIL = re.compile(rf"{_NUMBER}\s*([^\s\d].*)\Z")
_SIMPLE = re.compile(rf"\s*({_NUMBER})[ ]*([A-DF-Za-df-z%][A-Za-z0-9/ ]*?)\s*", re.ASCII)
"""One number and its unit, as nearly all are: read without the grammar, which says the same."""
_TRADE_WORDS = frozenset(("c", "f", "amp", "amps", "ampere", "amperes", "steps", "celsius"))


def _tail_is_unit(text: str) -> bool:
    found = _TAIL.match(_plain(text))
    if found is None:
        return False
    for words in (found[1], found[1].split()[0]):
        if words.lower() in _TRADE_WORDS:
            return True
        try:
            parse_unit(words)
        except InputError:
            continue
        return words != "-"
    return False


@functools.cache
def _parser() -> Lark:
    return load_parser("grammar-values", _FILE, _STARTS)


def _tree(text: str, start: str) -> Tree[Token] | None:
    from lark.exceptions import UnexpectedInput

    try:
        return _parser().parse(text, start=start)
    except UnexpectedInput:
        return None


@functools.lru_cache(maxsize=512)
def _parts(text: str) -> tuple[tuple[float, ...], str | None]:
    """Return the one to three numbers of a quantity and the text of its unit."""
    quoted = _quoted(text)
    if not quoted:
        raise InputError("the value is empty", "write a number with its unit, e.g. '0.8 A'")
    if re.match(r"[+-]?\d*,\d", quoted):
        mended = quoted.replace(",", ".", 1)
        raise InputError(f"'{quoted}' has a decimal comma", f"write '{mended}'")
    simple = _SIMPLE.fullmatch(text) if len(text) <= _LONGEST else None
    if simple is not None and math.isfinite(float(simple[1])):
        return (float(simple[1]),), " ".join(simple[2].split())
    repeated = _ends(text) if len(text) <= _LONGEST else None
    if repeated is not None:
        return repeated
    tree = _tree(_plain(text), "quantity") if len(text) <= _LONGEST else None
    if tree is None:
        raise InputError(f"'{quoted}' is no value", "write it like '0.8 A' or '0.09..0.14 N m'")
    *numbers, unit = (str(child.children[0]) if child else None for child in _shown(tree))
    values = tuple(float(number) for number in numbers if number is not None)
    if not all(math.isfinite(value) for value in values):
        raise InputError(f"'{quoted}' is too large", "write a number that can be")
    return values, " ".join(unit.split()) if unit is not None else None


def _ends(text: str) -> tuple[tuple[float, ...], str] | None:
    """Return a band whose every end has the same unit (``1.0A..1.5A``); None for anything else."""
    ends = [_SIMPLE.fullmatch(part.strip()) for part in _plain(text).split("..")]
    found = [end for end in ends if end is not None]
    units = {" ".join(end[2].split()) for end in found}
    if not 1 < len(ends) <= _MOST_ENDS or len(found) < len(ends) or len(units) > 1:
        return None
    values = tuple(float(end[1]) for end in found)
    return (values, units.pop()) if all(map(math.isfinite, values)) else None


def _shown(tree: Tree[Token]) -> Sequence[Tree[Token] | None]:
    return [child for child in tree.children if not isinstance(child, str)]  # a token is a text


def _quoted(text: str) -> str:
    """Return the beginning of `text` on one line, for a message."""
    return " ".join(text[: 2 * _LONGEST].split())[:40]


def _plain(text: str) -> str:
    """Return `text` with the spellings of a keyboard's special characters made plain."""
    if text.isascii():
        return text
    text = text.replace("\u2026", "..").replace("\u2212", "-")
    return unicodedata.normalize("NFKC", text)


def _unit(text: str, unit_text: str | None, expected: Unit | None) -> Unit:
    if unit_text is None:
        if expected is not None and expected.dimension.is_number:
            return parse_unit("")
        example = f"{_quoted(text)} {expected.symbol if expected else 'A'}"
        problem = f"'{_quoted(text)}' has no unit"
        raise InputError(problem, f"a bare number needs a unit, e.g. '{example}'")
    unit = parse_unit(unit_text)
    if expected is None:
        return unit
    if unit.dimension != expected.dimension or unit.kind != expected.kind:
        due = f"'{expected.symbol}'" if expected.symbol else "a plain number or '%'"
        problem = f"'{_quoted(text)}' is in '{unit.symbol}'"
        raise InputError(problem, f"write {'it in ' if expected.symbol else ''}{due}")
    return unit


def _quantity(text: str, numbers: tuple[float, ...], unit: Unit) -> Quantity:
    if list(numbers) != sorted(numbers):
        raise InputError(f"the band '{_quoted(text)}' falls", "write the lower end first")
    low, high = numbers[0], numbers[-1]
    typical = numbers[1] if len(numbers) == 3 else low + (high - low) / 2.0
    low, typical, high = (float(unit.to_si(value)) for value in (low, typical, high))
    return Quantity(low, typical, high, unit, text)
