"""How often the stated intervals of a weighed test hold: simulated tests of known machines.

Machines are drawn from the ensembles of three samples, weighed on the bench of `tests/weigh` (it
shares no code with what reads the test), and read. 90 % is claimed for the knee and for the
capacity; the kind of loss is right as often as its odds say. Told too: masses called misread, how
much of the capacity's band a test takes away, and how many true machines are called impossible.
Run it by

    python tests/studies/weighed_coverage.py [--machines 400] [--capacity 400] [--seed 1]

It prints a table; nothing else depends on it but the smoke test beside it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "weigh"))

import bench
import machines

from advisor.weigh.fit import Narrowing
from advisor.weigh.reader import WeighedTable, read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.records import Evaluation

SAMPLES = ("healthy", "no-sheet", "asks-too-much")
KINDS = {"slip": "slip", "melt": "melt", "skip": "skip", "fold": "buckle"}


@dataclass(frozen=True)
class Scenario:
    """What is simulated."""

    title: str
    kind: bench.Kind
    misread: bench.Misread | None = None


SCENARIOS: Mapping[str, Scenario] = {
    "0": Scenario("droop 0 %", bench.drooping(0.0)),
    "1.5": Scenario("droop 1.5 %", bench.drooping(0.015)),
    "3": Scenario("droop 3 %", bench.drooping(0.03)),
    "5": Scenario("droop 5 %", bench.drooping(0.05)),
    "misread": Scenario("one mass misread", bench.Kind(droop=(0.0, 0.05)), bench.Misread()),
    "off": Scenario("off the prior", bench.OFF_THE_PRIOR),
}


@dataclass(frozen=True)
class Weighed:
    """One simulated test: the machine, its table and what was read from it."""

    sample: str
    limits: Mapping[str, float]
    knee: float
    first: str
    table: WeighedTable
    found: Evaluation

    @property
    def covered(self) -> bool:
        """Whether the interval of the knee holds the true one; or it lies above what is said."""
        band = self.found.knee
        if band is None:
            return self.knee >= self.found.intact
        return band.low <= self.knee <= band.high

    @property
    def likeliest(self) -> tuple[float, bool] | None:
        """The odds of the likeliest kind of loss and whether it is that; None without a knee."""
        if not self.found.loss_odds:
            return None
        kind, odds = next(iter(self.found.loss_odds.items()))
        return odds, kind == KINDS[self.first]


@dataclass
class Count:
    """What a scenario came to."""

    tests: list[Weighed] = field(default_factory=list)
    narrowed: list[tuple[Weighed, Narrowing]] = field(default_factory=list)

    @property
    def knees(self) -> float:
        """Share of the intervals of the knee that hold, [-]."""
        return float(np.mean([one.covered for one in self.tests]))

    @property
    def capacities(self) -> float:
        """Share of the bands of the capacity that hold, [-]."""
        return float(np.mean([_holds(one, told) for one, told in self.narrowed]))

    @property
    def flagged(self) -> int:
        """Tests in which a mass is called misread."""
        return sum(bool(one.found.outliers) for one in self.tests)

    @property
    def gain(self) -> float:
        """The median part of the capacity's band that a test takes away, [-]."""
        return float(np.median([told.narrower or 0.0 for _, told in self.narrowed]))

    @property
    def impossible(self) -> int:
        """True machines that a test is said to contradict."""
        return sum(told.contradiction is not None for _, told in self.narrowed)


