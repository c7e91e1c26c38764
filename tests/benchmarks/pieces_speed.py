"""Holds single pieces to the times they are allowed. Run by hand, on a machine that is idle:

    python tests/benchmarks/pieces_speed.py

Each piece is run several times and the fastest counts. It prints a table and exits with 1 where
one takes longer than it may.
"""

# ruff: noqa: T201 (what it prints is what it is for)

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "physics"))

from advisor.base import Fact, Origin, OriginKind
from advisor.catalog import load_catalog
from advisor.config import read_tree_from_bytes
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import read_config
from advisor.judge import evaluate_rules, load_rulebook
from advisor.physics import limits, melt

SAMPLES = 2048  # as many machines as an ensemble has


class Piece(NamedTuple):
    """What is run, and how many seconds it may take."""

    title: str
    allowed: float
    run: Callable[[], object]


def pieces() -> Iterator[Piece]:
    """Yield all pieces."""
    theta = np.linspace(0.5, 0.9999, SAMPLES)
    yield Piece("melt: the inverse above 0.5", 5e-3, lambda: melt.fourier_number(theta))
    yield from limit_pieces()
    yield Piece("rulebook: all rules over full ensembles", 0.1, rules())
    yield Piece("intake: four extruders with drivers", 20e-3, intake())


def limit_pieces() -> Iterator[Piece]:
    """Torque, skip, grip, slip and buckling; found on one core: 0.2 and 7 ms."""
    from test_limits import BRACKET, LAW, torque

    spread = np.random.default_rng(1).uniform(0.9, 1.1, SAMPLES)

    def all_limits(**changes: object) -> Callable[[], object]:
        def run() -> None:
            for share in (2 / 3, 1.0):
                torque(share, reference_flow=26e-9 * spread, **changes)
            for force in (38.0, 76.0, 141.0):
                limits.flow_where_force_is(
                    force * spread, reference_flow=26e-9, bracket=BRACKET, **LAW
                )

        return run

    yield Piece("limits: all, the usual case", 5e-3, all_limits())
    yield Piece("limits: all must be searched", 20e-3, all_limits(voltage=3.0 * spread))


def rules() -> Callable[[], object]:
    """Return a run of the whole rulebook."""
    book, spread = load_rulebook(), np.linspace(0.5, 1.5, SAMPLES)
    facts = {
        name: Fact.of(
            name,
            info.unit,
            spread if info.type == "number" else "pla",
            origin=Origin(OriginKind.CONFIG),
        )
        for name, info in load_catalog().facts.items()
    }
    return lambda: evaluate_rules(book, {"extruder": facts}, {})


def intake() -> Callable[[], object]:
    """Return a reading of a config with several extruders."""
    text = "[printer]\nmax_velocity: 300\n" + "".join(
        f"[extruder{n or ''}]\nrotation_distance: 22\ngear_ratio: 50:10\nmicrosteps: 16\n"
        f"[tmc2209 extruder{n or ''}]\nrun_current: 0.6\n"
        for n in range(4)
    )
    tree, dialect = read_tree_from_bytes(text.encode(), "made-up.cfg"), load_dialect()
    return lambda: read_config(tree, dialect)


def fastest(run: Callable[[], object], rounds: int = 7) -> float:
    """Return the shortest time in seconds of several runs, after one to warm up."""
    run()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> int:
    """Print the table and return the exit code."""
    slow = 0
    for piece in pieces():
        taken = fastest(piece.run)
        slow += taken > piece.allowed
        mark = "SLOW" if taken > piece.allowed else "ok"
        print(f"{piece.title:44}{taken * 1e3:8.2f} ms of {piece.allowed * 1e3:5.0f}  {mark}")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
