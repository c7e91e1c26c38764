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
    )
    from advisor.prints.analysis import (
        read_moves as read_moves,
    )
    from advisor.prints.dialect import (
        ARTIFACTS as ARTIFACTS,
    )
    from advisor.prints.records import (
        Allowed as Allowed,
    )
    from advisor.prints.records import (
        CapTime as CapTime,
    )
    from advisor.prints.records import (
        CapTimes as CapTimes,
    )
    from advisor.prints.records import (
        FeatureDemand as FeatureDemand,
    )
    from advisor.prints.records import (
        LayerDemand as LayerDemand,
    )
    from advisor.prints.records import (
        MachineLimits as MachineLimits,
    )
    from advisor.prints.records import (
        Peak as Peak,
    )
    from advisor.prints.records import (
        PrintReport as PrintReport,
    )
    from advisor.prints.records import (
        Refused as Refused,
    )
    from advisor.prints.records import (
        Slowed as Slowed,
    )
    from advisor.prints.records import (
        WindowDemand as WindowDemand,
    )
    from advisor.prints.records import (
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
