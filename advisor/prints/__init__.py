"""Sliced prints (G-code): what they ask of the extruder over time, planned like the firmware.

``analyse`` reads a stream in blocks and keeps no print in memory; all values are SI. It takes
the machine's limits and its capacity as given and judges nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.prints.analysis import (
        analyse as analyse,
        read_moves as read_moves,
    )
    from advisor.prints.dialect import (
        ARTIFACTS as ARTIFACTS,
    )
    from advisor.prints.records import (
        Allowed as Allowed,
        CapTime as CapTime,
        CapTimes as CapTimes,
        FeatureDemand as FeatureDemand,
        LayerDemand as LayerDemand,
        MachineLimits as MachineLimits,
        Peak as Peak,
        PrintReport as PrintReport,
        Refused as Refused,
        Slowed as Slowed,
        WindowDemand as WindowDemand,
        Windows as Windows,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "analysis": "analyse read_moves",
            "dialect": "ARTIFACTS",
            "records": "Allowed CapTime CapTimes FeatureDemand LayerDemand MachineLimits "
            "Peak PrintReport Refused Slowed WindowDemand Windows",
        },
    )
