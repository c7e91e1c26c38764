"""Sliced prints (G-code): what they ask of the extruder over time, planned like the firmware.

``analyse`` reads a stream in blocks and keeps no print in memory; all values are SI. It takes
the machine's limits and its capacity as given and judges nothing.
"""

from __future__ import annotations

from advisor.prints.analyse import analyse, read_moves
from advisor.prints.dialect import ARTIFACTS
from advisor.prints.records import (
    Allowed,
    Excess,
    FeatureDemand,
    LayerDemand,
    MachineLimits,
    Note,
    Peak,
    Place,
    PrintReport,
    Refused,
    SeriesPoint,
    Stated,
    ToolDemand,
    WindowDemand,
    Windows,
)

__all__ = [
    "ARTIFACTS",
    "Allowed",
    "Excess",
    "FeatureDemand",
    "LayerDemand",
    "MachineLimits",
    "Note",
    "Peak",
    "Place",
    "PrintReport",
    "Refused",
    "SeriesPoint",
    "Stated",
    "ToolDemand",
    "WindowDemand",
    "Windows",
    "analyse",
    "read_moves",
]
