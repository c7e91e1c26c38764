"""What every room knows: places, levels, findings, numbers with a unit, errors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.base.budgets import (
        CONFIG_BYTES as CONFIG_BYTES,
    )
    from advisor.base.budgets import (
        DIRECTORY_BYTES as DIRECTORY_BYTES,
    )
    from advisor.base.budgets import (
        DRAWN_EXTRUDERS as DRAWN_EXTRUDERS,
    )
    from advisor.base.budgets import (
        DRAWN_MACHINES as DRAWN_MACHINES,
    )
    from advisor.base.budgets import (
        ELEMENTS as ELEMENTS,
    )
    from advisor.base.budgets import (
        EVENTS_PER_FILE as EVENTS_PER_FILE,
    )
    from advisor.base.budgets import (
        EXTRUDERS as EXTRUDERS,
    )
    from advisor.base.budgets import (
        HINTS as HINTS,
    )
    from advisor.base.budgets import (
        KEPT_NAMES as KEPT_NAMES,
    )
    from advisor.base.budgets import (
        KEPT_TABLES as KEPT_TABLES,
    )
    from advisor.base.budgets import (
        KEPT_USED as KEPT_USED,
    )
    from advisor.base.budgets import (
        MACHINES as MACHINES,
    )
    from advisor.base.budgets import (
        MB as MB,
    )
    from advisor.base.budgets import (
        MEMBERS as MEMBERS,
    )
    from advisor.base.budgets import (
        PAGE_WORK as PAGE_WORK,
    )
    from advisor.base.budgets import (
        PRESETS as PRESETS,
    )
    from advisor.base.budgets import (
        PROFILE_BYTES as PROFILE_BYTES,
    )
    from advisor.base.budgets import (
        SHEET_BYTES as SHEET_BYTES,
    )
    from advisor.base.budgets import (
        SHEET_NODES as SHEET_NODES,
    )
    from advisor.base.budgets import (
        UNPACKED_BYTES as UNPACKED_BYTES,
    )
    from advisor.base.budgets import (
        WEIGHED_BYTES as WEIGHED_BYTES,
    )
    from advisor.base.budgets import (
        WEIGHED_COLUMNS as WEIGHED_COLUMNS,
    )
    from advisor.base.budgets import (
        WEIGHED_LINES as WEIGHED_LINES,
    )
    from advisor.base.errors import (
        AdvisorError as AdvisorError,
    )
    from advisor.base.errors import (
        DataError as DataError,
    )
    from advisor.base.errors import (
        InputError as InputError,
    )
    from advisor.base.errors import (
        MendError as MendError,
    )
    from advisor.base.errors import (
        Mistakes as Mistakes,
    )
    from advisor.base.errors import (
        PrintError as PrintError,
    )
    from advisor.base.errors import (
        ProfileError as ProfileError,
    )
    from advisor.base.errors import (
        SheetError as SheetError,
    )
    from advisor.base.errors import (
        UnreadableError as UnreadableError,
    )
    from advisor.base.errors import (
        UsageError as UsageError,
    )
    from advisor.base.errors import (
        WeighError as WeighError,
    )
    from advisor.base.errors import (
        near_miss as near_miss,
    )
    from advisor.base.model import (
        BOUNDING as BOUNDING,
    )
    from advisor.base.model import (
        LIMITS as LIMITS,
    )
    from advisor.base.model import (
        WEIGHED as WEIGHED,
    )
    from advisor.base.model import (
        Band as Band,
    )
    from advisor.base.model import (
        Case as Case,
    )
    from advisor.base.model import (
        Event as Event,
    )
    from advisor.base.model import (
        ExtruderReport as ExtruderReport,
    )
    from advisor.base.model import (
        Fact as Fact,
    )
    from advisor.base.model import (
        Figure as Figure,
    )
    from advisor.base.model import (
        Figures as Figures,
    )
    from advisor.base.model import (
        FileStatus as FileStatus,
    )
    from advisor.base.model import (
        Finding as Finding,
    )
    from advisor.base.model import (
        Fix as Fix,
    )
    from advisor.base.model import (
        LaterSetting as LaterSetting,
    )
    from advisor.base.model import (
        LeftOutTest as LeftOutTest,
    )
    from advisor.base.model import (
        Level as Level,
    )
    from advisor.base.model import (
        LeverGain as LeverGain,
    )
    from advisor.base.model import (
        LimitBand as LimitBand,
    )
    from advisor.base.model import (
        MeasureGroup as MeasureGroup,
    )
    from advisor.base.model import (
        MeasureInput as MeasureInput,
    )
    from advisor.base.model import (
        MeasureNext as MeasureNext,
    )
    from advisor.base.model import (
        NextStep as NextStep,
    )
    from advisor.base.model import (
        Origin as Origin,
    )
    from advisor.base.model import (
        OriginKind as OriginKind,
    )
    from advisor.base.model import (
        Reason as Reason,
    )
    from advisor.base.model import (
        Report as Report,
    )
    from advisor.base.model import (
        Span as Span,
    )
    from advisor.base.model import (
        State as State,
    )
    from advisor.base.model import (
        Trace as Trace,
    )
    from advisor.base.model import (
        UsedTest as UsedTest,
    )
    from advisor.base.model import (
        Weighed as Weighed,
    )
    from advisor.base.number import (
        Number as Number,
    )
    from advisor.base.number import (
        Quantity as Quantity,
    )
    from advisor.base.number import (
        Raw as Raw,
    )
    from advisor.base.number import (
        Text as Text,
    )
    from advisor.base.number import (
        Value as Value,
    )
    from advisor.base.number import (
        known_ends as known_ends,
    )
    from advisor.base.number import (
        value_of as value_of,
    )
    from advisor.base.on_demand import (
        OnDemand as OnDemand,
    )
    from advisor.base.record import (
        frozen as frozen,
    )
    from advisor.base.units import (
        Dimension as Dimension,
    )
    from advisor.base.units import (
        Unit as Unit,
    )
    from advisor.base.units import (
        parse_unit as parse_unit,
    )
    from advisor.base.version import (
        __version__ as __version__,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "budgets": "CONFIG_BYTES DIRECTORY_BYTES DRAWN_EXTRUDERS DRAWN_MACHINES ELEMENTS "
            "EVENTS_PER_FILE EXTRUDERS HINTS MACHINES MB MEMBERS PAGE_WORK PRESETS "
            "PROFILE_BYTES SHEET_BYTES SHEET_NODES UNPACKED_BYTES WEIGHED_BYTES "
            "WEIGHED_COLUMNS WEIGHED_LINES KEPT_NAMES KEPT_TABLES KEPT_USED",
            "errors": "AdvisorError DataError InputError MendError Mistakes PrintError "
            "ProfileError SheetError UnreadableError UsageError WeighError "
            "near_miss",
            "model": "BOUNDING Band Case Event ExtruderReport Fact Figure Figures FileStatus "
            "Finding Fix LaterSetting Level LIMITS LeverGain LimitBand MeasureGroup MeasureInput "
            "MeasureNext NextStep Origin OriginKind Reason Report Span State Trace WEIGHED "
            "Weighed UsedTest LeftOutTest",
            "number": "Number Quantity Raw Text Value known_ends value_of",
            "on_demand": "OnDemand",
            "record": "frozen",
            "units": "Dimension Unit parse_unit",
            "version": "__version__",
        },
    )
