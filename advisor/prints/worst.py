"""The places of largest flow: one for each height and feature, then single moves.

Many moves of one wall share its flow; listing them all would say one thing ten times.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats, Moves
from advisor.prints.records import PrintPlace

__all__ = ["Worst"]

_Key = tuple[int, int, int]


class Worst:
    """Keeps the `count` worst places.

    Parameters
    ----------
    count : int
        How many.
    features : list
        Names by number, filled while the print is read.
    """

    def __init__(self, count: int, features: list[str | None]) -> None:
        self._count, self._features = count, features
        self._spread: dict[_Key, PrintPlace] = {}
        self._single: list[PrintPlace] = []

    def add(
        self, moves: Moves, row: NDArray[np.intp], flow: Floats,
        *, first: NDArray[np.intp], level: NDArray[np.int64],
    ) -> None:  # fmt: skip
        """Take in moves.

        Parameters
        ----------
        moves : Moves
            All moves.
        row : ndarray
            Those with flow.
        flow : ndarray
            Their peak flow, [m3/s]
        first : ndarray
            Where runs of one height, feature and tool begin.
        level : ndarray
            Number of the height of each run.
        """
        if self._count < 1:
            return
        peak = np.maximum.reduceat(flow, first)
        least = self._least(self._spread.values())
        ends = np.append(first[1:], len(flow))
        for run in np.flatnonzero(peak > least).tolist():
            begin, end = int(first[run]), int(ends[run])
            at = begin + int(np.argmax(flow[begin:end]))
            place = self._place(moves, int(row[at]), float(flow[at]))
            key = (int(level[run]), int(moves.feature[row[at]]), place.tool)
            known = self._spread.get(key)
            if known is None or place.flow > known.flow:
                self._spread[key] = place
        if len(self._spread) > 4 * self._count:
            ranked = sorted(self._spread.items(), key=lambda item: _rank(item[1]))
            self._spread = dict(ranked[: self._count])
        self._add_single(moves, row, flow)

    def places(self) -> tuple[PrintPlace, ...]:
        """Return the worst places, the worst first."""
        chosen = sorted(self._spread.values(), key=_rank)[: self._count]
        taken = {place.line for place in chosen}
        more = [place for place in self._single if place.line not in taken]
        chosen += more[: self._count - len(chosen)]
        return tuple(sorted(chosen, key=_rank))

    def _add_single(self, moves: Moves, row: NDArray[np.intp], flow: Floats) -> None:
        at = np.flatnonzero(flow > self._least(self._single))
        if not len(at):
            return
        at = at[np.argsort(-flow[at], kind="stable")][: 2 * self._count]
        fresh = [self._place(moves, int(row[i]), float(flow[i])) for i in at.tolist()]
        best: dict[int, PrintPlace] = {}
        for place in sorted(self._single + fresh, key=_rank):
            best.setdefault(place.line, place)
        self._single = list(best.values())[: 2 * self._count]

    def _least(self, places: object) -> float:
        """Return the flow a place must exceed to count."""
        flows = sorted((p.flow for p in places), reverse=True)  # type: ignore[attr-defined]
        return flows[self._count - 1] if len(flows) >= self._count else 0.0

    def _place(self, moves: Moves, row: int, flow: float) -> PrintPlace:
        height = float(moves.height[row])
        width, thick = float(moves.width[row]), float(moves.layer_height[row])
        return PrintPlace(
            line=int(moves.line[row]),
            height=height if np.isfinite(height) else None,
            flow=flow,
            feature=self._features[int(moves.feature[row])],
            tool=int(moves.tool[row]),
            width=width if width >= 0.0 else None,
            layer_height=thick if thick >= 0.0 else None,
        )


def _rank(place: PrintPlace) -> tuple[float, int]:
    return -place.flow, place.line
