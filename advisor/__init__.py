"""Feedwright: tells from a 3D printer's config whether its extruder can do what it is asked.

Every question of the commands is a function here. Each takes trade units and keyword arguments,
returns frozen records in trade units and prints nothing::

    import advisor

    report = advisor.check("printer.cfg", sheet="hardware.yaml", asked="24 mm3/s")
    report.findings, report.extruders[0].bottleneck, report.extruders[0].facts["flow.capacity"]
    advisor.derate("1.0 A", basis="peak").set_current
    advisor.compare("printer.cfg", vary={"motor.run_current": [0.5, 0.6, 0.7]}).variants

What cannot be read or cannot be is an `AdvisorError` with place, thing, problem and remedy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.answers import (
        AccelRow,
        AdvanceLimits,
        Asks,
        BandLine,
        ByHand,
        CapacityChange,
        CappedTime,
        CapRow,
        CapTimesAnswer,
        CatalogueFigure,
        CauseLine,
        CauseOdds,
        CompareReport,
        CurrentDoubt,
        DemandReport,
        DemandRow,
        DerateReport,
        Derivation,
        DiagnoseReport,
        Edit,
        ExcessPlace,
        Explanation,
        FeatureAsk,
        FedLength,
        FlowReport,
        GripReport,
        GripRow,
        LeverAnswer,
        MendReport,
        MotorNeed,
        MotorRow,
        NextTest,
        OperatingPoint,
        OutcomeMeaning,
        RefusedMoves,
        RetractLimits,
        SeriesRow,
        SessionCurrent,
        SessionReport,
        SessionStep,
        SlicerTime,
        SlowedMoves,
        SpeedCeiling,
        TargetReport,
        TorqueReport,
        Variant,
        WindowRow,
        WorstPlace,
    )
    from advisor.base import (
        AdvisorError,
        Band,
        Case,
        ExtruderReport,
        Figure,
        Figures,
        FileStatus,
        Finding,
        Fix,
        InputError,
        LaterSetting,
        LeftOutTest,
        Level,
        LeverGain,
        LimitBand,
        MeasureGroup,
        MeasureInput,
        MendError,
        Mistakes,
        NextStep,
        Origin,
        OriginKind,
        PrintError,
        ProfileError,
        Reason,
        Report,
        SheetError,
        Span,
        State,
        UnreadableError,
        UsageError,
        UsedTest,
        Weighed,
        WeighError,
        __version__ as __version__,
    )
    from advisor.library import (
        check,
        compare,
        demand,
        derate,
        diagnose,
        edits,
        explain,
        flow,
        grip,
        session,
        sheet,
        skip_plan,
        skip_read,
        torque,
        undo,
        weigh_compare,
        weigh_next,
        weigh_plan,
        weigh_read,
    )
    from advisor.report import as_json, json_schema
    from advisor.weigh import (
        Calibration,
        Contrast,
        DeliveredMore,
        Evenness,
        FlowRow,
        NextPiece,
        ProvedFlow,
        SkipFile,
        SkipLevel,
        SkipNarrows,
        SkipPlan,
        SkipPlanAnswer,
        SkipReadAnswer,
        SkipSeenPoint,
        SkipTest,
        WeighCompareAnswer,
        WeighedByHand,
        WeighedSlip,
        WeighedStep,
        WeighedTest,
        WeighNextAnswer,
        WeighPlan,
        WeighPlanAnswer,
        WeighPlanStep,
        WeighReadAnswer,
    )

__all__ = [
    "AccelRow", "AdvanceLimits", "AdvisorError", "Asks", "Band", "BandLine", "ByHand",
    "Calibration", "CapRow", "CapTimesAnswer", "CapacityChange", "CappedTime", "Case",
    "CatalogueFigure", "CauseLine", "CauseOdds", "CompareReport", "Contrast", "CurrentDoubt",
    "DeliveredMore", "DemandReport", "DemandRow", "DerateReport", "Derivation",
    "DiagnoseReport", "Edit", "Evenness", "ExcessPlace", "Explanation", "ExtruderReport",
    "FeatureAsk", "FedLength", "Figure", "Figures", "FileStatus", "Finding", "Fix",
    "FlowReport", "FlowRow", "GripReport", "GripRow", "InputError", "LaterSetting",
    "LeftOutTest", "Level", "LeverAnswer", "LeverGain", "LimitBand", "MeasureGroup",
    "MeasureInput", "MendError", "MendReport", "Mistakes", "MotorNeed", "MotorRow",
    "NextPiece", "NextStep", "NextTest", "OperatingPoint", "Origin", "OriginKind",
    "OutcomeMeaning", "PrintError",
    "ProfileError", "ProvedFlow", "Reason", "RefusedMoves", "Report", "RetractLimits", "SeriesRow",
    "SessionCurrent", "SessionReport", "SessionStep", "SheetError", "SkipFile", "SkipLevel",
    "SkipNarrows", "SkipPlan", "SkipPlanAnswer", "SkipReadAnswer", "SkipSeenPoint", "SkipTest",
    "SlicerTime", "SlowedMoves", "Span", "SpeedCeiling", "State", "TargetReport",
    "TorqueReport", "UnreadableError", "UsageError", "UsedTest", "Variant",
    "WeighCompareAnswer", "WeighError", "WeighNextAnswer", "WeighPlan", "WeighPlanAnswer",
    "WeighPlanStep",
    "WeighReadAnswer", "Weighed", "WeighedByHand", "WeighedSlip", "WeighedStep", "WeighedTest",
    "WindowRow", "WorstPlace", "as_json", "check", "compare", "demand", "derate", "diagnose",
    "edits", "explain", "flow", "grip", "json_schema", "session", "sheet", "skip_plan",
    "skip_read", "torque", "undo", "weigh_compare", "weigh_next", "weigh_plan", "weigh_read",
]  # fmt: skip

_HOMES = {
    "advisor.answers":
        "AccelRow AdvanceLimits Asks BandLine ByHand CapRow CapTimesAnswer CapacityChange "
        "CappedTime CatalogueFigure CauseLine CauseOdds CompareReport CurrentDoubt DemandReport "
        "DemandRow DerateReport Derivation DiagnoseReport Edit ExcessPlace Explanation "
        "FeatureAsk FedLength FlowReport GripReport GripRow LeverAnswer MendReport MotorNeed "
        "MotorRow NextTest OperatingPoint OutcomeMeaning RefusedMoves RetractLimits SeriesRow "
        "SessionCurrent SessionReport SessionStep SlicerTime SlowedMoves SpeedCeiling "
        "TargetReport TorqueReport Variant WindowRow WorstPlace",
    "advisor.base":
        "AdvisorError Band Case ExtruderReport Figure Figures FileStatus Finding Fix "
        "InputError LaterSetting LeftOutTest Level LeverGain LimitBand MeasureGroup MeasureInput "
        "MendError Mistakes NextStep Origin OriginKind PrintError ProfileError "
        "Reason Report "
        "SheetError Span State UnreadableError UsageError UsedTest WeighError Weighed",
    "advisor.library":
        "check compare demand derate diagnose edits explain flow grip session sheet skip_plan "
        "skip_read torque undo weigh_compare weigh_next weigh_plan weigh_read",
    "advisor.report": "as_json json_schema",
    "advisor.weigh":
        "Calibration Contrast DeliveredMore Evenness FlowRow NextPiece ProvedFlow SkipFile "
        "SkipLevel SkipNarrows SkipPlan SkipPlanAnswer SkipReadAnswer SkipSeenPoint SkipTest "
        "WeighCompareAnswer WeighNextAnswer WeighPlan WeighPlanAnswer WeighPlanStep "
        "WeighReadAnswer WeighedByHand WeighedSlip WeighedStep WeighedTest",
}  # fmt: skip


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for, so that a command starts fast."""
    if name == "__version__":
        from advisor.base import __version__ as version

        return version
    home = next((home for home, names in _HOMES.items() if name in names.split()), None)
    if home is None:
        raise AttributeError(f"module 'advisor' has no attribute '{name}'")
    import importlib

    found = globals()[name] = getattr(importlib.import_module(home), name)
    return found


def __dir__() -> list[str]:
    """Return the public names."""
    return [*__all__, "__version__"]
