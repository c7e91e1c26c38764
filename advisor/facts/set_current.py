"""The one current to set: the limits of a motor's current by name, the lowest, what it allows.

Every command takes the derated current, the limit that sets it and the current to set from here.
A limit is a row of `LIMITS`: a fact in A RMS, so that another one needs a fact and a row.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from typing import Any

import numpy as np

from advisor.catalog import Catalog
from advisor.facts import chain_motor
from advisor.facts.current_facts import Apply, put_driver, put_made
from advisor.facts.graph import FactBook, Formula
from advisor.frozen import frozen
from advisor.physics import current

__all__ = ["LIMITS", "CurrentLimit", "exceeded", "limit_set_by", "put_set_current"]


@frozen
class CurrentLimit:
    """A limit of the current that may be set: its short name, its fact, how people call it."""

    name: str
    fact: str
    words: str


LIMITS = (
    CurrentLimit("share", "motor.current_by_share", "share of the rating"),
    CurrentLimit("winding", "motor.current_for_winding", "winding"),
    CurrentLimit("mount", "motor.current_for_mount", "motor mount"),
    CurrentLimit("filament", "motor.current_for_filament", "filament in the drive gears"),
    CurrentLimit("chip", "motor.current_for_chip", "driver chip"),
    CurrentLimit("firmware", "motor.current_for_firmware", "firmware"),
    CurrentLimit("range", "motor.current_for_range", "range of the driver"),
)
_OF_DRIVER = frozenset({"chip", "firmware", "range"})
_DERATED = "motor.derated_current"


def _lowest(**limits: Any) -> Any:
    """Return the lowest of the limits that are known."""
    known = [value for value in limits.values() if value is not None]
    return np.minimum.reduce(np.broadcast_arrays(*known)) if known else None


def _same(fact: str, limit: str) -> Formula:
    return Formula(limit, lambda *, value: value, {"value": fact}, f"{{{fact}}}")


_DRIVER = (
    _same("driver.rms_limit", "motor.current_for_chip"),
    _same("driver.firmware_limit", "motor.current_for_firmware"),
    _same("driver.full_scale_current", "motor.current_for_range"),
)


def put_set_current(book: FactBook, catalog: Catalog) -> None:
    """Put every limit of the motor's current, the lowest of them, and the current to set.

    Parameters
    ----------
    book : FactBook
        Rating, heat data and driver of the motor; ``motor.derated_current``,
        ``motor.current_limited_by``, ``motor.set_current`` and ``motor.set_for_driver`` are added,
        each where it can be had.
    catalog : Catalog
        The driver chips.
    """
    book.derive_all((*chain_motor.RATING, *chain_motor.HEAT))
    apply = put_driver(book, catalog)
    book.derive_all((*_DRIVER, _derated(book)))
    limit = limit_set_by(book)
    if limit is not None and book.known(_DERATED):
        put_made(book, "motor.current_limited_by", limit.words, (limit.fact,), "the lowest limit")
    _put_setting(book, apply, _DERATED, "motor.set_current")
    lowest = limit_set_by(book, of=_OF_DRIVER)
    if lowest is not None:
        _put_setting(book, apply, lowest.fact, "motor.set_for_driver")


def limit_set_by(
    book: FactBook, *, of: Iterable[str] | None = None, sure: bool = False
) -> CurrentLimit | None:
    """Return the lowest limit of a typical machine; the first of equal ones.

    Parameters
    ----------
    book : FactBook
        The facts of an extruder.
    of : iterable of str, optional
        Names of limits to look at; all where not given.
    sure : bool
        Only limits that hang on nothing assumed.
    """
    names = None if of is None else frozenset(of)
    known = [
        limit
        for limit in LIMITS
        if book.known(limit.fact)
        and (names is None or limit.name in names)
        and not (sure and book.facts[limit.fact].assumed)
    ]
    return min(known, key=lambda limit: _typical(book, limit.fact), default=None)


def exceeded(book: FactBook) -> CurrentLimit | None:
    """Return the lowest limit that the motor's current is above; None where it is above none.

    Where the rating is assumed, only limits that hang on nothing assumed count.

    Parameters
    ----------
    book : FactBook
        The facts of an extruder.
    """
    rating = book.facts.get("motor.rated_current")
    limit = limit_set_by(book, sure=rating is None or not rating.known or bool(rating.assumed))
    if limit is None or not book.known("motor.working_current"):
        return None
    over = _typical(book, "motor.working_current") > _typical(book, limit.fact) * (1.0 + 1e-6)
    return limit if over else None


def _derated(book: FactBook) -> Formula:
    """Return the lowest of the limits, in words of those that are known."""
    return _lowest_of(tuple(limit.fact for limit in LIMITS if book.known(limit.fact)))


@functools.cache
def _lowest_of(known: tuple[str, ...]) -> Formula:
    needed = {"share": LIMITS[0].fact}  # without a rating there is none
    rest = {limit.name: f"{limit.fact}?" for limit in LIMITS[1:]}
    words = ", ".join(f"{{{fact}}}" for fact in known)
    return Formula(_DERATED, _lowest, needed | rest, f"lowest of {words}")


def _put_setting(book: FactBook, apply: Apply | None, limit: str, name: str) -> None:
    """Put the largest 0.01 A setting that firmware and driver take and that stays in a limit."""
    if not book.known(limit):
        return
    most = limit_set_by(book, of=_OF_DRIVER - {"chip"})
    setting = current.largest_setting_not_above(
        _typical(book, limit),
        apply=apply or _unrounded,
        ceiling=None if most is None else _typical(book, most.fact),
    )
    if setting is None:
        return
    words = "largest 0.01 A step whose applied current is not above the {limit}"
    uses = (limit, *(("driver.chip",) if apply else ()))
    title = "derated current" if limit == _DERATED else "driver's limit"
    put_made(book, name, setting, uses, words.format(limit=title))


def _unrounded(asked: Any) -> Any:
    return asked


def _typical(book: FactBook, name: str) -> float:
    return float(np.ravel(book.samples(name))[0])
