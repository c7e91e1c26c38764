"""Moves of a print that the firmware refuses: it stops the print there with an error.

The rules are those of the ini-style firmware (from memory): filament without path in x or y, or
backward, is held to a largest distance; a line is held to a largest cross-section, but for one that
moves next to no filament.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Moves
from advisor.prints.records import MachineLimits, Refused

__all__ = ["Refusals"]

_MORE = 1.0 + 1e-6  # a move at its limit is let through


class Refusals:
    """Counts the moves beyond each limit, with the first line and the largest ask.

    Parameters
    ----------
    limits : MachineLimits
        What the config allows.
    filament_area : float
        Cross-section of the filament, [m2]
    """

    def __init__(self, limits: MachineLimits, filament_area: float) -> None:
        self._limits, self._area = limits, filament_area
        self._found: dict[str, Refused] = {}

    def add(self, moves: Moves) -> None:
        """Take in moves in the order of the print."""
        way = moves.ratio * moves.length
        alone = ~moves.flat | (moves.ratio < 0.0)
        longest = self._limits.max_extrude_only_distance
        if np.isfinite(longest):
            self._keep("distance", moves, alone & (np.abs(way) > longest * _MORE), np.abs(way),
                       longest)  # fmt: skip
        widest = self._limits.max_cross_section
        if np.isfinite(widest):
            section = moves.ratio * self._area
            little = self._limits.nozzle_diameter * widest / self._area
            thick = ~alone & (section > widest * _MORE) & (way > little)
            self._keep("section", moves, thick, section, widest)

    def _keep(
        self, kind: str, moves: Moves, over: NDArray[np.bool_], asked: NDArray[np.float64],
        allowed: float,
    ) -> None:  # fmt: skip
        at = np.flatnonzero(over)
        if not len(at):
            return
        worst, line = float(asked[at].max()), int(moves.line[at[0]])
        before = self._found.get(kind)
        if before is not None:
            worst, line = max(worst, before.asked), before.line
        count = len(at) + (before.count if before is not None else 0)
        self._found[kind] = Refused(kind, count, line, worst, allowed)

    def records(self, temperature: float | None, line: int, *, extrudes: bool) -> Iterator[Refused]:
        """Yield what is refused; `temperature` [K] is the highest the print sets, in `line`."""
        yield from self._found.values()
        if temperature is None:
            return
        limits = self._limits
        if temperature > limits.max_temperature:
            yield Refused("hot", 1, line, temperature, limits.max_temperature)
        if extrudes and temperature < limits.min_extrude_temperature:
            yield Refused("cold", 1, line, temperature, limits.min_extrude_temperature)
