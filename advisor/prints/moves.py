"""Moves as columns, in the order of the print; a record per file would not fit in memory."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TypeAlias, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "Moves", "one_for_all"]

Floats = NDArray[np.float64]
N = TypeVar("N", bound=np.generic)
Several: TypeAlias = tuple[NDArray[N], ...]


@dataclass(slots=True)
class Moves:
    """Columns of equal length, SI.

    ``length`` is the path [m], or the filament of a move without path; ``ratio`` filament per
    length, signed (-1 or 1 without path); ``speed2`` the square of the asked speed within all
    limits of the move alone; ``soft_accel`` the acceleration that shapes cruises (minimum cruise
    ratio); ``deviation`` the junction deviation [m]; ``filament_step`` the largest step of
    filament speed; ``enter`` and ``leave`` the unit directions at both ends, shape (n, 3);
    ``corner2`` the largest squared speed at the start (inf: none of its own); ``pause`` seconds
    of standstill before (-1: it does not stop); width and layer height -1 where unknown.
    """

    line: NDArray[np.int64]
    length: Floats
    ratio: Floats
    path: NDArray[np.bool_]
    flat: NDArray[np.bool_]  # moves in x or y
    speed2: Floats
    accel: Floats
    soft_accel: Floats
    deviation: Floats
    filament_step: Floats
    enter: tuple[Floats, Floats, Floats]
    leave: tuple[Floats, Floats, Floats]
    corner2: Floats
    pause: Floats
    height: Floats
    advance: Floats
    smooth: Floats
    feature: NDArray[np.int16]
    tool: NDArray[np.int16]
    width: NDArray[np.float32]
    layer_height: NDArray[np.float32]

    def __len__(self) -> int:
        return len(self.line)

    def part(self, first: int, last: int) -> Moves:
        """Return the moves first:last, as views."""
        if first <= 0 and last >= len(self):
            return self
        part = Moves(*(_part(getattr(self, f.name), first, last) for f in fields(self)))
        if self.leave is self.enter:
            part.leave = part.enter
        return part

    def rows(self, at: NDArray[np.intp]) -> Moves:
        """Return the moves at these places, as copies."""
        return Moves(*(_rows(getattr(self, f.name), at) for f in fields(self)))

    @staticmethod
    def joined(parts: Sequence[Moves]) -> Moves:
        """Return all moves of `parts` in one."""
        if len(parts) == 1:
            return parts[0]
        columns = {f.name: [getattr(p, f.name) for p in parts] for f in fields(Moves)}
        straight = all(a is b for a, b in zip(columns["enter"], columns["leave"], strict=True))
        leave = columns.pop("leave") if straight else None
        joined = {name: _join(column) for name, column in columns.items()}
        return Moves(**joined, **({"leave": joined["enter"]} if leave else {}))


def one_for_all(value: NDArray[N], count: int) -> NDArray[N]:
    """Return a column of one value in the memory of one; a column is given back as it is."""
    if value.ndim:
        return value
    return np.ndarray((count,), value.dtype, buffer=value, strides=(0,))


@overload
def _part(column: NDArray[N], first: int, last: int) -> NDArray[N]: ...
@overload
def _part(column: Several[N], first: int, last: int) -> Several[N]: ...
def _part(column: NDArray[N] | Several[N], first: int, last: int) -> NDArray[N] | Several[N]:
    if isinstance(column, tuple):
        return tuple(c[first:last] for c in column)
    return column[first:last]


@overload
def _rows(column: NDArray[N], at: NDArray[np.intp]) -> NDArray[N]: ...
@overload
def _rows(column: Several[N], at: NDArray[np.intp]) -> Several[N]: ...
def _rows(column: NDArray[N] | Several[N], at: NDArray[np.intp]) -> NDArray[N] | Several[N]:
    if isinstance(column, tuple):
        return tuple(c[at] for c in column)
    return column[at]


@overload
def _join(columns: list[NDArray[N]]) -> NDArray[N]: ...
@overload
def _join(columns: list[Several[N]]) -> Several[N]: ...
def _join(columns: list[NDArray[N]] | list[Several[N]]) -> NDArray[N] | Several[N]:
    plain = [column for column in columns if not isinstance(column, tuple)]
    if not plain:
        parts = [column for column in columns if isinstance(column, tuple)]
        return tuple(np.concatenate(part) for part in zip(*parts, strict=True))
    return _constant(plain) if all(c.strides == (0,) for c in plain) else np.concatenate(plain)


def _constant(columns: list[NDArray[N]]) -> NDArray[N]:
    """Join columns that hold one value each; one value for all stays one value."""
    first = columns[0][:1]
    if all(len(c) and c[0] == first[0] for c in columns):
        return one_for_all(np.asarray(first[0]), sum(map(len, columns)))
    return np.concatenate(columns)
