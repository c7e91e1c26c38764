"""What every room knows: places, levels, findings, numbers with a unit, errors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.base.budgets import (
        CONFIG_BYTES as CONFIG_BYTES,
        DIRECTORY_BYTES as DIRECTORY_BYTES,
        DRAWN_EXTRUDERS as DRAWN_EXTRUDERS,
        DRAWN_MACHINES as DRAWN_MACHINES,
        ELEMENTS as ELEMENTS,
        EVENTS_PER_FILE as EVENTS_PER_FILE,
        EXTRUDERS as EXTRUDERS,
        HINTS as HINTS,
        KEPT_NAMES as KEPT_NAMES,
        KEPT_TABLES as KEPT_TABLES,
        KEPT_USED as KEPT_USED,
        MACHINES as MACHINES,
        MB as MB,
        MEMBERS as MEMBERS,
        PAGE_WORK as PAGE_WORK,
        PRESETS as PRESETS,
        PROFILE_BYTES as PROFILE_BYTES,
        SHEET_BYTES as SHEET_BYTES,
        SHEET_NODES as SHEET_NODES,
        UNPACKED_BYTES as UNPACKED_BYTES,
        WEIGHED_BYTES as WEIGHED_BYTES,
        WEIGHED_COLUMNS as WEIGHED_COLUMNS,
        WEIGHED_LINES as WEIGHED_LINES,
    )
    from advisor.base.errors import (
        AdvisorError as AdvisorError,
        DataError as DataError,
        InputError as InputError,
        MendError as MendError,
        Mistakes as Mistakes,
        PrintError as PrintError,
        ProfileError as ProfileError,
        SheetError as SheetError,
        Span as Span,
        UnreadableError as UnreadableError,
        UsageError as UsageError,
        WeighError as WeighError,
        near_miss as near_miss,
    )
    from advisor.base.extruder_report import (
        BOUNDING as BOUNDING,
        LIMITS as LIMITS,
        WEIGHED as WEIGHED,
        Case as Case,
        ExtruderReport as ExtruderReport,
        LaterSetting as LaterSetting,
        LeftOutTest as LeftOutTest,
        LeverGain as LeverGain,
        LimitBand as LimitBand,
        MeasureGroup as MeasureGroup,
        MeasureInput as MeasureInput,
        MeasureNext as MeasureNext,
        NextStep as NextStep,
        OnDemand as OnDemand,
        Report as Report,
        UsedTest as UsedTest,
        Weighed as Weighed,
    )
    from advisor.base.facts import (
        Fact as Fact,
        Figure as Figure,
        Figures as Figures,
        Origin as Origin,
        OriginKind as OriginKind,
        State as State,
        Trace as Trace,
    )
    from advisor.base.findings import (
        Event as Event,
        FileStatus as FileStatus,
        Finding as Finding,
        Fix as Fix,
        Level as Level,
        Reason as Reason,
    )
    from advisor.base.number import (
        Band as Band,
        Number as Number,
        Quantity as Quantity,
        Raw as Raw,
        Text as Text,
        Value as Value,
        known_ends as known_ends,
        value_of as value_of,
    )
    from advisor.base.record import (
        frozen as frozen,
    )
    from advisor.base.units import (
        Dimension as Dimension,
        Unit as Unit,
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
            "EVENTS_PER_FILE EXTRUDERS HINTS KEPT_NAMES KEPT_TABLES KEPT_USED MACHINES MB "
            "MEMBERS PAGE_WORK PRESETS PROFILE_BYTES SHEET_BYTES SHEET_NODES UNPACKED_BYTES "
            "WEIGHED_BYTES WEIGHED_COLUMNS WEIGHED_LINES",
            "errors": "AdvisorError DataError InputError MendError Mistakes PrintError "
            "ProfileError SheetError Span UnreadableError UsageError WeighError near_miss",
            "facts": "Fact Figure Figures Origin OriginKind State Trace",
            "findings": "Event FileStatus Finding Fix Level Reason",
            "extruder_report": "BOUNDING Case ExtruderReport LIMITS LaterSetting LeftOutTest "
            "LeverGain LimitBand MeasureGroup MeasureInput MeasureNext NextStep OnDemand "
            "Report UsedTest WEIGHED Weighed",
            "number": "Band Number Quantity Raw Text Value known_ends value_of",
            "record": "frozen",
            "units": "Dimension Unit parse_unit",
            "version": "__version__",
        },
    )
