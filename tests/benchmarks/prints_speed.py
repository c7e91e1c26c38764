"""Reading and planning a sliced print, beside plain per-line readers of the same file.

``python prints_speed.py [--megabytes 6] [--rounds 3]`` prints medians of MB/s and ratios, measured
in turn in one process. Two plain readers: `words` only finds the words of a move with one regular
expression a line; `moves` (the judge of the tests) makes the same moves as ours, one a line, with
modes, units and limits; planned by its sequential loop it does the same work as ours.
"""

from __future__ import annotations

import argparse
import io
import math
import re
import statistics
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from prints_make import STYLES, write_print

from advisor.prints import Allowed, MachineLimits, Windows, analyse, read_moves

sys.path.append(str(Path(__file__).parents[1] / "prints"))
import plain

_WORD = re.compile(rb"([XYZEFIJ])([-+]?(?:\d+\.?\d*|\.\d+))")
_LIMITS = MachineLimits(max_velocity=0.25, max_accel=5.0)
_AREA = math.pi / 4.0 * 1.75e-3**2
_LIMITED = (("torque", 9.8, "lag"), ("skip", 11.5, "lag"), ("grip", 11.1, "lag"),
            ("slip", 12.7, "lag"), ("buckling", 16.1, "lag"), ("melt", 11.1, "melt"),
            ("heater", 76.4, "heat"))  # fmt: skip
_WINDOWS = Windows(
    lag=0.04, heat=10.0, allowed=tuple(Allowed(x, flow * 1e-9, over) for x, flow, over in _LIMITED)
)


def words(data: bytes) -> None:
    """Find the words of each move, keep the last of each, and do nothing with them."""
    state = {b"X": 0.0, b"Y": 0.0, b"Z": 0.0, b"E": 0.0, b"F": 0.0}
    for line in data.splitlines():
        if line[:2] in (b"G0", b"G1", b"G2", b"G3"):
            for letter, number in _WORD.findall(line.partition(b";")[0]):
                state[letter] = float(number)


def moves(data: bytes) -> None:
    """Read the moves of a print one line at a time."""
    plain.read(data.decode(), plain.PlainLimits())


def moves_planned(data: bytes) -> None:
    """Read and plan them one at a time."""
    plain.plan(plain.read(data.decode(), plain.PlainLimits()), plain.PlainLimits())


def ours(data: bytes) -> None:
    """Read the moves with our reader, unplanned."""
    for portion in read_moves(io.BytesIO(data), limits=_LIMITS):
        len(portion.length)


def ours_planned(data: bytes) -> None:
    """Read, plan and add up by feature, layer and melt volume."""
    analyse(io.BytesIO(data), limits=_LIMITS, filament_area=_AREA, melt_volume=5e-8, capacity=1e-8)


def ours_judged(data: bytes) -> None:
    """The same, held to seven limits over their own windows."""
    analyse(io.BytesIO(data), limits=_LIMITS, filament_area=_AREA, melt_volume=3e-8, capacity=1e-8,
            windows=_WINDOWS)  # fmt: skip


_RUNS: tuple[Callable[[bytes], None], ...] = (
    words,
    moves,
    moves_planned,
    ours,
    ours_planned,
    ours_judged,
)


def measure(data: bytes, rounds: int) -> Mapping[str, float]:
    """Return the median MB/s of each run."""
    spent: dict[str, list[float]] = {run.__name__: [] for run in _RUNS}
    for _ in range(rounds):
        for run in _RUNS:
            begin = time.perf_counter()
            run(data)
            spent[run.__name__].append(time.perf_counter() - begin)
    return {name: len(data) / 1e6 / statistics.median(took) for name, took in spent.items()}


def main() -> None:
    """Measure all styles."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--megabytes", type=float, default=6.0)
    parser.add_argument("--rounds", type=int, default=3)
    options = parser.parse_args()
    for style in STYLES:
        out = io.BytesIO()
        write_print(out, int(options.megabytes * 1e6), style)
        speed = measure(out.getvalue(), options.rounds)
        shown = ", ".join(f"{name} {value:.1f} MB/s" for name, value in speed.items())
        read = speed["ours"] / speed["moves"]
        whole = speed["ours_planned"] / speed["moves_planned"]
        bare = speed["ours"] / speed["words"]
        judged = speed["ours_planned"] / speed["ours_judged"]
        print(f"{style}: {shown}")  # noqa: T201
        print(f"    ours over moves {read:.1f}, planned {whole:.1f}, over words {bare:.1f}; "  # noqa: T201
              f"judging takes {judged:.2f} times as long")  # fmt: skip


if __name__ == "__main__":
    main()
