"""Lets tests narrow the ensemble: machines that contradict what was seen lose their weight.

Machines are drawn until enough of them fit (a second, denser ensemble where the first leaves too
few), weighted by how well they explain the tests, and picked by systematic resampling, so that
what follows has an unweighted ensemble of the usual size. Sample 0 is the machine on the line
from the typical one to the middle of those that fit, where it fits best; an input of which the
tests say nothing stays typical. A test that next to no plausible machine can explain narrows
nothing and is told instead.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import LIMITS, Band, Fact, Origin, OriginKind, Quantity
from advisor.machine import FORMULAS, FactBook, band_of, plausible
from advisor.weigh.fit_points import WeighedResult, first_loss
from advisor.weigh.pool import MachinePool, PoolBench, Seen, bench_of
from advisor.weigh.skip_fit import SkipResult, click_flow

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.machine import Machine

    Array = NDArray[np.float64]

__all__ = ["Contradiction", "Narrowing", "WeighedResult", "narrowed"]

_SCORES = 21  # of what rolls are apart, for each draw


@dataclass(frozen=True, slots=True)
class Contradiction:
    """That next to no plausible machine explains a test.

    `seen` is the test, None where each alone can be explained but not all together; `less` says
    whether it delivered less than it should. Of a skip test ``current`` is where it fits worst.
    """

    seen: Seen | None
    less: bool
    observed: float | None  # m3/s
    expected: Band | None  # m3/s, where delivery was expected to begin to fall, or the first click
    current: float | None = None  # A RMS


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What the tests made of the capacity.

    Attributes
    ----------
    before, after : Band or None
        The capacity without and with the tests, [mm3/s]
    fits : float or None
        Share of the plausible machines that explain all tests; None where nothing is known, [-]
    effective : float
        Effective number of machines behind the band, [-]
    tests : tuple of WeighedResult or SkipResult
        The tests.
    contradiction : Contradiction or None
        Then nothing was narrowed.
    """

    before: Band | None
    after: Band | None
    fits: float | None
    effective: float
    tests: tuple[Seen, ...]
    contradiction: Contradiction | None = None

    @property
    def narrower(self) -> float | None:
        """The part of the band that is gone, [-]."""
        if self.before is None or self.after is None or self.before.high <= self.before.low:
            return None
        wide, left = self.before.high - self.before.low, self.after.high - self.after.low
        return 1.0 - left / wide if np.isfinite(wide) else None


def narrowed(
    asked: Machine, tests: Sequence[Seen], *, weighed: Machine | None = None
) -> tuple[Machine, Narrowing]:
    """Return a machine with what tests showed taken in.

    Parameters
    ----------
    asked : Machine
        The machine asked about, without any test.
    tests : sequence of WeighedResult or SkipResult
        What was seen.
    weighed : Machine, optional
        The machine that was weighed, where that is another build.
    """
    before = band_of(asked.facts.get("flow.capacity"))
    benches = [bench_of(seen, weighed or asked, asked) for seen in tests]
    pool = MachinePool(benches)
    if before is None or not pool.fill():
        return _with_seen(asked, tests), Narrowing(before, None, None, 0.0, tuple(tests))
    if pool.fits < pool.numbers["plausible"]:
        own = [bench.seen for bench in benches if bench.is_of(asked.book)]
        if 0 < len(own) < len(tests):  # other filaments do not contradict this one
            return narrowed(asked, own, weighed=weighed)
        told = _contradiction(pool)
        narrowing = Narrowing(before, None, pool.fits, 0.0, tuple(tests), told)
        return _held_down(_with_seen(asked, tests), benches, typical=False), narrowing
    ensemble = pool.picked().ensemble
    made = _held_down(asked.weighed_on(ensemble), benches, typical=True)
    _mark(made.book, asked.book, tests[-1], pool.numbers["narrower"])
    after = band_of(made.facts["flow.capacity"])
    narrowing = Narrowing(before, after, pool.fits, pool.effective, tuple(tests))
    return _with_seen(made, tests), narrowing


def _contradiction(pool: MachinePool) -> Contradiction:
    """Find the test that next to nothing explains; None is named where only all together fail."""
    for bench in pool.benches:
        alone = MachinePool([bench])
        if not alone.fill() or alone.fits >= pool.numbers["plausible"]:
            continue
        return _contradicting(bench.seen, bench.book(plausible(pool.size)))
    return Contradiction(None, less=True, observed=None, expected=None)


def _contradicting(seen: Seen, book: FactBook) -> Contradiction:
    if isinstance(seen, SkipResult):
        return _clicks_elsewhere(seen, book)
    observed = float(seen.knee.value if seen.knee else seen.fastest)
    loss = first_loss(book)
    if loss is None:
        return Contradiction(seen, less=True, observed=observed, expected=None)
    ordered = np.sort(loss)
    low, high = (float(ordered[round((loss.size - 1) * q)]) for q in (0.05, 0.95))
    by_skips = low <= observed <= high  # then it is the skipping that cannot be explained
    less = seen.first_skip is not None if by_skips else observed < low
    return Contradiction(seen, less, observed, Band(float(loss[0]), low, high))


