"""The kinds of measurement and the inputs each settles, read from rules/measure/groups.yaml.

It knows the syntax of the file, explained there, and ranks nothing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

from advisor.base import frozen, near_miss
from advisor.catalog import load_catalog
from advisor.data import Row, artifact

if TYPE_CHECKING:
    from advisor.data import Node

__all__ = ["ARTIFACTS", "Measure", "build_measures", "group_of", "load_measures"]

_FILE = "measure/groups.yaml"


@frozen
class Measure:
    """One kind of measurement; `inputs` are names of facts or beginnings that end in a dot."""

    group: str
    title: str
    how: str
    inputs: tuple[str, ...]
    own: bool = False


class _MeasureRow(TypedDict):
    """A measurement as the file is compiled: the artifact ``measures`` is a list of them."""

    own: bool
    group: str
    title: str
    how: str
    inputs: list[str]


@functools.cache
def load_measures() -> tuple[Measure, ...]:
    """Return the kinds of measurement in the order of the file; they are read once."""
    rows = artifact("measures", build_measures)
    return tuple(
        Measure(row["group"], row["title"], row["how"], tuple(row["inputs"]), row["own"])
        for row in rows
    )


def group_of(fact: str, measures: Sequence[Measure]) -> Measure | None:
    """Return the measurement that settles a fact: the longest name or beginning that fits."""
    found = [(len(name), m) for m in measures for name in m.inputs if _fits(fact, name)]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _fits(fact: str, name: str) -> bool:
    return fact == name or (name.endswith(".") and fact.startswith(name))


def build_measures() -> list[_MeasureRow]:
    """Return the file as JSON types: the artifact ``measures``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import checked, flag, listed, read_data, row, text

    facts = load_catalog().facts
    seen: dict[str, int] = {}  # name: its line

    def settled(node: Node, name: str) -> str:
        if not any(_fits(fact, name) for fact in facts):
            raise node.wrong(
                f"is '{name}', no fact", near_miss(name, facts) or "see rules/facts.yaml"
            )
        if name in seen:
            raise node.wrong(f"is '{name}', as in line {seen[name]}", "keep one")
        seen[name] = node.placed.at(*node.path).line
        return name

    inputs = listed(checked(text, settled), least=1)
    needed = {"group": text, "title": text, "how": text, "inputs": inputs}
    group = checked(row(needed, {"own": flag}), _plain)
    return read_data(_FILE, listed(group, first="group", what="measurements"))


def _plain(_: Node, row: Row) -> _MeasureRow:
    return {
        "own": row.get("own", False),
        "group": row["group"],
        "title": row["title"],
        "how": " ".join(row["how"].split()),
        "inputs": row["inputs"],
    }


ARTIFACTS: Mapping[str, Callable[[], object]] = {"measures": build_measures}
