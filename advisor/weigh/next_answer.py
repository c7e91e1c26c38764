"""What `weigh next` answers, as the library and the JSON hand it out; it computes nothing.

Trade units throughout: flows in mm3/s, speeds in mm/s, lengths in mm, times in s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from advisor.base import Band, FileStatus, frozen

__all__ = ["NextPiece", "ProvedFlow", "WeighNextAnswer"]


@frozen
class NextPiece:
    """A piece to weigh: what is fed, how fast, and the row of the table for it."""

    flow: float  # mm3/s
    speed: float  # mm/s of filament
    length: float  # mm
    cut_away: float  # mm, pushed and cut away before it
    time: float  # s
    reference: bool
    row: str  # of the table, its mass to be filled in
    width_after: float | None = None  # of the range over its middle, as expected; None: unknown
    sure_after: float | None = None  # of the answer to `prove`, as expected


@frozen
class ProvedFlow:
    """Whether under-extrusion starts above a flow, as far as the pieces and the model tell."""

    flow: float  # mm3/s
    above: float  # probability
    answer: str  # yes | no | open
    by_model: bool  # no piece at 0.9 of it or above was weighed or skipped: the model tells most


@frozen
class WeighNextAnswer:
    """Answer of `weigh next`: the next piece, or that the test may end, with the reading so far."""

    extruder: str | None
    table: str
    stop: str | None  # why the test may end: width | pieces | proved | little; None: go on
    piece: NextPiece | None  # the next one; at the end what one more would be
    weighed: int  # flows that count
    most: int  # pieces after which it ends
    limit: Band | None  # mm3/s, where under-extrusion starts, as `weigh read` tells it
    believed: Band | None  # mm3/s, the same by pieces and model together
    width: float | None  # of `limit` over its middle
    wanted: float | None  # the width that the whole test would give here
    whole_pieces: int | None  # of the whole test
    used: float  # mm of filament so far
    used_whole: float | None  # mm of filament of the whole test
    prove: ProvedFlow | None = None
    conditions: Mapping[str, str] = field(default_factory=dict)
    gcode: str = ""
    cautions: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
