"""Conditions and defaults that the data files state in the condition language.

They are compiled with the rulebook's grammar when the package is built (artifact
``suggestions``), so that a run needs no parser for them.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.model import Fact
from advisor.resources import artifact

__all__ = ["ARTIFACTS", "Choice", "default_value", "suggested"]

_CATEGORIES = ("materials", "motors", "drives", "hotends", "inserts", "mounts")


@dataclass(frozen=True, slots=True)
class Choice:
    """A category of the catalogue and the text fact that names the entry chosen."""

    category: str
    fact: str


def suggested(category: str, facts: Mapping[str, Fact]) -> str | None:
    """Return the first entry of `category` whose `suggest` condition holds, if any."""
    for name, condition in _suggestions()[category]:
        if _nominal(condition, facts) is True:
            return name
    return None


def default_value(compiled: Any, facts: Mapping[str, Fact]) -> Any:
    """Return the samples of a compiled default in SI units, or None where it cannot be had."""
    from advisor.expression import evaluate

    return evaluate(compiled, facts).value


def _nominal(condition: Any, facts: Mapping[str, Fact]) -> bool | None:
    from advisor.expression import evaluate

    value = evaluate(condition, facts).value
    return None if value is None else bool(np.ravel(value)[0])


@functools.cache
def _suggestions() -> Mapping[str, list[tuple[str, Any]]]:
    from advisor.expression import Compiled

    data = artifact("suggestions", _build)
    return {
        category: [(name, Compiled.from_json(row)) for name, row in rows]
        for category, rows in data.items()
    }


def _build() -> dict[str, list[list[Any]]]:
    from advisor.catalog import load_catalog
    from advisor.expression import compile_expression

    catalog = load_catalog()
    units = {name: info.unit for name, info in catalog.facts.items()}
    return {
        category: [
            [name, compile_expression(entry.suggest, units).to_json()]
            for name, entry in catalog.category(category).items()
            if entry.suggest
        ]
        for category in _CATEGORIES
    }


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"suggestions": _build}
