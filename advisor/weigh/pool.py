"""The machines that tests leave: drawn until enough fit, weighted, and picked.

It decides nothing: see `weighed`.

An ensemble is picked out of others, or stands on a line from typical to picked. An input that
belongs to another thing than the machine asked about (another filament, another motor) is drawn
under a name of its own: nothing is learnt of it for this one.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from advisor.machine import OWNED, Ensemble, FactBook, plausible
from advisor.weigh.fit_points import FLOWS, WeighedResult, first_loss, log_likelihood
from advisor.weigh.skip_fit import SKIP_FACTS, SkipResult, skip_likelihood
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    from advisor.machine import Machine

__all__ = [
    "FittedLine",
    "Foreign",
    "MachinePool",
    "PoolBench",
    "Seen",
    "Selection",
    "bench_of",
    "weighed_as",
]

Foreign = Mapping[str, str]  # beginning of a name: what stands behind it
_Part: TypeAlias = "tuple[int, NDArray[np.int_], NDArray[np.int_]]"  # ensemble, who, its samples
Seen = WeighedResult | SkipResult
"""What a test showed: a weighed one, or a skip test."""
_EXPLAINS = -3.5  # log-likelihood below which a machine does not explain a test
_ONE_ODD = -7.0  # the same of a skip test: one of its points may say something else
_ENOUGH = 8  # ensembles after which a test that nothing explains is given up
_OVERRULED = 1e4  # log-likelihood a log unit above what was weighed costs the nominal machine
_CONDITIONS = ("hotend.temperature", "nozzle.diameter")
_SPREAD = 0.5  # how far from the middle of those that fit the nominal machine may be sought


@dataclass(slots=True)
class Selection:
    """Machines out of several ensembles, the nominal one first.

    Attributes
    ----------
    batches, places : ndarray of int, shape (size,)
        The ensemble and the sample in it; what stands first is taken over by `nominal`.
    nominal : mapping of str to float
        Quantile of the nominal machine by input; 0.5 where not named, [-].
    """

    batches: NDArray[np.int_]
    places: NDArray[np.int_]
    nominal: Mapping[str, float] = field(default_factory=dict)
    _parts: list[_Part] = field(default_factory=list, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        for number in np.unique(self.batches):
            here = np.flatnonzero(self.batches == number)
            self._parts.append((int(number), here, self.places[here]))

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (size,), [-]."""
        made = np.empty(self.batches.size)
        for number, here, places in self._parts:
            made[here] = plausible(self.batches.size, number).quantiles(name)[places]
        made[0] = self.nominal.get(name, 0.5)
        return made

    @property
    def ensemble(self) -> Ensemble:
        """These machines as an ensemble."""
        return Ensemble(self.batches.size, self.quantiles)


@dataclass(frozen=True, slots=True)
class FittedLine:
    """Machines on the line from the typical one (0) through `through` (1) and beyond.

    Attributes
    ----------
    through : mapping of str to float
        Quantiles by input; 0.5 where not named, [-].
    steps : ndarray, shape (size,)
        How far along the line each sample is, [-].
    """

    through: Mapping[str, float]
    steps: Array

    def at(self, step: float) -> dict[str, float]:
        """Return the quantiles of the machine at a place of the line, [-]."""
        return {
            name: min(1.0, max(0.0, 0.5 + step * (quantile - 0.5)))
            for name, quantile in self.through.items()
        }

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (size,), [-]."""
        made: Array = np.clip(0.5 + self.steps * (self.through.get(name, 0.5) - 0.5), 0.0, 1.0)
        return made

    @property
    def ensemble(self) -> Ensemble:
        """These machines as an ensemble."""
        return Ensemble(self.steps.size, self.quantiles)


@dataclass(frozen=True, slots=True)
class PoolBench:
    """A test with the machine under its conditions, and what of them is not this machine's."""

    seen: Seen
    machine: Machine
    foreign: Foreign

    def book(self, ensemble: Ensemble) -> FactBook:
        """Return what a test is set against, of machines under the conditions of the test."""
        own = Ensemble(ensemble.size, lambda name: ensemble.quantiles(self._own(name)))
        wanted = FLOWS if isinstance(self.seen, WeighedResult) else SKIP_FACTS
        return self.machine.on(own if self.foreign else ensemble, wanted=wanted).book

    def logs(self, ensemble: Ensemble, numbers: Mapping[str, float]) -> Array | None:
        """Return the log-likelihood of machines; None where what it is set against is unknown."""
        if isinstance(self.seen, SkipResult):
            return skip_likelihood(self.book(ensemble), self.seen)
        return log_likelihood(self.book(ensemble), self.seen, numbers)

    @property
    def explains(self) -> float:
        """The log-likelihood below which a machine does not explain the test, [-]."""
        return _ONE_ODD if isinstance(self.seen, SkipResult) else _EXPLAINS

    def is_of(self, asked: FactBook) -> bool:
        """Whether the test was done under the conditions that are asked about."""
        weighed = self.machine.book
        same = all(_text(weighed, name) == _text(asked, name) for name in OWNED)
        pairs = [(_first(weighed, name), _first(asked, name)) for name in _CONDITIONS]
        return same and all(np.isclose(one, other, equal_nan=True) for one, other in pairs)

    def _own(self, name: str) -> str:
        for start, mark in self.foreign.items():
            if name.startswith(start):
                return f"{name} of {mark}"
        return name


