"""How safe the safe current is: shares of motors above a limit, by a bench of its own.

It shares no code with the chain: the heat balance is solved by fixed-point iteration, motors are
drawn by numpy's generator from the catalogue's bands, and only the current to set is the tool's.
Run it: python tests/studies/safe_current.py [--motors N] prints the grid.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from advisor.answers.derate_motor import derate
from advisor.catalog import Catalog, load_catalog

BASES = ("rms", "peak", "unsure")
MOUNTS = (None, "metal", "pla", "petg", "abs", "asa", "pc")  # None: nobody states it
AIRS = (25, 45, 60)
RATINGS = (("round-36", 1.0), ("square-42-short", 1.0), ("square-42-long", 1.68))
COPPER = 0.00393  # per kelvin, referred to 20 degC (IEC 60028, from memory)
ZERO = 273.15


@dataclass(frozen=True)
class Row:
    """One motor, basis, mount and air: the current set, shares above the limits."""

    motor: str
    basis: str
    mount: str | None
    air: int
    current: float | None
    winding: float
    case: float


class Bench:
    """Motors of one class on one mount, drawn anew."""

    def __init__(
        self, catalog: Catalog, motor: str, mount: str | None, count: int, seed: int
    ) -> None:
        self.entries = (catalog.motors[motor], catalog.mounts[mount or "unstated"], catalog.model)
        self.random = np.random.default_rng(seed)
        self.count = count

    def draw(self, name: str) -> np.ndarray:
        """Half of the motors evenly below the typical value, half above."""
        number = next(e.numbers[name] for e in self.entries if name in e.numbers)
        side = self.random.random(self.count) < 0.5
        place = self.random.random(self.count)
        below = number.low + (number.typical - number.low) * place
        above = number.typical + (number.high - number.typical) * place
        drawn: np.ndarray = np.where(side, below, above)
        return drawn

    def resistance_to_air(self, rated: float, basis: str, ohm: np.ndarray) -> np.ndarray:
        """What the rating implies on this mount, within what the surface allows."""
        heats = rated if basis == "rms" else rated * math.sqrt(0.5)
        rise, air = self.draw("motor.rated_rise"), self.draw("model.rated_ambient") - ZERO
        loss = 2.0 * ohm * heats**2 * (1.0 + COPPER * (air + rise - 20.0))
        factor = self.draw("motor.mount_factor")
        bare = np.clip((factor - 1.0) / 0.7, 0.0, 1.0)
        ends = [
            (1.0 - bare) * self.draw(f"motor.metal_resistance_{end}")
            + bare * self.draw(f"motor.bare_resistance_{end}")
            for end in ("low", "high")
        ]
        bounded: np.ndarray = np.clip(rise / loss * factor, *ends)
        return bounded


def temperatures(
    bench: Bench, rated: float, basis: str, air: float, current: float
) -> tuple[np.ndarray, np.ndarray]:
    """Winding and case in degC after a long run; iterated, as copper warms itself."""
    ohm = bench.draw("motor.resistance")
    per_watt = bench.resistance_to_air(rated, basis, ohm)
    winding = np.full(bench.count, air)
    for _ in range(200):
        loss = 2.0 * ohm * current**2 * (1.0 + COPPER * (winding - 20.0))
        winding = np.minimum(air + per_watt * loss, 1000.0)
    return winding, air + bench.draw("motor.case_share") * (winding - air)


def rows(
    count: int = 20_000, seed: int = 12, motors: Sequence[tuple[str, float]] = RATINGS
) -> Iterator[Row]:
    """Yield the grid of bases, mounts and airs for each motor class."""
    catalog = load_catalog()
    for (motor, rated), basis, mount, air in itertools.product(motors, BASES, MOUNTS, AIRS):
        told = derate(
            f"{rated}A", basis=basis, motor=motor, mount=mount, ambient=f"{air}degC"
        ).set_current
        if told is None:
            yield Row(motor, basis, mount, air, None, 0.0, 0.0)
            continue
        bench = Bench(catalog, motor, mount, count, seed)
        winding, case = temperatures(bench, rated, basis, float(air), told)
        hottest = 1000.0 if mount is None else bench.draw("drive.mount_limit") - ZERO
        yield Row(
            motor, basis, mount, air, told,
            float(np.mean(winding > 130.0 - 10.0)), float(np.mean(case > hottest)),
        )  # fmt: skip


def main(arguments: list[str]) -> int:
    """Print the grid; 1 where a share is above what is promised."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--motors", type=int, default=20_000)
    found = list(rows(parser.parse_args(arguments).motors))
    print("motor            basis   mount  air  A RMS  winding  mount limit")
    for row in found:
        told = "   -" if row.current is None else f"{row.current:.2f}"
        print(
            f"{row.motor:16} {row.basis:7} {row.mount or '-':6} {row.air:3}  {told:>5}"
            f"  {row.winding:6.1%}  {row.case:6.1%}"
        )
    worst = max(row.winding for row in found), max(row.case for row in found)
    print(f"worst: winding {worst[0]:.1%} (10 % promised), mount {worst[1]:.1%} (5 % promised)")
    return int(worst[0] > 0.10 or worst[1] > 0.05)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
