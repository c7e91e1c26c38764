"""The words of the macros' G-code: rules/dialects/macros.yaml, checked; the artifact ``macros``."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.catalog import load_catalog
from advisor.data import Row, artifact

if TYPE_CHECKING:
    from advisor.data import Kind, Node

__all__ = ["ARTIFACTS", "NUMBER_WORDS", "macro_words"]

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
