"""Conditions and defaults that the data files state in the condition language.

They are compiled when the package is built (artifact ``stated-expressions``), so that a run
needs no parser for them.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence

from advisor.base import Fact, Number, Value, frozen, value_of
from advisor.catalog import CATEGORIES, Catalog, load_catalog
from advisor.data import Plain, artifact
from advisor.expression import Compiled, compile_expression, evaluate
from advisor.inputs import Default, load_dialect

__all__ = ["ARTIFACTS", "ClassChoice", "default_value", "holds", "suggested"]


@frozen
class ClassChoice:
    """A category of the catalogue and the text fact that names the entry chosen."""

    category: str
    fact: str


def suggested(category: str, catalog: Catalog, facts: Mapping[str, Fact]) -> str | None:
    """Return the first entry of `category` whose `suggest` condition holds, if any."""
    for name, entry in catalog.category(category).items():
        if entry.suggest and holds(entry.suggest, facts):
            return name
    return None


def holds(condition: str, facts: Mapping[str, Fact]) -> bool:
    """Whether a condition of the catalogue holds of the typical machine."""
    return evaluate(_compiled(condition), facts).nominal is True


def default_value(default: Default, facts: Mapping[str, Fact], catalog: Catalog) -> Value | None:
    """Return what the firmware applies, or None where that cannot be had.

    A default that stands with the driver chip's numbers is taken from the catalogue.
    """
    unit = catalog.facts[default.fact].unit
    if default.expression is not None:
        return value_of(evaluate(_compiled(default.expression), facts).value, unit)
    if default.catalogue is None:
        return value_of(default.value, unit)
    chip = facts.get("driver.chip")
    entry = catalog.category(default.catalogue).get((chip.text if chip else None) or "")
    number = entry.numbers.get(default.fact) if entry else None
    return Number(number.typical, unit) if number else None


@functools.cache
def _compiled(text: str) -> Compiled:
    return Compiled.from_json(_table()[text])


@functools.cache
def _table() -> Mapping[str, Sequence[Plain]]:
    return artifact("stated-expressions", _build)


def _build() -> dict[str, list[Plain]]:
    catalog = load_catalog()
    entries = [e for category in CATEGORIES for e in catalog.category(category).values()]
    texts = {text for e in entries for text in (e.suggest, e.shares_when) if text}
    texts |= set(load_dialect().expressions())
    return {text: compile_expression(text, catalog.facts).to_json() for text in sorted(texts)}


ARTIFACTS: Mapping[str, Callable[[], object]] = {"stated-expressions": _build}
