"""The kinds of measurement and the inputs each settles, read from rules/measure/groups.yaml.

It knows the syntax of the file, explained there, and ranks nothing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from advisor.frozen import frozen
from advisor.intake.rule_reader import RuleReader, list_parts
from advisor.resources import artifact

__all__ = ["ARTIFACTS", "Measure", "build_measures", "group_of", "load_measures"]

_FILE = "measure/groups.yaml"
_KEYS = ("group", "title", "how", "own", "inputs")


@frozen
class Measure:
    """One kind of measurement; `inputs` are names of facts or beginnings that end in a dot."""

    group: str
    title: str
    how: str
    inputs: tuple[str, ...]
    own: bool = False


@functools.cache
def load_measures() -> tuple[Measure, ...]:
    """Return the kinds of measurement in the order of the file; they are read once."""
    rows = artifact("measures", build_measures)
    return tuple(Measure(**{**row, "inputs": tuple(row["inputs"])}) for row in rows)


def group_of(fact: str, measures: Sequence[Measure]) -> Measure | None:
    """Return the measurement that settles a fact: the longest name or beginning that fits."""
    found = [(len(name), m) for m in measures for name in m.inputs if _fits(fact, name)]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _fits(fact: str, name: str) -> bool:
    return fact == name or (name.endswith(".") and fact.startswith(name))


def build_measures() -> list[dict[str, Any]]:
    """Return the file as JSON types: the artifact ``measures``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    parts = list_parts(_FILE, what="measurements", first="group")
    seen: dict[str, str] = {}
    return [_row(part, seen) for part in parts]


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"measures": build_measures}


def _row(reader: RuleReader, seen: dict[str, str]) -> dict[str, Any]:
    row = reader.mapping((), _KEYS)
    for key in ("group", "title", "how"):
        if not isinstance(row.get(key), str) or not row[key].strip():
            raise reader.mistake((key,), "must be a text", f"add '{key}: ...'")
    inputs = row.get("inputs")
    if not isinstance(inputs, list) or not inputs:
        raise reader.mistake(("inputs",), "must be a list of facts", "write '- model.grip_share'")
    for name in inputs:
        _check(reader, str(name), row["group"], seen)
    how = " ".join(row["how"].split())
    return {**{key: row[key] for key in ("group", "title")}, "how": how,
            "inputs": [str(name) for name in inputs], "own": row.get("own") is True}  # fmt: skip


def _check(reader: RuleReader, name: str, group: str, seen: dict[str, str]) -> None:
    if not any(_fits(fact, name) for fact in reader.catalog.facts):
        raise reader.mistake(("inputs",), f"names '{name}', no fact", "see rules/facts.yaml")
    if name in seen:
        raise reader.mistake(("inputs",), f"names '{name}', as {seen[name]} does", "keep one")
    seen[name] = group
