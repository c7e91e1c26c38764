"""The words of weighed tests; tables and a clock, nothing else."""

from __future__ import annotations

__all__ = ["BOTTLENECK", "LOSS", "clock"]

LOSS = {
    "none": "nothing was lost",
    "slip": (
        "slip-like: delivery falls gently before the motor skips; the gears lose filament. Cleaner "
        "or larger gears and more bite help, or less push: hotter, a wider nozzle"
    ),
    "melt": (
        "melt-like: what comes out hardly grows any more, and nothing skips; the hot end passes no "
        "more. A hotter or wider nozzle or a longer melt zone helps"
    ),
    "skip": (
        "skip-like: all is delivered until the motor skips; its torque gives out first. More "
        "current within the derated limit or another gear ratio helps, or less push: hotter, a "
        "wider nozzle"
    ),
}
BOTTLENECK = {
    "torque": "the motor",
    "grip": "the grip",
    "buckling": "the free gap",
    "melt": "the melt zone",
    "heater": "the heater",
}


def clock(seconds: float) -> str:
    """Return a time in full minutes: ``24 min``, ``1 h 17 min``."""
    hours, minutes = divmod(max(1, round(seconds / 60)), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