def _clicks_elsewhere(seen: SkipResult, book: FactBook) -> Contradiction:
    """Return the point of a skip test that is furthest from what is expected."""
    told: list[tuple[float, Contradiction]] = []
    for point in seen.points:
        flows = click_flow(book, point.current)
        if flows is None:
            continue
        ordered = np.sort(flows)
        low, high = (float(ordered[round((flows.size - 1) * q)]) for q in (0.05, 0.95))
        observed = point.first or point.last
        off = max(low - observed, observed - high, 0.0) / max(observed, 1e-12)
        band = Band(float(flows[0]), low, high)
        less = observed < float(flows[0])
        told.append((off, Contradiction(seen, less, observed, band, point.current)))
    if not told:
        return Contradiction(seen, less=True, observed=None, expected=None)
    return max(told, key=lambda pair: pair[0])[1]


def _mark(book: FactBook, plain: FactBook, seen: Seen, least: float) -> None:
    """Call the flows measured whose band the tests narrowed; they hang on no assumption then."""
    for name in (*(f"flow.{limit}" for limit in LIMITS), "flow.capacity"):
        fact, old = book.facts.get(name), band_of(plain.facts.get(name))
        new = band_of(fact)
        if fact is None or new is None or old is None:
            continue
        if (new.high - new.low) > (1.0 - least) * (old.high - old.low):
            continue
        modelled = fact.trace.modelled | fact.trace.assumed
        trace = fact.trace._replace(assumed=frozenset(), modelled=modelled)
        book.put(
            dataclasses.replace(
                fact.traced(trace),
                origin=Origin(OriginKind.MEASURED, at=seen.at, source=fact.origin.source),
            )
        )


def _held_down(machine: Machine, benches: Sequence[PoolBench], *, typical: bool) -> Machine:
    """Return a machine whose capacity is at most what tests under its own conditions showed.

    A weighed limit is never overruled upward, not by a machine that it contradicts either. The
    `typical` machine alone is held down where the others already fit the tests. What is made of
    the capacity (push and motor speed there, what to set in a profile) is worked out anew.
    """
    book = machine.book.aside()
    for bench in benches:
        capacity = book.facts.get("flow.capacity")
        number = None if capacity is None else capacity.number
        if isinstance(bench.seen, SkipResult):
            continue
        if bench.seen.draws is None or number is None or not bench.is_of(book):
            continue
        ceiling = _ensemble_of(_rolls_apart(bench.seen.draws, bench.seen), book.ensemble.size)
        ceiling[0] = min(ceiling[0], bench.seen.knee.value if bench.seen.knee else np.inf)
        ceiling[1:] = np.inf if typical else ceiling[1:]
        held = np.minimum(np.asarray(number.si, dtype=np.float64), ceiling)
        if capacity is not None and (held < number.si).any():
            origin = Origin(OriginKind.MEASURED, at=bench.seen.at, source=capacity.origin.source)
            book.put(dataclasses.replace(capacity.holding(held), origin=origin))
            book.renew(FORMULAS, ("flow.capacity",))
    return dataclasses.replace(machine, book=book)


def _rolls_apart(draws: Array, seen: WeighedResult) -> Array:
    """Return draws of a flow for the roll asked about, where the test was done with another."""
    if not seen.apart:
        return draws
    scores = [NormalDist().inv_cdf((n + 0.5) / _SCORES) for n in range(_SCORES)]
    made: Array = np.sort(np.outer(draws, np.exp(seen.apart * np.array(scores))).ravel())
    return made


def _with_seen(machine: Machine, tests: Sequence[Seen]) -> Machine:
    book = machine.book.aside()
    for seen in tests:
        if isinstance(seen, SkipResult):
            continue
        for fact in _seen_facts(seen, book):
            book.put(fact)
    return dataclasses.replace(machine, book=book)


def _seen_facts(seen: WeighedResult, book: FactBook) -> Iterator[Fact]:
    origin = Origin(OriginKind.MEASURED, at=seen.at)
    ratio = seen.reference_ratio
    values: Mapping[str, Quantity | None] = {
        "weighed.knee": None
        if seen.draws is None
        else _ensemble_of(seen.draws, book.ensemble.size),
        "weighed.last_without_skips": seen.last_without_skips,
        "weighed.reference_ratio": None if ratio is None else ratio.value,
    }
    for name, value in values.items():
        if value is not None:
            yield book.stated(name, value, origin)


def _ensemble_of(draws: Array, size: int) -> Array:
    """Return draws as an ensemble: their median first, then evenly chosen ones."""
    places = np.floor((np.arange(size - 1) + 0.5) / (size - 1) * draws.size).astype(int)
    return np.concatenate(([np.median(draws)], draws[places]))
