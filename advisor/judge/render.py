"""Fills the placeholders of a rule's message and advice; only for findings that are told.

Numbers are written as value, unit and band, in two or three significant digits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from advisor.base import Fact, Number, OriginKind, Quantity, Unit, known_ends, parse_unit
from advisor.catalog import load_catalog
from advisor.expression import Compiled, evaluate
from advisor.judge.records import Parts

__all__ = ["figure", "quantity", "render"]

_WIDE = 0.1  # relative width of a band from which a third digit would pretend
_SPOKEN = {"A rms": "A RMS", "mA rms": "mA RMS", "-": "", "1": ""}
_LONGEST = 80  # characters of a user's text that a message quotes
Facts = Mapping[str, Fact]


def figure(value: float, digits: int = 3) -> str:
    """Return `value` rounded to `digits` significant digits, without an exponent.

    >>> figure(0.5657), figure(22.771, 2), figure(200000.0), figure(0.0)
    ('0.566', '23', '200000', '0')
    """
    if not math.isfinite(value):
        return "unknown" if math.isnan(value) else "very high" if value > 0 else "very low"
    if value == 0.0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(
    samples: Quantity, unit: Unit, *, with_band: bool = True, with_unit: bool = True
) -> str:
    """Return e.g. ``23 (17-30) mm3/s`` for the samples of an estimate.

    Parameters
    ----------
    samples : ndarray or float
        Sample 0 is nominal. [SI]
    unit : Unit
        The unit to write it in.
    with_band, with_unit : bool
        Whether to write the 5-95 % band, where there is a spread, and the unit.
    """
    if not getattr(samples, "ndim", 0):
        value = float(unit.from_si(float(samples)))
        return _figure(value, unit, _digits(unit)) + _unit(value, unit, with_unit)
    value, low, high = (float(unit.from_si(end)) for end in _ends(samples))
    digits = _digits(unit) if high - low <= _WIDE * abs(value) else 2
    text = _figure(value, unit, max(digits, _flow_digits(value, unit)))
    band = _band(low, high, unit, digits) if with_band else ""
    return (f"{text} ({band})" if band else text) + _unit(value, unit, with_unit)


def _digits(unit: Unit) -> int:
    return 2 if unit.symbol == "%" else 3


def _flow_digits(value: float, unit: Unit) -> int:
    """Return the digits of a flow with one decimal, as everywhere a capacity is written."""
    return 3 if unit.symbol == "mm3/s" and value >= 10.0 else 2


def _ends(samples: Quantity) -> tuple[float, float, float]:
    """Return sample 0, and the ends of the band of the known samples."""
    low, high = known_ends(samples)
    return (math.nan if math.isnan(low) else Number(samples).nominal), low, high


def _band(low: float, high: float, unit: Unit, digits: int) -> str:
    if math.isnan(low):
        return ""
    ends = _figure(low, unit, digits), _figure(high, unit, digits)
    if ends[0] == ends[1]:
        return ""
    if math.isinf(high):
        return f"{ends[0]} or more"
    return f"{ends[0]} to {ends[1]}" if low < 0 else f"{ends[0]}-{ends[1]}"


def _figure(value: float, unit: Unit, digits: int) -> str:
    """A temperature is written in whole degrees, everything else in significant digits."""
    if unit.kind == "point" and math.isfinite(value):
        return f"{round(value)}"
    return figure(value, digits)


def _unit(value: float, unit: Unit, wanted: bool) -> str:
    words = _SPOKEN.get(unit.symbol, unit.symbol)
    return f" {words}" if wanted and words and math.isfinite(value) else ""


def render(parts: Parts, facts: Facts, fields: Mapping[str, str]) -> str:
    """Return a compiled template as text.

    Parameters
    ----------
    parts : sequence
        Texts, and lists of the word of a placeholder and what it needs.
    facts : mapping of str to Fact
        The facts in view.
    fields : mapping of str to str
        The fields of the event, if the rule waits for one.
    """
    return "".join(
        part if isinstance(part, str) else _WRITERS[str(part[0])](facts, fields, *part[1:])
        for part in parts
    )


def _value(facts: Facts, _: object, code: Sequence[object], unit: str, style: str) -> str:
    compiled = Compiled.from_json(code)
    value = evaluate(compiled, facts).value
    if value is None:
        return "unknown"
    if compiled.kind.type == "text" and _is_ours(compiled, facts):
        return str(value)
    return _SHOWN[compiled.kind.type](value, unit, style)


def _quantity(samples: Quantity, unit: str, style: str) -> str:
    band, unit_too = style == "band", style != "number"
    return quantity(samples, parse_unit(unit), with_band=band, with_unit=unit_too)


_SHOWN: Mapping[str, Callable[..., str]] = {
    "flag": lambda value, *_: "on" if value else "off",
    "text": lambda value, *_: _named(value),
    "number": _quantity,
}


def _is_ours(compiled: Compiled, facts: Facts) -> bool:
    """Whether a text was worked out here, not quoted from a file."""
    found = (facts.get(name) for name in compiled.values)
    return all(fact is not None and fact.origin.kind is OriginKind.DERIVED for fact in found)


def _field(_: object, fields: Mapping[str, str], name: str, words: Mapping[str, str]) -> str:
    value = fields.get(name, "")
    return words.get(value, _short(value))


def _place(facts: Facts, _: object, name: str) -> str:
    fact = facts.get(name)
    at = fact.origin.at if fact is not None else None
    if at is not None:
        return f"{at.file} line {at.line}"
    stated = fact is not None and fact.origin.kind is OriginKind.COMMAND
    return "the command line" if stated else "no file"


def _text(facts: Facts, _: object, name: str) -> str:
    fact = facts.get(name)
    text = fact.origin.text if fact is not None else None
    return _short(text or "")


def _setting(facts: Facts, _: object, name: str, title: str) -> str:
    """The user's own key, where the fact stands in a file; else the fact's title."""
    fact = facts.get(name)
    return (fact.origin.setting if fact is not None else None) or title


def _named(word: str) -> str:
    """Return a word of a file: a material as the trade writes it, anything else as it is."""
    entry = load_catalog().materials.get(word)
    return _short(word) if entry is None else entry.title


def _short(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= _LONGEST else f"{plain[: _LONGEST - 3]}..."


_WRITERS: Mapping[str, Callable[..., str]] = {
    "value": _value,
    "field": _field,
    "place": _place,
    "text": _text,
    "setting": _setting,
}
