"""The facts of one extruder with what weighed tests had to do with them, as a frozen record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.facts.assemble import ExtruderInputs
from advisor.facts.graph import FactBook
from advisor.frozen import frozen
from advisor.model import Event, Weighed

if TYPE_CHECKING:
    from advisor.facts.weighed_draw import Draw
    from advisor.weigh.records import Evaluation

__all__ = ["Taken"]


@frozen
class Taken:
    """The facts of one extruder, what weighed tests had to do with them, what was stated."""

    book: FactBook
    note: Weighed | None = None
    events: tuple[Event, ...] = ()
    tests: tuple[Evaluation, ...] = ()
    inputs: ExtruderInputs | None = None
    draw: Draw | None = None  # the machines that weighed tests left