def simulated(scenario: Scenario, count: int, seed: int = 0) -> Iterator[Weighed]:
    """Yield simulated tests; machines that lose delivery even slowly cannot be weighed."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        sample = SAMPLES[number % len(SAMPLES)]
        flows = list(machines.flows(sample))
        place = (number * 2047) // count + 613 * seed
        true = machines.true_machine(sample, 1 + place % 2047)
        being = bench.nature(rng, scenario.kind)
        if bench.knee(true.limits, being) < min(flows):
            continue
        text = bench.weigh(flows, true.limits, rng, being=being, misread=scenario.misread)
        table = read_weighed(text.encode(), "t.csv")
        found = evaluate(table, machines.SETUP)
        yield Weighed(
            sample, true.limits, bench.knee(true.limits, being), _kind(true.limits), table, found
        )


def _kind(limits: dict[str, float]) -> str:
    return bench.FIRST[bench.first_limit(limits)]


def narrowing_of(one: Weighed) -> Narrowing:
    """Return what a test makes of the capacity of the machine it was drawn from."""
    return machines.narrowing(one.sample, one.found, one.table)


def _holds(one: Weighed, told: Narrowing) -> bool:
    band = told.after or told.before
    assert band is not None
    return band.low <= one.limits["capacity"] * 1e9 <= band.high


def run(scenario: Scenario, machines_count: int, capacities: int, seed: int = 0) -> Count:
    """Return what a scenario comes to; `capacities` of its tests are taken to the capacity."""
    made = Count(list(simulated(scenario, machines_count, seed)))
    made.narrowed = [(one, narrowing_of(one)) for one in made.tests[:capacities]]
    return made


def rows(made: Mapping[str, Count]) -> Iterator[str]:
    """Yield the table: what is claimed to hold in 90 %, and how wide it is."""
    yield (
        "scenario          tests  knee holds  below  above  width  no knee  flagged  capacity holds"
        "    gain  impossible"
    )
    for name, count in made.items():
        tests = count.tests
        banded = [(one, one.found.knee) for one in tests if one.found.knee is not None]
        below = np.mean([not one.covered and _is_low(one) for one in tests])
        width = np.median([(band.high - band.low) / one.knee for one, band in banded])
        shown = (
            f"{100 * count.capacities:5.1f} % of {len(count.narrowed):<3d}{100 * count.gain:6.0f} %"
            f"{count.impossible:12d}"
            if count.narrowed
            else "-"
        )
        yield (
            f"{SCENARIOS[name].title:17s} {len(tests):5d}  {100 * count.knees:8.1f} %"
            f"{100 * below:5.1f} %{100 * (1 - count.knees - below):5.1f} %{100 * width:5.0f} %"
            f"{len(tests) - len(banded):9d}{count.flagged:9d}  {shown}"
        )


def _is_low(one: Weighed) -> bool:
    """Whether what is said of the knee lies below the truth."""
    return one.found.knee is not None and one.found.knee.high < one.knee


def odds_rows(tests: Sequence[Weighed]) -> Iterator[str]:
    """Yield how often the likeliest kind of loss is right, by its odds."""
    yield "odds of the kind  tests   stated    right"
    pairs = [one.likeliest for one in tests]
    told = np.array([pair for pair in pairs if pair is not None], float).reshape(-1, 2)
    for low, high in ((0.0, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.001)):
        here = told[(told[:, 0] >= low) & (told[:, 0] < high)]
        if here.size:
            stated, right = 100 * here.mean(axis=0)
            name = f"{100 * low:.0f} to {min(100 * high, 100):.0f} %"
            yield f"{name:17s} {len(here):5d}  {stated:5.0f} %  {right:5.0f} %"


def _show(lines: Iterable[str]) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    sys.stdout.flush()


def main() -> None:
    """Run the study and print its tables."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--machines", type=int, default=400)
    parser.add_argument("--capacity", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scenario", choices=sorted(SCENARIOS), action="append")
    asked = parser.parse_args()
    made: dict[str, Count] = {}
    for name in asked.scenario or SCENARIOS:
        made[name] = run(SCENARIOS[name], asked.machines, asked.capacity, asked.seed)
        _show(list(rows({name: made[name]}))[0 if len(made) == 1 else 1 :])
    _show(odds_rows([one for count in made.values() for one in count.tests]))


if __name__ == "__main__":
    main()
