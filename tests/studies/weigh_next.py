"""What choosing the pieces of a weighed test one by one saves: simulated machines of known limits.

Machines are drawn from the ensembles of three samples and weighed on the bench of `tests/weigh` (it
shares no code with what reads or chooses), once by the fixed plan and once piece by piece as
`weigh next` proposes, until it says that the test may end. Both are read by the product's reader.
Promised: median filament at most 60 % and minutes at most 55 % of the fixed plan's; median width
and its 90 % point not above it; the band holds the true limit in at least as many less 0.03, and in
0.87. With --prove the question is whether the limit is above a flow 10 % from it, to either side.
Run it by

    python tests/studies/weigh_next.py [--machines 400] [--first 0] [--seed 1] [--prove] [--out FILE]

--out keeps a line a machine; a run that is begun again with the same FILE goes on behind its last.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "weigh"))

import bench
import machines

from advisor.weigh.fit_points import first_loss
from advisor.weigh.outlook import Outlook, OutlookBench, outlook_of
from advisor.weigh.plan import Bench, Wishes, make_plan, one_by_one
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.records import Evaluation

SAMPLES = ("healthy", "no-sheet", "asks-too-much")
KIND = bench.Kind(droop=(0.0, 0.05))
MISREAD = 0.01  # share of the rows that are misread, by 6 to 30 %
OFF = 0.1  # how far the flow that is to be proved lies from the limit
_PAUSES, _PRIME, _FIRST = 28.0, 0.01, 0.05  # s, m, m: as the plan reckons


@dataclass(frozen=True)
class Outcome:
    """One test of a simulated machine: what was used, and what was read."""

    filament: float  # mm
    minutes: float
    pieces: int
    low: float | None  # mm3/s
    high: float | None
    holds: bool


@dataclass(frozen=True)
class Machine:
    """One simulated machine, weighed both ways; or asked whether it exceeds a flow."""

    number: int
    sample: str
    knee: float  # mm3/s
    fixed: Outcome | None
    own: Outcome
    flow: float | None = None  # mm3/s, that was to be proved
    above: float | None = None
    stop: str | None = None


class Sitting:
    """One evening at the bench: pieces are weighed one after the other, each row once."""

    def __init__(self, sample: str, place: int, seed: Sequence[int]) -> None:
        self.sample, self.seed = sample, list(seed)
        self.limits = machines.true_machine(sample, place).limits
        self.being = bench.nature(np.random.default_rng(self.seed), KIND)
        self.knee = bench.knee(self.limits, self.being)

    def table(self, flows: Sequence[float], run: int, length: float = 0.28) -> str:
        """Return the table of pieces; the first rows of a longer one are those of a shorter."""
        rng = np.random.default_rng([*self.seed, run])
        text = bench.weigh(list(flows), self.limits, rng, length=length, being=self.being)
        return _misread(text, np.random.default_rng([*self.seed, run, 1]))


def _misread(text: str, rng: np.random.Generator) -> str:
    """Make a row in a hundred wrong, the slow runs aside, whatever its place."""
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("flow")) + 1
    for number in range(start, len(lines)):
        wrong, way = rng.random() < MISREAD, rng.choice([-1, 1]) * rng.uniform(0.06, 0.3)
        cells = lines[number].split("; ")
        if wrong and number > start and cells[0] != lines[start].split("; ")[0]:
            cells[2] = f"{float(cells[2]) * (1 + way):.3f}"
            lines[number] = "; ".join(cells)
    return "\n".join(lines) + "\n"


def bench_for(sample: str) -> OutlookBench:
    """Return a sample's machine under the test, and its plans."""
    loss = first_loss(machines.book(sample))
    assert loss is not None
    made = Bench(
        area=machines.AREA, density=1240.0, temperature=488.15, loss=loss,
        largest_speed=0.06, largest_accel=1.5, largest_move=0.1,
    )  # fmt: skip
    whole = make_plan(made, Wishes())
    first = one_by_one(whole, made, Wishes())
    return OutlookBench(machines.SETUP, loss, whole, first, 0.06 * machines.AREA)


