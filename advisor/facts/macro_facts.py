"""What the macros of a config ask of the extruder, as facts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from advisor.intake.macros import MacroMove, Macros
from advisor.model import Fact, Origin, OriginKind

__all__ = ["macro_facts"]


def macro_facts(macros: Macros) -> Mapping[str, Fact]:
    """Return the fastest push, the fastest and the longest move of filament alone."""
    known = [move for move in macros.moves if move.speed is not None and move.length is not None]
    pushes = [move for move in known if (move.length or 0.0) > 0.0]
    sized = [move for move in macros.moves if move.length is not None]
    found = (
        _largest("macro.push_speed", "mm/s", pushes, lambda move: move.speed or 0.0),
        _largest("macro.fastest_speed", "mm/s", known, lambda move: move.speed or 0.0),
        _largest("macro.distance", "mm", sized, lambda move: abs(move.length or 0.0)),
    )
    return {fact.name: fact for fact in found if fact is not None}


def _largest(
    name: str, unit: str, moves: Iterable[MacroMove], measure: Callable[[MacroMove], float]
) -> Fact | None:
    best = max(moves, key=measure, default=None)
    if best is None:
        return None
    origin = Origin(OriginKind.CONFIG, at=best.at, text=best.macro)
    return Fact(name, unit, measure(best), origin=origin)
