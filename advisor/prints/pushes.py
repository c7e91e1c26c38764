"""Which pushes of filament alone ask for flow: new plastic, and more than primes a melt zone.

What was drawn back and is pushed again is no flow, nor are the first millimetres that fill the melt
zone again, nor what follows a change of tool until a line is laid: the filament is loaded there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Moves

__all__ = ["Pushes"]

_MOSTLY = 0.5  # share of a push that must be new for it to count, then as a whole

Flags = NDArray[np.bool_]


@dataclass(slots=True)
class _Tool:
    """Of one tool: how far its filament is drawn back, and what was pushed since a line [m]."""

    drawn: float = 0.0
    pushed: float = 0.0


class Pushes:
    """Follows a print in portions.

    Parameters
    ----------
    prime : float
        Length of filament that fills the melt zone, [m]
    """

    def __init__(self, prime: float) -> None:
        self._prime = prime
        self._tools: dict[int, _Tool] = {}
        self._tool = 0
        self._loading = False

    def counted(self, moves: Moves) -> Flags:
        """Return which moves are pushes of filament alone that ask for flow, shape (n,)."""
        way = moves.ratio * moves.length
        push = ~moves.path & (way > 0.0)
        tool = moves.tool
        loading = self._loads(moves, way)
        counted = np.zeros(len(way), bool)
        for number in np.unique(tool).tolist() if tool.any() else [0]:
            at = np.flatnonzero(tool == number)
            state = self._tools.setdefault(int(number), _Tool())
            counted[at] = _new(state, way[at], push[at], self._prime)
        return counted & ~loading

    def _loads(self, moves: Moves, way: NDArray[np.float64]) -> Flags:
        """Whether a move stands between a change of tool and the first line after it."""
        tool = moves.tool
        before = np.empty_like(tool)
        before[0] = self._tool
        before[1:] = tool[:-1]
        place = np.arange(1, len(tool) + 1)
        change = np.maximum.accumulate(np.where(tool != before, place, int(self._loading)))
        line = np.maximum.accumulate(np.where(moves.path & (way > 0.0), place, 0))
        loading: Flags = change > line
        self._tool, self._loading = int(tool[-1]), bool(loading[-1])
        return loading


def _new(state: _Tool, way: NDArray[np.float64], push: Flags, prime: float) -> Flags:
    """Return the pushes of one tool that are mostly new plastic, beyond a prime; keep the state."""
    at = np.concatenate(([0.0], np.cumsum(way)))
    farthest = np.maximum.accumulate(np.maximum(at, state.drawn))
    new = np.diff(farthest)
    pushed = state.pushed + np.cumsum(np.where(push, new, 0.0))
    ends = (way < 0.0) | ((way > 0.0) & ~push)  # a retract or a line ends a run of pushes
    since = np.maximum.accumulate(np.where(ends, pushed, 0.0))
    run = pushed - since
    state.drawn, state.pushed = float(farthest[-1] - at[-1]), float(run[-1])
    counted: Flags = push & (run > prime) & (new >= _MOSTLY * way)
    return counted
