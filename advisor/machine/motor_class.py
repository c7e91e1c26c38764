"""What the config says of a motor class nobody named, and what a rating says of a class's winding.

A set current between two classes leaves both open: the ensemble holds machines of either. A motor
wound for another current than its class has thinner or thicker wire: at the same copper, resistance
and inductance go with one over the square of the current, torque and heat at the rating do not
change.
"""

from __future__ import annotations

import numpy as np

from advisor.base import Fact, Origin, OriginKind, State, Trace
from advisor.catalog import Catalog, CatalogNumber, Entry
from advisor.machine.catalogue_inputs import band_samples
from advisor.machine.choices import holds
from advisor.machine.graph import FactBook

__all__ = ["put_shared", "scale_winding"]

_WINDING = ("motor.resistance", "motor.inductance")
_RATED = "motor.rated_current"


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


ASSUMED_MOTOR = frozenset({"motor.holding_torque", "motor.rated_current"})


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
