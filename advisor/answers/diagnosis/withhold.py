"""What is not proposed, as it could do harm: the one place that decides it.

A remedy or a test says in rules/causes/ what it raises. It is let through only if that is safe in
every cause that is not as good as excluded, with the true current and the true nozzle of each: a
cause may hide them, so that config or display do not show them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import Cause, CauseBook, TrialRow
from advisor.answers.diagnosis.odds import CauseFit, Odds
from advisor.answers.diagnosis.sightings import Complaint
from advisor.answers.diagnosis.worlds import World

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["first_of_all", "remedy_of", "safe", "safe_test"]

_STEP = 10.0  # K: what "hotter" means in rules/causes/tests.yaml
_ABOVE = 0.05  # share of the machines of a cause that may lie above a limit


def first_of_all(seen: Complaint, book: CauseBook) -> str | None:
    """Return what has to be done before anything else; None where it was done, or need not be."""
    looked = any(one.test == "sensor-seated" and one.word != "unsure" for one in seen.did)
    if looked:
        return None
    told = (book.words[word].first for word in book.words if word in seen.words)
    found = next((first for first in told if first is not None), None)
    if found is None and seen.nozzle_falls_to is not None:
        return book.words["nozzle-cools"].first
    return found


def remedy_of(cause: Cause, odds: Odds, seen: Complaint, book: CauseBook) -> tuple[str, bool]:
    """Return the remedy of a cause, or what helps instead and that its own is withheld."""
    if safe(cause.raises, odds, seen, book):
        return cause.remedy, False
    return cause.instead or "", True


def safe_test(test: TrialRow, odds: Odds, seen: Complaint, book: CauseBook) -> bool:
    """Whether a test may be proposed."""
    return safe(test.raises, odds, seen, book)


def safe(raises: Sequence[str], odds: Odds, seen: Complaint, book: CauseBook) -> bool:
    """Whether something that raises current or temperature may be proposed."""
    return not any(_harms(what, odds, seen, book) for what in raises)


def _harms(what: str, odds: Odds, seen: Complaint, book: CauseBook) -> bool:
    if any(what in book.words[word].forbids for word in seen.words):
        return True
    if what == "current" and seen.case is not None and seen.case > book.numbers["hot_touch"]:
        return True
    least = book.numbers["unsafe"]
    open_ = [fit for fit, share in zip(odds.fits, odds.shares, strict=True) if share > least]
    if any(what in fit.causes[0].hides for fit in open_):
        return True
    return any(_above(what, fit, book) for fit in open_)


def _above(what: str, fit: CauseFit, book: CauseBook) -> bool:
    """Whether the true current or nozzle of a cause would lie above what is safe."""
    if what == "current":
        return fit.mean(_current_above) > 2.0 * _ABOVE
    return fit.mean(lambda world: _nozzle_outside(world, book)) > _ABOVE


def _current_above(world: World) -> Array:
    """Return where the largest current to set would give more than the machine is safe with."""
    flowing, borne = world.samples("motor.flowing_current"), world.samples("motor.borne_current")
    target, now = world.set_value("motor.set_current"), world.set_value("motor.working_current")
    if flowing is None or borne is None or target is None or not now:
        return np.ones(world.size)
    return np.asarray(flowing * (target / now) > borne, dtype=np.float64)


def _nozzle_outside(world: World, book: CauseBook) -> Array:
    """Return where a hotter nozzle would be above material, hotend or tube lining."""
    nozzle, shown = world.samples("hotend.temperature"), world.set_value("hotend.temperature")
    if nozzle is None or shown is None:
        return np.ones(world.size)
    tops = [world.set_value(name) for name in ("material.nozzle_high", "hotend.max_temperature")]
    most = min([book.numbers["lining"], *(top for top in tops if top is not None)])
    hotter = np.maximum(nozzle, shown) + _STEP
    return np.asarray(hotter > most, dtype=np.float64)
