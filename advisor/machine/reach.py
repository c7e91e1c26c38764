"""How far a lever may go on a machine, and the one change of it that is named."""

from __future__ import annotations

from advisor.catalog import Catalog
from advisor.machine.graph import FactBook
from advisor.machine.levers import Bound, Lever, Offer

__all__ = ["now_of", "offered", "reach_of"]

_SAME = 1e-6  # relative: closer values are the same one


def now_of(lever: Lever, book: FactBook) -> float | None:
    """Return what the typical machine has of a lever, in SI units; None where it is not known."""
    now = book.nominal(lever.fact)
    return now if now is not None or lever.known_by is None else book.nominal(lever.known_by)


def reach_of(
    lever: Lever, book: FactBook, catalog: Catalog, now: float
) -> tuple[float, float, str]:
    """Return the lowest and the highest value of a lever in SI units, and what sets the highest.

    Parameters
    ----------
    lever : Lever
        The lever.
    book : FactBook
        The machine's facts.
    catalog : Catalog
        Where a bound may be the largest of a class.
    now : float
        What the machine has, [SI].
    """
    low = now
    if lever.down_to is not None:
        low = _value(lever, lever.down_to, book, catalog, now) or now
    bounds = [(_value(lever, bound, book, catalog, now), bound.words) for bound in lever.up_to]
    known = [(value, words) for value, words in bounds if value is not None]
    high, words = min(known, key=lambda one: one[0]) if known else (now, lever.up_to[0].words)
    return min(low, now), high, words


def _value(
    lever: Lever, bound: Bound, book: FactBook, catalog: Catalog, now: float
) -> float | None:
    found = bound.value
    if bound.fact is not None:
        found = book.nominal(bound.fact)
    elif bound.times is not None:
        found = now * bound.times
    elif bound.catalogue is not None:
        entries = catalog.category(bound.catalogue).values()
        found = max(e.numbers[lever.fact].high for e in entries if lever.fact in e.numbers)
    if found is None:
        return None
    found -= bound.less
    return found if bound.at_least is None else max(found, bound.at_least)


def offered(lever: Lever, book: FactBook, catalog: Catalog, now: float) -> float | None:
    """Return the one value of a lever that is named, in SI units.

    None where the machine has it already, or where it may not go so far.
    """
    if lever.offer is None:
        return None
    _, high, _ = reach_of(lever, book, catalog, now)
    value = _offered(lever.offer, catalog, now, high)
    if value is None or value <= now * (1.0 + _SAME) or value > high * (1.0 + _SAME):
        return None
    return value


def _offered(offer: Offer, catalog: Catalog, now: float, high: float) -> float | None:
    if offer.most:
        return high
    if offer.times is not None:
        return offer.times * now
    if offer.catalogue is None or offer.of is None:
        return offer.value
    entries = catalog.category(offer.catalogue).values()
    sizes = {entry.numbers[offer.of].typical for entry in entries if offer.of in entry.numbers}
    return min((size for size in sizes if size > now * offer.apart), default=None)
