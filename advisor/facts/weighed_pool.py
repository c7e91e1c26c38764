"""The machines that weighed tests leave: drawn until enough fit, weighted, and picked.

It decides nothing: see `weighed`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.catalog import Catalog
from advisor.facts.assemble import ExtruderInputs, build_facts
from advisor.facts.ensemble import SIZE, drawn
from advisor.facts.graph import FactBook
from advisor.facts.weighed_draw import Batch, Draw, Foreign, Line, Picked
from advisor.facts.weighed_fit import Seen, log_likelihood
from advisor.intake.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["OWNED", "Bench", "Pool", "bench_of"]

_EXPLAINS = -3.5  # log-likelihood below which a machine does not explain a test
_ENOUGH = 8  # ensembles after which a test that nothing explains is given up
_SPREAD = 0.5  # how far from the middle of those that fit the nominal machine may be sought
OWNED = {  # what a class of hardware or a filament sets: the beginning of its inputs' names
    "filament.material": "material.",
    "motor.class": "motor.",
    "drive.class": "drive.",
    "hotend.class": "hotend.",
}


@dataclass(frozen=True, slots=True)
class Bench:
    """A test with the inputs under which it was done, and what of them is not this machine's."""

    seen: Seen
    inputs: ExtruderInputs
    foreign: Foreign

    def book(self, catalog: Catalog, draw: Draw) -> FactBook:
        """Return the facts of the drawn machines under the conditions of the test."""
        with drawn(lambda name: draw.quantiles(_own_name(name, self.foreign))):
            return build_facts(self.inputs, catalog)


def _own_name(name: str, foreign: Foreign) -> str:
    for start, mark in foreign.items():
        if name.startswith(start):
            return f"{name} of {mark}"
    return name


def bench_of(
    seen: Seen, weighed: ExtruderInputs, asked: ExtruderInputs, catalog: Catalog, plain: FactBook
) -> Bench:
    """Return a test with the inputs under which it was done.

    Parameters
    ----------
    seen : Seen
        The test.
    weighed, asked : ExtruderInputs
        What is stated of the machine that was weighed, and of the one asked about.
    catalog : Catalog
        What is assumed for the rest.
    plain : FactBook
        The facts of the machine asked about, without any test.
    """
    stated = dict(weighed.stated)
    material = seen.conditions.get("filament.material")
    if material is not None and material.samples != _text(plain, "filament.material"):
        for name in [n for n in stated if n.startswith("material.") or n == "hotend.temperature"]:
            del stated[name]
    stated |= seen.conditions
    inputs = dataclasses.replace(weighed, stated=stated)
    if weighed is asked and stated == dict(asked.stated):
        return Bench(seen, inputs, {})
    book = build_facts(inputs, catalog)
    foreign = {
        start: _text(book, fact)
        for fact, start in OWNED.items()
        if _text(book, fact) != _text(plain, fact)
    }
    return Bench(seen, inputs, foreign)


def _text(book: FactBook, name: str) -> str:
    return str(book.samples(name))


@dataclass(slots=True)
class Pool:
    """Machines of one or more ensembles with their log-likelihood under all tests."""

    catalog: Catalog
    benches: Sequence[Bench]
    logs: list[Array] = field(default_factory=list)  # one row an ensemble
    explained: list[float] = field(default_factory=list)
    numbers: Mapping[str, float] = field(default_factory=lambda: weigh_numbers("narrowing"))
    names: set[str] = field(default_factory=set)

    def fill(self) -> bool:
        """Draw ensembles until enough machines fit; False where the limits are not known."""
        for number in range(int(self.numbers["most_ensembles"])):
            each = self.each(Batch(number))
            if each is None:
                return False
            if number:  # the nominal machine counts once
                each[:, 0] = -np.inf
            self.logs.append(each.sum(axis=0))
            self.explained.append(float(np.mean((each > _EXPLAINS).all(axis=0))))
            if self.effective >= self.numbers["effective"]:
                break
            if number + 1 >= _ENOUGH and self.fits < self.numbers["plausible"]:
                break
        return True

    def each(self, draw: Draw) -> Array | None:
        """Return the log-likelihood of each test (rows) for each machine (columns) of a draw."""
        rows = []
        for bench in self.benches:
            logs = log_likelihood(bench.book(self.catalog, draw), bench.seen, self.numbers)
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

    def picked(self) -> Picked:
        """Return the machines that fit, by systematic resampling, and the nominal one."""
        ends = np.cumsum(self.weights)
        marks = (np.arange(SIZE - 1) + 0.5) / (SIZE - 1) * ends[-1]
        chosen = np.concatenate(([0], np.searchsorted(ends, marks)))
        picked = Picked(chosen // SIZE, chosen % SIZE)
        return dataclasses.replace(picked, nominal=self._nominal(picked))

    def _nominal(self, picked: Picked) -> Mapping[str, float]:
        """Return the quantiles of the nominal machine; see the module's docstring."""
        names = _Names(picked)
        if self.each(names) is None:
            return {}
        line = Line(
            {name: mean for name, mean in names.means().items()
             if abs(mean - 0.5) > self.numbers["shifted"]},
            np.linspace(0.0, 3.0, SIZE),
        )  # fmt: skip
        each = self.each(line)
        if each is None:
            return {}
        score = each.sum(axis=0) - 0.5 * ((line.steps - 1.0) / _SPREAD) ** 2
        return line.at(float(line.steps[int(np.argmax(score))]))


@dataclass(slots=True)
class _Names:
    """A draw that remembers the mean quantile of each input it was asked for."""

    picked: Picked
    seen: dict[str, float] = field(default_factory=dict)

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (SIZE,), [-]."""
        made = self.picked.quantiles(name)
        self.seen[name] = float(made[1:].mean())
        return made

    def means(self) -> Mapping[str, float]:
        """Return the mean quantile of each input, [-]."""
        return dict(sorted(self.seen.items()))
