"""The words of the trade for stages, limits and origins; a table, no logic."""

from __future__ import annotations

from advisor.frozen import frozen

__all__ = ["LIMITS", "STAGES", "STAGE_LIMITS", "StageLimit", "fact_words", "stage_rank"]

LIMITS = ("torque", "skip", "grip", "slip", "buckling", "melt", "heater")
STAGES = ("text", "motor", "gears", "grip", "gap", "melt", "heater", "firmware", "slicer")


@frozen
class StageLimit:
    """What bounds the flow at a stage, and what happens beyond it."""

    stage: str
    limit: str
    beyond: str  # what happens above the limit
    lost: str | None  # the limit at which steps or filament are lost
    lost_words: str


STAGE_LIMITS = (
    StageLimit("motor", "torque", "", "skip", "skips at"),
    StageLimit("grip", "grip", "", "slip", "slips at"),
    StageLimit("gap", "buckling", "folds", None, ""),
    StageLimit("melt", "melt", "core not soft", None, ""),
    StageLimit("heater", "heater", "cools down", None, ""),
)


def stage_rank(stage: str) -> int:
    """Return the place of a stage along the way of the filament; unknown ones come last."""
    return STAGES.index(stage) if stage in STAGES else len(STAGES)


def fact_words(name: str) -> str:
    """Return a fact's name as words: ``nozzle.diameter`` reads ``nozzle diameter``."""
    return name.removeprefix("drive.").replace(".", " ").replace("_", " ")
