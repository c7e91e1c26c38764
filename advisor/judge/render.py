"""Fills the placeholders of a rule's message and advice; only for findings that are told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from advisor.base import Fact, OriginKind, Quantity, parse_unit
from advisor.catalog import load_catalog
from advisor.expression import Compiled, evaluate
from advisor.judge.figures import quantity
from advisor.judge.records import Parts

__all__ = ["render"]

_LONGEST = 80  # characters of a user's text that a message quotes
Facts = Mapping[str, Fact]


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
