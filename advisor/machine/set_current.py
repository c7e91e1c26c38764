"""The one current to set: the limits of a motor's current by name, the lowest, what it allows.

Every command takes the derated current, the limit that sets it and the current to set from here.
A limit is a row of `CURRENT_LIMITS`: a fact in A RMS, so that another one needs a fact and a row.

The limits of winding and mount are safe rather than typical: few of the plausible machines are
above theirs. They are always those of the same plausible machines, so that nobody who asks for
more machines, or weighs a test, is told another current.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable

import numpy as np

from advisor.base import Fact, Quantity, frozen
from advisor.catalog import Catalog
from advisor.machine import chain_motor
from advisor.machine.driver import Apply, put_driver
from advisor.machine.graph import FactBook, Formula
from advisor.physics import current

__all__ = [
    "CURRENT_LIMITS",
    "CurrentLimit",
    "exceeded",
    "limit_set_by",
    "put_exceeded",
    "put_set_current",
    "safe_currents",
]


@frozen
class CurrentLimit:
    """A limit of the current that may be set: its short name, its fact, how people call it.

    ``heats``: what heats the motor is held against it, not only what is set.
    """

    name: str
    fact: str
    words: str
    heats: bool = False


CURRENT_LIMITS = (
    CurrentLimit("share", "motor.current_by_share", "share of the rating"),
    CurrentLimit("winding", "motor.current_for_winding", "winding", heats=True),
    CurrentLimit("mount", "motor.current_for_mount", "motor mount", heats=True),
    CurrentLimit("chip", "motor.current_for_chip", "driver chip"),
    CurrentLimit("firmware", "motor.current_for_firmware", "firmware"),
    CurrentLimit("range", "motor.current_for_range", "range of the driver"),
)
NEAR = 1.02  # a current that is less above its limit than this is not told
_OF_MOTOR = frozenset({"share", "winding", "mount"})
_OF_DRIVER = frozenset({"chip", "firmware", "range"})
_DERATED = "motor.derated_current"
_SLACK = 1e-9


def _lowest(**limits: Quantity | None) -> Quantity | None:
    """Return the lowest of the limits that are known."""
    known = [value for value in limits.values() if value is not None]
    if not known:
        return None
    lowest: Quantity = np.minimum.reduce(np.broadcast_arrays(*known))
    return lowest


def _same(fact: str, limit: str) -> Formula:
    return Formula(limit, lambda *, value: value, {"value": fact}, f"{{{fact}}}")


_DRIVER = (
    _same("driver.rms_limit", "motor.current_for_chip"),
    _same("driver.firmware_limit", "motor.current_for_firmware"),
    _same("driver.full_scale_current", "motor.current_for_range"),
)


def put_set_current(book: FactBook, catalog: Catalog, safe: Iterable[Fact] | None = None) -> None:
    """Put every limit of the motor's current, the lowest of them, and the current to set.

    Parameters
    ----------
    book : FactBook
        Rating, heat data and driver of the motor; ``motor.derated_current``,
        ``motor.current_limited_by``, ``motor.set_current`` and ``motor.set_for_driver`` are added,
        each where it can be had.
    catalog : Catalog
        The driver chips.
    safe : iterable of Fact, optional
        What `safe_currents` gave, where the book's machines are not all plausible ones.
    """
    apply = _put_heat(book, catalog)
    for fact in safe or ():
        book.put(fact)
    book.derive_all((*chain_motor.SAFE, *_DRIVER))
    book.derive_all((_derated(book),))
    limit = limit_set_by(book)
    if limit is not None and book.known(_DERATED):
        book.put_words("motor.current_limited_by", limit.words, (limit.fact,), "the lowest limit")
    _put_setting(book, apply, _DERATED, "motor.set_current")
    lowest = limit_set_by(book, of=_OF_DRIVER)
    if lowest is not None:
        _put_setting(book, apply, lowest.fact, "motor.set_for_driver")


def safe_currents(book: FactBook, catalog: Catalog) -> tuple[Fact, ...]:
    """Return the safe currents of winding and mount of the machines in a book.

    Parameters
    ----------
    book : FactBook
        All that is stated and assumed of the motor, over the plausible machines; it is added to.
    catalog : Catalog
        The driver chips.
    """
    _put_heat(book, catalog)
    book.derive_all(chain_motor.SAFE)
    return tuple(book.facts[formula.output] for formula in chain_motor.SAFE)


def _put_heat(book: FactBook, catalog: Catalog) -> Apply | None:
    book.derive_all(chain_motor.RATING)
    apply = put_driver(book, catalog)
    book.derive_all(chain_motor.HEAT)
    return apply


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
        for limit in CURRENT_LIMITS
        if book.known(limit.fact)
        and (names is None or limit.name in names)
        and not (sure and book.facts[limit.fact].trace.assumed)
    ]
    return min(known, key=lambda limit: _typical(book, limit.fact), default=None)


def exceeded(
    book: FactBook, *, of: Iterable[str] | None = None, floor: bool = True
) -> CurrentLimit | None:
    """Return the lowest limit that the motor's current is above; None where it is above none.

    Where the rating is assumed, only limits that hang on nothing assumed count. A current that is
    no more than `NEAR` above its limit, or set no higher than it should be, is above none.

    Parameters
    ----------
    book : FactBook
        The facts of an extruder.
    of : iterable of str, optional
        Names of limits to look at; all where not given.
    floor : bool
        Whether what flows in silent mode counts where it is more than what is set.
    """
    rating = book.facts.get("motor.rated_current")
    sure = rating is None or not rating.known or bool(rating.trace.assumed)
    if not book.known("motor.working_current"):
        return None
    names = frozenset(limit.name for limit in CURRENT_LIMITS) if of is None else frozenset(of)
    broken = [
        limit.name
        for limit in CURRENT_LIMITS
        if limit.name in names
        and book.known(limit.fact)
        and _over(book, limit, floor=floor and limit.heats)
    ]
    return limit_set_by(book, of=broken, sure=sure)


def _over(book: FactBook, limit: CurrentLimit, *, floor: bool) -> bool:
    """Whether the motor's current is further above a limit than is worth a word."""
    most = _typical(book, limit.fact)
    silent = floor and book.known("driver.silent_floor")
    if silent and _typical(book, "driver.silent_floor") > most * NEAR:
        return True
    if _typical(book, "motor.working_current") <= most * NEAR:
        return False
    # the setting of all limits: where none is known, there is nothing it could be at
    settings = ("motor.set_current", "motor.run_current")
    if not all(book.known(name) for name in settings):
        return True
    setting, run = (_typical(book, name) for name in settings)
    return run > setting + _SLACK


