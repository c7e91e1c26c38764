"""The state a print carries from line to line, and its changes within a block of lines.

The state is a row of numbers, one per `MoveField`; every change adds a row and the line from which
it holds. Per-move values are looked up in the rows all at once. It reads no text.
"""

from __future__ import annotations

import enum

import numpy as np
from numpy.typing import NDArray

from advisor.prints.records import MachineLimits

__all__ = ["Modal", "MoveField", "Timeline"]


class MoveField(enum.IntEnum):
    """What is modal; lengths in m, speeds in m/s; `UNIT` is metres per unit of the print."""

    ABSOLUTE = 0
    ABSOLUTE_E = 1
    UNIT = 2
    PLANE = 3  # 0 xy, 1 zx, 2 yz
    SPEED_FACTOR = 4
    FLOW_FACTOR = 5
    MAX_VELOCITY = 6
    ACCEL = 7
    CORNER = 8  # square-corner velocity
    CRUISE_RATIO = 9
    E_VELOCITY = 10
    E_ACCEL = 11
    E_CORNER = 12
    ADVANCE = 13
    SMOOTH = 14
    FEATURE = 15
    TOOL = 16
    WIDTH = 17
    LAYER_HEIGHT = 18


_UNKNOWN = -1.0  # width or layer height that no comment states


class Timeline:
    """The rows of state of one block, looked up by the line of a move."""

    def __init__(self, lines: list[int], rows: list[list[float]]) -> None:
        self._lines = np.array(lines, np.intp)
        self._table = np.array(rows)
        self._row: NDArray[np.intp] | None = None

    def place(self, line: NDArray[np.intp]) -> None:
        """Say the line of every move that `column` is asked for from now on."""
        alone = len(self._table) == 1
        self._row = None if alone else np.searchsorted(self._lines, line, side="right")

    def column(self, field: MoveField) -> NDArray[np.float64] | np.float64:
        """Return the value of `field` for every move, or the one value they share."""
        values: NDArray[np.float64] = self._table[:, field]
        if self._row is None or (values == values[0]).all():
            shared: np.float64 = values[0]
            return shared
        return values[self._row]


class Modal:
    """The state at the line that is read now."""

    def __init__(self, limits: MachineLimits) -> None:
        row = [0.0] * len(MoveField)
        row[MoveField.ABSOLUTE] = row[MoveField.ABSOLUTE_E] = 1.0
        row[MoveField.UNIT] = 1e-3
        row[MoveField.SPEED_FACTOR] = row[MoveField.FLOW_FACTOR] = 1.0
        row[MoveField.MAX_VELOCITY] = limits.max_velocity
        row[MoveField.ACCEL] = limits.max_accel
        row[MoveField.CORNER] = limits.square_corner_velocity
        row[MoveField.CRUISE_RATIO] = limits.min_cruise_ratio
        row[MoveField.E_VELOCITY] = limits.max_extrude_only_velocity
        row[MoveField.E_ACCEL] = limits.max_extrude_only_accel
        row[MoveField.E_CORNER] = limits.corner_velocity
        row[MoveField.ADVANCE] = limits.pressure_advance
        row[MoveField.SMOOTH] = limits.smooth_time
        row[MoveField.WIDTH] = row[MoveField.LAYER_HEIGHT] = _UNKNOWN
        self._now = row
        self._lines: list[int] = []
        self._rows: list[list[float]] = [row.copy()]

    def __getitem__(self, field: MoveField) -> float:
        return self._now[field]

    def set(self, line: int, field: MoveField, value: float) -> None:
        """Change `field` from line `line` of the block on."""
        if self._now[field] == value:
            return
        self._now[field] = value
        if self._lines and self._lines[-1] == line:
            self._rows[-1] = self._now.copy()
            return
        self._lines.append(line)
        self._rows.append(self._now.copy())

    def take(self) -> Timeline:
        """Return the changes since the last call and begin a new block."""
        timeline = Timeline(self._lines, self._rows)
        self._lines, self._rows = [], [self._now.copy()]
        return timeline