def weighed_as(seen: Seen, machine: Machine, asked: FactBook) -> Machine:
    """Return a machine under the conditions of a test.

    Parameters
    ----------
    seen : WeighedResult or SkipResult
        The test.
    machine : Machine
        The machine that was tested.
    asked : FactBook
        The facts of the machine asked about, without any test.
    """
    stated = dict(machine.inputs.stated)
    material = seen.conditions.get("filament.material")
    if material is not None and material.text != _text(asked, "filament.material"):
        for name in [n for n in stated if n.startswith("material.") or n == "hotend.temperature"]:
            del stated[name]
    stated |= seen.conditions
    return machine.stating(dataclasses.replace(machine.inputs, stated=stated))


def bench_of(seen: Seen, weighed: Machine, asked: Machine) -> PoolBench:
    """Return a test with the machine under its conditions.

    Parameters
    ----------
    seen : WeighedResult or SkipResult
        The test.
    weighed, asked : Machine
        The machine that was weighed, and the one asked about, without any test.
    """
    machine = weighed_as(seen, weighed, asked.book)
    if weighed is asked and machine.inputs.stated == asked.inputs.stated:
        return PoolBench(seen, machine, {})
    foreign = {
        start: _text(machine.book, fact)
        for fact, start in OWNED.items()
        if _text(machine.book, fact) != _text(asked.book, fact)
    }
    return PoolBench(seen, machine, foreign)


def _first(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    return float("nan") if value is None else value


def _text(book: FactBook, name: str) -> str:
    return str(book.text(name))


@dataclass(slots=True)
class MachinePool:
    """Machines of one or more ensembles with their log-likelihood under all tests."""

    benches: Sequence[PoolBench]
    logs: list[Array] = field(default_factory=list)  # one row an ensemble
    explained: list[float] = field(default_factory=list)
    numbers: Mapping[str, float] = field(default_factory=lambda: weigh_numbers("narrowing"))
    names: set[str] = field(default_factory=set)

    def fill(self) -> bool:
        """Draw ensembles until enough machines fit; False where the limits are not known."""
        for number in range(int(self.numbers["most_ensembles"])):
            each = self.each(plausible(self.size, number))
            if each is None:
                return False
            if number:  # the nominal machine counts once
                each[:, 0] = -np.inf
            self.logs.append(each.sum(axis=0))
            least = np.array([[bench.explains] for bench in self.benches])
            self.explained.append(float(np.mean((each > least).all(axis=0))))
            if self.effective >= self.numbers["effective"]:
                break
            if number + 1 >= _ENOUGH and self.fits < self.numbers["plausible"]:
                break
        return True

    @property
    def size(self) -> int:
        """How many machines an ensemble has, [-]."""
        return self.benches[0].machine.ensemble.size

    def each(self, ensemble: Ensemble) -> Array | None:
        """Return the log-likelihood of each test (rows) for each machine (columns)."""
        rows = []
        for bench in self.benches:
            logs = bench.logs(ensemble, self.numbers)
            if logs is None:
                return None
            rows.append(logs)
        return np.stack(rows)

    @property
    def fits(self) -> float:
        """Share of the machines that explain all tests, [-]."""
        return float(np.mean(self.explained))

    @property
    def weights(self) -> Array:
        """The weight of each machine, all ensembles in one row, [-]."""
        logs = np.concatenate(self.logs)
        raw = np.exp(logs - logs.max())
        weights: Array = raw / raw.sum()
        return weights

    @property
    def effective(self) -> float:
        """The effective number of machines (Kong, Liu and Wong 1994), [-]."""
        return 1.0 / float(np.sum(self.weights**2))

    def picked(self) -> Selection:
        """Return the machines that fit, by systematic resampling, and the nominal one."""
        ends = np.cumsum(self.weights)
        size = self.size
        marks = (np.arange(size - 1) + 0.5) / (size - 1) * ends[-1]
        chosen = np.concatenate(([0], np.searchsorted(ends, marks)))
        picked = Selection(chosen // size, chosen % size)
        return dataclasses.replace(picked, nominal=self._nominal(picked))

    def _above(self, ensemble: Ensemble) -> Array:
        """Return by how much each machine begins to lose above the middle of what was seen, [-]."""
        above = np.zeros(self.size)
        for bench in self.benches:
            if isinstance(bench.seen, SkipResult):
                continue
            loss = first_loss(bench.book(ensemble))
            if loss is not None and bench.seen.draws is not None:
                over = np.log(np.maximum(loss, 1e-13) / np.median(bench.seen.draws))
                above = np.maximum(above, over)
        return above

    def _nominal(self, picked: Selection) -> Mapping[str, float]:
        """Return the quantiles of the nominal machine; see the module's docstring."""
        names = _Names(picked)
        if self.each(Ensemble(self.size, names.quantiles)) is None:
            return {}
        line = FittedLine(
            {name: mean for name, mean in names.means().items()
             if abs(mean - 0.5) > self.numbers["shifted"]},
            np.linspace(0.0, 3.0, self.size),
        )  # fmt: skip
        each = self.each(line.ensemble)
        if each is None:
            return {}
        score = each.sum(axis=0) - 0.5 * ((line.steps - 1.0) / _SPREAD) ** 2
        score -= _OVERRULED * self._above(line.ensemble)
        return line.at(float(line.steps[int(np.argmax(score))]))


@dataclass(slots=True)
class _Names:
    """Machines picked that remember the mean quantile of each input they were asked for."""

    picked: Selection
    seen: dict[str, float] = field(default_factory=dict)

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (size,), [-]."""
        made = self.picked.quantiles(name)
        self.seen[name] = float(made[1:].mean())
        return made

    def means(self) -> Mapping[str, float]:
        """Return the mean quantile of each input, [-]."""
        return dict(sorted(self.seen.items()))