def put_exceeded(book: FactBook) -> None:
    """Put which limit of the motor its set current is above, or its silent mode alone.

    Parameters
    ----------
    book : FactBook
        The facts of an extruder with its limits and its working current.
    """
    limit = exceeded(book, of=_OF_MOTOR, floor=False)
    if limit is not None:
        uses = ("motor.working_current", limit.fact)
        book.put_words("motor.exceeds", limit.words, uses, "the lowest limit that it is above")
    silent = exceeded(book, of=_OF_MOTOR)
    if silent is not None and silent.heats and not _set_above(book, silent):
        uses = ("driver.silent_floor", silent.fact)
        book.put_words("driver.silent_exceeds", silent.words, uses, "the lowest limit it is above")


def _set_above(book: FactBook, limit: CurrentLimit) -> bool:
    return _over(book, limit, floor=False)


def _derated(book: FactBook) -> Formula:
    """Return the lowest of the limits, in words of those that are known."""
    return _lowest_of(tuple(limit.fact for limit in CURRENT_LIMITS if book.known(limit.fact)))


@functools.cache
def _lowest_of(known: tuple[str, ...]) -> Formula:
    needed = {"share": CURRENT_LIMITS[0].fact}  # without a rating there is none
    rest = {limit.name: f"{limit.fact}?" for limit in CURRENT_LIMITS[1:]}
    words = ", ".join(f"{{{fact}}}" for fact in known)
    return Formula(_DERATED, _lowest, needed | rest, f"lowest of {words}")


def _put_setting(book: FactBook, apply: Apply | None, limit: str, name: str) -> None:
    """Put the largest 0.01 A setting that firmware and driver take and that stays in a limit."""
    if not book.known(limit):
        return
    most = limit_set_by(book, of=_OF_DRIVER - {"chip"})
    lowest = _typical(book, limit)
    setting = current.largest_setting_not_above(
        lowest,
        apply=apply or _unrounded,
        ceiling=lowest if most is None else min(lowest, _typical(book, most.fact)),
    )
    if setting is None:
        return
    words = "{limit}, rounded down to 0.01 A so that what the driver applies stays below it"
    uses = (limit, *(("driver.chip",) if apply else ()))
    title = "derated current" if limit == _DERATED else "driver's limit"
    book.put_made(name, setting, uses, words.format(limit=title))


def _unrounded(asked: Quantity) -> Quantity:
    return asked


def _typical(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    assert value is not None, name
    return value
