"""Reads what macros set when they run, and what they keep: pressure advance, limits, currents.

Only what stands there as a number, or is one by the macro's own defaults and arithmetic; the rest
is known only when the macro runs. What a 0 switches off is not told.
The words of their G-code are data: rules/dialects/macros.yaml, checked, the artifact ``macros``.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from advisor.base import Span, frozen, parse_unit
from advisor.catalog import load_catalog
from advisor.data import Range, Row, artifact, parse_number
from advisor.inputs.macro_values import Variables, evaluated

if TYPE_CHECKING:
    from advisor.config import Tree
    from advisor.data import Kind, Node

__all__ = [
    "ARTIFACTS",
    "NUMBER_WORDS",
    "MacroSetting",
    "command_settings",
    "kept_settings",
    "macro_words",
]

NUMBER_WORDS = ("extruder", "speed")  # those that have a range


@functools.cache
def macro_words() -> Row:
    """Return the words; they are read once.

    Raises
    ------
    DataError
        If the file has a mistake in it.
    """
    data: Row = artifact("macros", _build)
    return data


def _build() -> Row:
    from advisor.data import schema as s

    texts, given = s.listed(s.text, least=1), s.checked(_given(), _of_its_kind)
    put = s.row(dict.fromkeys(("command", "name", "value"), s.text))
    words = ("extruder", "speed", "absolute", "relative", "positions", "steps", "reset", "restore")
    lists = ("sections", "keys", "moves", "path", "lift", "templated")
    kinds = {
        **dict.fromkeys(words, s.text),
        **dict.fromkeys(lists, texts),
        "speed_per": s.word(("min", "s")),
        "ranges": s.row(dict.fromkeys(NUMBER_WORDS, s.ends(above=0.0))),
        "commands": s.names(s.row({"gives": s.names(given)}, {"whose": s.text, "not_with": texts})),
        "kept": s.row({"begins": s.text, "names": texts, "gives": given, "set_by": put}),
    }
    data: Row = s.read_data("dialects/macros.yaml", s.row(kinds))
    return data


def _given() -> Kind[Row]:
    """Return the kind of what a word states: a fact, its unit and its range."""
    from advisor.data import ends, row, unit, word

    fact = word(load_catalog().facts, "fact", "name one of rules/facts.yaml")
    return row({"fact": fact, "unit": unit(), "range": ends()})


def _of_its_kind(node: Node, row: Row) -> Row:
    from advisor.data import unit

    unit(load_catalog().facts[row["fact"]].unit, row["fact"])(node.into("unit"))
    return row


ARTIFACTS: Mapping[str, Callable[[], object]] = {"macros": _build}


@frozen
class MacroSetting:
    """What a macro sets: a fact and its value in SI, where, and for whom.

    ``extruder`` is the section name that the command names; None where it names none. ``literal``
    says that the number stands in the line itself. ``kept``: a variable holds it, and it is not in
    force. ``profile``: it stands in a slicer profile, and ``macro`` is the setting of its start
    code.
    """

    fact: str
    value: float
    macro: str
    at: Span
    extruder: str | None = None
    literal: bool = True
    kept: bool = False
    profile: bool = False


def command_settings(
    text: str,
    macro: str,
    at: Span,
    variables: Variables,
    words: Row,
    *,
    profile: bool = False,
) -> Iterator[MacroSetting]:
    """Yield what one line of a macro, or of a profile's start code, sets.

    Parameters
    ----------
    text : str
        The line, without comment.
    macro : str
        The macro's name.
    at : Span
        The line's place.
    variables : Variables
        What the macro's own lines gave names to so far.
    words : mapping
        The data of the dialect.
    profile : bool
        Whether the line stands in a slicer profile.
    """
    name, _, rest = text.strip().partition(" ")
    command = words["commands"].get(name.upper())
    given = dict(_words(evaluated(rest, variables).split()))
    if name.upper() == words["kept"]["set_by"]["command"]:
        yield from _put(given, words["kept"], macro, at, profile=profile)
    if command is None:
        return
    if any(word in given for word in command.get("not_with", ())):
        return
    whose = given.get(command.get("whose", ""))
    literal = not any(mark in text for mark in words["templated"])
    for word, gives in command["gives"].items():
        value = _value(given.get(word, ""), gives)
        if value is not None and (whose is None or "{" not in whose):
            yield MacroSetting(gives["fact"], value, macro, at, whose, literal, profile=profile)


def _put(
    given: Mapping[str, str], kept: Row, macro: str, at: Span, *, profile: bool
) -> Iterator[MacroSetting]:
    """Yield what a command puts into a variable of a name that leaves no doubt."""
    by, gives = kept["set_by"], kept["gives"]
    value = _value(given.get(by["value"], ""), gives)
    if value is not None and given.get(by["name"], "").lower() in kept["names"]:
        yield MacroSetting(gives["fact"], value, macro, at, kept=True, profile=profile)


def kept_settings(tree: Tree, words: Row) -> Iterator[MacroSetting]:
    """Yield what the macros keep in variables of a name that leaves no doubt."""
    kept = words["kept"]
    for section in tree.section_names:
        word, _, macro = section.partition(" ")
        if word not in words["sections"]:
            continue
        for name in kept["names"]:
            setting = tree.find(section, f"{kept['begins']}{name}")
            value = _value(setting.value, kept["gives"]) if setting is not None else None
            if setting is not None and value is not None:
                fact = kept["gives"]["fact"]
                yield MacroSetting(fact, value, macro.strip(), setting.value_span, kept=True)


def _words(parts: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield words and their values: ``KEY=VALUE`` or a letter with a number behind it."""
    for part in parts:
        key, mark, value = part.partition("=")
        yield (key.upper(), value.strip("'\"")) if mark else (part[:1].upper(), part[1:])


def _value(text: str, gives: Row) -> float | None:
    number = parse_number(text)
    if not number or number not in Range(*gives["range"]):
        return None
    return float(parse_unit(gives["unit"]).to_si(number))