def machine(number: int, count: int, seed: int, *, prove: bool = False) -> Machine | None:
    """Return one machine weighed both ways; None where it loses delivery even slowly."""
    sample = SAMPLES[number % len(SAMPLES)]
    at = bench_for(sample)
    sitting = Sitting(sample, 1 + ((number * 2047) // count + 613 * seed) % 2047, (seed, number))
    if sitting.knee < at.whole.steps[0].flow:
        return None
    if prove:
        return _proved(number, sitting, at)
    fixed = [step.flow for step in at.whole.steps]
    flows, outlook = _one_by_one(sitting, at, None)
    return Machine(
        number, sample, sitting.knee * 1e9, _tested(sitting, fixed, 1, at),
        _tested(sitting, flows, 2, at), stop=outlook.stop,
    )  # fmt: skip


def _one_by_one(
    sitting: Sitting, at: OutlookBench, prove: float | None
) -> tuple[list[float], Outlook]:
    """Weigh what is proposed until the test may end."""
    flows = [step.flow for step in at.first.steps][: 2 if prove is None else 1]
    while True:
        table = read_weighed(sitting.table(flows, 2).encode(), "t.csv", unfinished=True)
        outlook = outlook_of(table, at, prove=prove, ahead=False)
        if outlook.stop is not None:
            return flows, outlook
        flows.append(outlook.flow)


def _proved(number: int, sitting: Sitting, at: OutlookBench) -> Machine:
    way = 1.0 - OFF if number % 2 else 1.0 + OFF
    flow = round(sitting.knee * way * 1e10) / 1e10
    flows, outlook = _one_by_one(sitting, at, flow)
    return Machine(
        number, sitting.sample, sitting.knee * 1e9, None, _tested(sitting, flows, 2, at),
        flow * 1e9, outlook.above, outlook.stop,
    )  # fmt: skip


def _tested(sitting: Sitting, flows: Sequence[float], run: int, at: OutlookBench) -> Outcome:
    length = at.whole.steps[0].length
    prime = _FIRST + _PRIME * len(flows)
    seconds = sum(length * machines.AREA / flow for flow in flows) + _PAUSES * len(flows)
    seconds += prime * machines.AREA / flows[0]
    found: Evaluation | None = None
    if len(set(flows)) >= 3:
        found = evaluate(read_weighed(sitting.table(flows, run).encode(), "t.csv"), at.setup)
    band = None if found is None else found.knee
    if band is None:
        holds = found is None or sitting.knee >= found.intact
        low = high = None
    else:
        holds, low, high = band.low <= sitting.knee <= band.high, band.low * 1e9, band.high * 1e9
    filament = 1e3 * (length * len(flows) + prime)
    return Outcome(filament, seconds / 60.0, len(flows), low, high, holds)


def rows(made: Sequence[Machine]) -> Iterator[str]:
    """Yield the table: what piece by piece comes to against the fixed plan."""
    both = [(one, one.fixed) for one in made if one.fixed is not None]
    yield "               pieces  filament  minutes  width  90 % point  holds  no band"
    for name, tests in (
        ("fixed plan", [(one, fixed) for one, fixed in both]),
        ("piece by piece", [(one, one.own) for one, _ in both]),
    ):
        wide = np.array([_width(one, test) for one, test in tests])
        known = wide[np.isfinite(wide)]
        yield (
            f"{name:15s}{np.median([t.pieces for _, t in tests]):6.0f}"
            f"{np.median([t.filament for _, t in tests]):7.0f} mm"
            f"{np.median([t.minutes for _, t in tests]):9.1f}"
            f"{100 * np.median(known):5.1f} %{100 * np.quantile(known, 0.9):10.1f} %"
            f"{100 * np.mean([t.holds for _, t in tests]):6.1f} %{wide.size - known.size:7d}"
        )
    filament = [one.own.filament / fixed.filament for one, fixed in both]
    minutes = [one.own.minutes / fixed.minutes for one, fixed in both]
    yield (
        f"{len(both)} machines: median filament {100 * np.median(filament):.0f} %, minutes "
        f"{100 * np.median(minutes):.0f} % of the fixed plan's"
    )
    stops = [one.stop or "" for one in made]
    yield "ended by: " + ", ".join(f"{stop} {stops.count(stop)}" for stop in sorted(set(stops)))


def _width(one: Machine, test: Outcome) -> float:
    if test.low is None or test.high is None:
        return float("inf")
    return (test.high - test.low) / one.knee


def prove_rows(made: Sequence[Machine]) -> Iterator[str]:
    """Yield how often the question is decided, how often rightly, and at what cost."""
    yield "the limit is   tests  decided  right of those  pieces  filament"
    for name, way in (("10 % below", -1), ("10 % above", 1)):
        here = [one for one in made if one.flow is not None and (one.knee - one.flow) * way > 0]
        decided = [one for one in here if one.stop == "proved"]
        right = [one for one in decided if ((one.above or 0.0) > 0.5) == (way > 0)]
        if not decided:
            continue
        yield (
            f"{name:13s}{len(here):7d}{100 * len(decided) / len(here):7.0f} %"
            f"{100 * len(right) / len(decided):14.1f} %{np.median([o.own.pieces for o in here]):8.0f}"
            f"{np.median([o.own.filament for o in here]):7.0f} mm"
        )


def kept(path: Path) -> list[Machine | None]:
    """Return the machines that a file holds already; null stands for one that was left out."""
    if not path.exists():
        return []
    lines = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [None if line is None else _machine(line) for line in lines]


def _machine(line: dict[str, object]) -> Machine:
    for name in ("fixed", "own"):
        held = line[name]
        line[name] = Outcome(**held) if isinstance(held, dict) else None
    return Machine(**line)  # type: ignore[arg-type]


def main() -> None:
    """Print the table, as far as it is after each ten machines where they are kept."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--machines", type=int, default=400)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--prove", action="store_true")
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    made = [] if given.out is None else kept(given.out)
    for number in range(given.first + len(made), given.machines):
        one = machine(number, given.machines, given.seed, prove=given.prove)
        made.append(one)
        if given.out is not None:
            line = None if one is None else dataclasses.asdict(one)
            with given.out.open("a", encoding="utf-8") as out:
                out.write(json.dumps(line) + "\n")
    told = [one for one in made if one is not None]
    for row in (prove_rows if given.prove else rows)(told):
        sys.stdout.write(f"{row}\n")


if __name__ == "__main__":
    main()
