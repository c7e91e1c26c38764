"""How often the band of `weigh compare` holds: simulated pairs of tests of known machines.

    python tests/studies/weigh_compare_coverage.py [--pairs 400] [--seed 1]

Two true machines of one sample are weighed on one evening, on the bench of `tests/weigh` (it shares
no code with what reads the tests): one spool, one scale that is off, each drive's feed off by its
own calibration. 90 % is claimed for by how much more the second delivers before it under-extrudes,
and what is called so many per cent sure is right as often. Printed by sample: pairs, how many of
the truths lie inside, and the band's width; then how often what was called sure was right.
"""

from __future__ import annotations

import argparse
import itertools
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "weigh"))

import bench
import machines

from advisor.weigh.answers import DeliveredMore
from advisor.weigh.paired import pair_of
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.records import Evaluation

SAMPLES = ("healthy", "no-sheet", "asks-too-much")
ENDS = (0.5, 0.75, 0.9, 0.97, 1.0)
LEAST = 0.85  # of all truths inside; below, the exit code is 1


@dataclass(frozen=True)
class Paired:
    """One simulated pair: what is said, and the truth in mm3/s."""

    sample: str
    told: DeliveredMore | None
    truth: float

    @property
    def two_sided(self) -> bool:
        """Whether both tests reached their limit."""
        return self.told is not None and not (self.told.at_least or self.told.at_most)

    @property
    def covered(self) -> bool:
        """Whether the truth is in the band, or beyond the bound where one was not reached."""
        if self.told is None:
            return True
        band = self.told.more
        low = -np.inf if self.told.at_most else band.low
        high = np.inf if self.told.at_least else band.high
        return low <= self.truth <= high

    @property
    def sure(self) -> tuple[float, bool]:
        """How sure the sign is called, and whether it is right."""
        assert self.told is not None
        more = self.told.sure >= 0.5
        return max(self.told.sure, 1.0 - self.told.sure), more == (self.truth > 0.0)


def _read(text: str) -> Evaluation:
    return evaluate(read_weighed(text.encode(), "t.csv"), machines.SETUP)


def pairs(count: int, seed: int) -> Iterator[Paired]:
    """Weigh so many pairs, the samples in turn."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        sample = SAMPLES[number % len(SAMPLES)]
        flows = list(machines.flows(sample))
        places = rng.integers(1, machines.SIZE, 2)
        true = [machines.true_machine(sample, int(place)) for place in places]
        if min(one.knee for one in true) < min(flows) * 1.2:
            continue
        shared = bench.evening(rng)
        tests = [
            _read(bench.weigh(flows, one.limits, rng, shared=shared,
                              feed=1.0 + rng.normal(0.0, 0.02)))
            for one in true
        ]  # fmt: skip
        told = pair_of(*tests, one_spool=True).more()
        yield Paired(sample, told, 1e9 * (true[1].knee - true[0].knee))


def table(made: Sequence[Paired]) -> list[str]:
    """Return the lines of the study's tables."""
    lines = [f"{'sample':<16}{'pairs':>7}{'inside':>9}{'both fell':>11}{'inside':>9}{'width':>8}"]
    for name in (*SAMPLES, "all"):
        own = [one for one in made if name in (one.sample, "all")]
        both = [one for one in own if one.two_sided]
        widths = [x.told.more.high - x.told.more.low for x in both if x.told is not None]
        lines.append(
            f"{name:<16}{len(own):>7}{_share(one.covered for one in own):>9}{len(both):>11}"
            f"{_share(one.covered for one in both):>9}{np.median(widths or [np.nan]):>8.2f}"
        )
    lines += ["", f"{'called sure':<16}{'pairs':>7}{'said':>9}{'right':>11}"]
    sure = [one.sure for one in made if one.two_sided]
    for low, high in itertools.pairwise(ENDS):
        inside = [one for one in sure if low <= one[0] < high or one[0] == high == 1.0]
        if inside:
            said = np.mean([one for one, _ in inside])
            right = _share(right for _, right in inside)
            lines.append(f"{f'{low:.0%} to {high:.0%}':<16}{len(inside):>7}{said:>9.1%}{right:>11}")
    return lines


def _share(held: Iterator[bool]) -> str:
    listed = list(held)
    return f"{np.mean(listed):.1%}" if listed else "-"


def covered(made: Sequence[Paired]) -> float:
    """Return the share of truths that lie inside."""
    return float(np.mean([one.covered for one in made]))


def study() -> int:
    """Print the tables; the exit code is 1 where too few of the truths lie inside."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--pairs", type=int, default=400)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    made = list(pairs(given.pairs, given.seed))
    print("\n".join(table(made)))
    return int(covered(made) < LEAST)


if __name__ == "__main__":
    sys.exit(study())
