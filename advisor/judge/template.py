"""Compiles the placeholders of messages; runs when the rulebook is built.

``{motor.run_current}`` gives value, unit and band; ``{...:value}`` no band, ``{...:number}``
the number alone, ``{...:place}`` the file and line, ``{...:text}`` the user's own text,
``{...:setting}`` the user's own key. ``{a / b | %}`` is an expression shown in a unit.
``{word}`` is a field of the event.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from advisor.base import DataError, InputError, Span, frozen, near_miss, parse_unit
from advisor.expression import Place, Vocabulary, compile_expression
from advisor.judge.records import Parts

__all__ = ["TemplateWords", "compile_template"]

_STYLES = ("band", "value", "number", "place", "text", "setting")
_HOLE = re.compile(r"\{([^{}]*)\}")
_PARTS = re.compile(r"(?P<what>[^|]*?)(?:\|(?P<unit>[^|:]*))?(?::\s*(?P<style>[a-z]+)\s*)?\Z")
_FACT = re.compile(r"[a-z_]+(?:\.[a-z0-9_]+)+\Z")


@frozen
class TemplateWords:
    """What the placeholders of one rule may name.

    Attributes
    ----------
    vocabulary : mapping
        The facts, each with unit, type and title.
    fields : tuple of str
        The fields of the event the rule waits for.
    replacements : mapping
        For a field: what to write in place of its value.
    """

    vocabulary: Vocabulary
    fields: tuple[str, ...] = ()
    replacements: Mapping[str, Mapping[str, str]] | None = None


def compile_template(text: str, words: TemplateWords, *, at: Place) -> Parts:
    """Return the template as texts and placeholders of JSON types.

    Raises
    ------
    DataError
        If a placeholder names what there is not, or a brace stands alone.
    """
    parts: list[str | Sequence[object]] = []
    end = 0
    for hole in _HOLE.finditer(text):
        parts.append(_plain(text, end, hole.start(), at))
        parts.append(_placeholder(hole[1], words, at, hole.start() + 1))
        end = hole.end()
    parts.append(_plain(text, end, len(text), at))
    return [part for part in parts if part != ""]


def _plain(text: str, start: int, end: int, at: Place) -> str:
    part = text[start:end]
    brace = re.search(r"[{}]", part)
    if brace:
        raise DataError("a brace stands alone", "write '{name}'", _place(at, start + brace.start()))
    return part


def _placeholder(hole: str, words: TemplateWords, at: Place, offset: int) -> list[object]:
    found = _PARTS.match(hole)
    if found is None or not found["what"].strip():
        raise DataError(f"'{{{hole}}}' is no placeholder", "write '{name}'", _place(at, offset))
    what, style = found["what"].strip(), found["style"] or "band"
    if style not in _STYLES:
        hint = near_miss(style, _STYLES) or f"known are {', '.join(_STYLES)}"
        raise DataError(f"'{style}' is no way to show a value", hint, _place(at, offset))
    if found["unit"] is None and "." not in what and re.fullmatch(r"[a-z_]+", what):
        return _field(what, words, _place(at, offset))
    if style in ("place", "text", "setting"):
        return _fact(what, style, words, _place(at, offset))
    return _value(what, found["unit"], style, words, _shifted(at, offset))


def _field(name: str, words: TemplateWords, at: Span) -> list[object]:
    if name not in words.fields:
        known = (*words.fields, *words.vocabulary)
        hint = near_miss(name, known) or f"the event gives {', '.join(words.fields) or 'nothing'}"
        raise DataError(f"there is nothing named '{name}' here", hint, at)
    return ["field", name, dict((words.replacements or {}).get(name, {}))]


def _fact(name: str, style: str, words: TemplateWords, at: Span) -> list[object]:
    if not _FACT.match(name):
        raise DataError(f"'{name}' is no fact", f"':{style}' goes with the name of one fact", at)
    fact = words.vocabulary.get(name)
    if fact is None:
        hint = near_miss(name, words.vocabulary) or "the facts are listed in rules/facts.yaml"
        raise DataError(f"there is no fact '{name}'", hint, at)
    return [style, name, getattr(fact, "title", name)] if style == "setting" else [style, name]


def _value(
    what: str, unit: str | None, style: str, words: TemplateWords, at: Place
) -> list[object]:
    compiled = compile_expression(what, words.vocabulary, at=at)
    start = _place(at, 0)
    if compiled.kind.type != "number":
        return ["value", compiled.to_json(), "", style]
    if unit is None:
        fact = words.vocabulary.get(what)
        if fact is None and not compiled.kind.plain:
            raise DataError(f"'{what}' has no unit to be shown in", "write '{... | mm}'", start)
        return ["value", compiled.to_json(), getattr(fact, "unit", ""), style]
    try:
        parse_unit(unit.strip())
    except InputError as err:
        raise DataError(err.problem, err.remedy, start) from None
    checked = compile_expression(what, words.vocabulary, expected=unit.strip() or "-", at=at)
    return ["value", checked.to_json(), unit.strip(), style]


def _place(at: Place, offset: int) -> Span:
    if callable(at):
        return at(offset)
    start = at or Span("template", 1)
    return Span(start.file, start.line, start.column + offset)


def _shifted(at: Place, offset: int) -> Place:
    return lambda inner: _place(at, offset + inner)
