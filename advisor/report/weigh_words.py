"""The words of weighed tests; tables and a clock, nothing else."""

from __future__ import annotations

__all__ = ["BOTTLENECK", "KIND", "LOSS", "clock"]

LOSS = {
    "none": "nothing is missing",
    "slip": (
        "looks like slipping{sure}: cleaner or larger gears and more bite help, or less push: "
        "hotter, a wider nozzle"
    ),
    "melt": (
        "looks like a cold core{sure}: the hotend melts no more. Hotter, a wider nozzle or a "
        "longer melt zone helps"
    ),
    "skip": (
        "looks like skipping{sure}: the motor skips first. More current within the derated limit "
        "or another gear ratio helps, or less push: hotter, a wider nozzle"
    ),
    "buckle": (
        "looks like buckling{sure}: it stops at once and the motor does not skip. Look at "
        "the unsupported gap below the gears and for a clog"
    ),
    "unsure": "not clear: {odds}",
}
KIND = {"slip": "slipping", "melt": "a cold core", "skip": "skipping", "buckle": "buckling"}
BOTTLENECK = {
    "torque": "the motor",
    "grip": "the grip",
    "buckling": "the unsupported gap",
    "melt": "the melt zone",
    "heater": "the heater",
}


def clock(seconds: float) -> str:
    """Return a time in full minutes: ``24 min``, ``1 h 17 min``."""
    hours, minutes = divmod(max(1, round(seconds / 60)), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
