"""What is chosen where nobody states it: by conditions of the data files, and by the set current.

The conditions and defaults are compiled when the package is built (artifact
``stated-expressions``), so that a run needs no parser for them.

A motor class that nobody named follows from what the config says, its winding from a rating. A set
current between two classes leaves both open: the ensemble holds machines of either. A motor wound
for another current than its class has thinner or thicker wire: at the same copper, resistance and
inductance go with one over the square of the current, torque and heat at the rating do not change.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from advisor.base import Fact, Number, Origin, OriginKind, State, Trace, Value, frozen, value_of
from advisor.catalog import CATEGORIES, Catalog, CatalogNumber, Entry, load_catalog
from advisor.data import Plain, artifact
from advisor.expression import Compiled, compile_expression, evaluate
from advisor.inputs import Default, load_dialect
from advisor.machine.catalogue_inputs import band_samples
from advisor.machine.graph import FactBook

__all__ = [
    "ARTIFACTS",
    "ClassChoice",
    "default_value",
    "holds",
    "put_shared",
    "scale_winding",
    "suggested",
]

_WINDING = ("motor.resistance", "motor.inductance")
_RATED = "motor.rated_current"
ASSUMED_MOTOR = frozenset({"motor.holding_torque", "motor.rated_current"})


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


def put_shared(book: FactBook, catalog: Catalog, category: str, entry: Entry) -> None:
    """Put the numbers of a class that shares the ensemble with another one, half and half.

    The typical machine is of the class itself. Does nothing where the class shares with none, or
    its condition does not hold.
    """
    other = catalog.category(category).get(entry.shares_with or "")
    if other is None or not entry.shares_when or not holds(entry.shares_when, book.facts):
        return
    # half of the machines, the same half for every number; the nominal one has a quantile of 0.5
    elsewhere = book.ensemble.quantiles(f"{category} shared") > 0.5
    for name, number in entry.numbers.items():
        beside = other.numbers.get(name)
        if beside is not None and not _stated(book, name):
            book.put(_mixed(book, name, (number, beside), np.asarray(elsewhere)))


def _stated(book: FactBook, name: str) -> bool:
    present = book.facts.get(name)
    return present is not None and present.state in (State.KNOWN, State.UNREADABLE)


def _mixed(
    book: FactBook, name: str, numbers: tuple[CatalogNumber, CatalogNumber], elsewhere: np.ndarray
) -> Fact:
    here, there = (
        band_samples(book.ensemble, name, low=n.low, typical=n.typical, high=n.high)
        for n in numbers
    )
    samples = np.where(elsewhere, there, here)
    alike = numbers[0].exact and numbers[0].low == numbers[1].low == numbers[1].high
    modelled = frozenset() if alike or name in ASSUMED_MOTOR else frozenset({name})
    return Fact(
        name,
        book.of(name, float(samples[0]) if alike else samples),
        origin=Origin(OriginKind.CATALOGUE, source=f"{numbers[0].source} ({numbers[0].status})"),
        trace=Trace(assumed=frozenset({name}) & ASSUMED_MOTOR, modelled=modelled),
    )


def scale_winding(book: FactBook, entry: Entry) -> None:
    """Scale a class's resistance and inductance to the rated current that is stated."""
    rated, usual = book.facts.get(_RATED), entry.numbers.get(_RATED)
    if rated is None or rated.number is None or usual is None:
        return
    if rated.origin.kind is OriginKind.CATALOGUE:
        return
    scale = (usual.typical / np.asarray(rated.number.si)) ** 2
    for name in _WINDING:
        fact = book.facts.get(name)
        if fact is None or fact.number is None or fact.origin.kind is not OriginKind.CATALOGUE:
            continue
        scaled = np.asarray(fact.number.si) * scale
        words = f"the class's, x ({{{_RATED}}} of the class / {{{_RATED}}})^2"
        trace = fact.trace._replace(inputs=(_RATED,), formula=words)
        made = fact.holding(scaled if scaled.ndim else float(scaled))
        book.put(made.traced(trace))
