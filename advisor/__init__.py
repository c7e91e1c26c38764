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

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.asks import Asks
    from advisor.compare_records import CompareReport, LeverAnswer, TargetReport, Variant
    from advisor.curve_records import (
        BandLine,
        GripReport,
        GripRow,
        MotorNeed,
        MotorRow,
        OperatingPoint,
        TorqueReport,
    )
    from advisor.edit_records import ByHand, CapacityChange, Edit, MendReport
    from advisor.errors import (
        AdvisorError,
        InputError,
        MendError,
        Mistakes,
        PrintError,
        ProfileError,
        SheetError,
        UnreadableError,
        UsageError,
        WeighError,
    )
    from advisor.library.bench import derate, explain, sheet, weigh_plan, weigh_read
    from advisor.library.machines import check, compare, demand, edits, flow, grip, torque, undo
    from advisor.model import (
        Case,
        ExtruderReport,
        Figure,
        Figures,
        FileStatus,
        Finding,
        Fix,
        LaterSetting,
        Level,
        LeverGain,
        LimitBand,
        MeasureGroup,
        MeasureInput,
        NextStep,
        Origin,
        OriginKind,
        Report,
        Span,
        State,
        Weighed,
    )
    from advisor.number import Band
    from advisor.records import (
        DemandReport,
        DemandRow,
        DerateReport,
        Derivation,
        ExcessPlace,
        Explanation,
        FeatureAsk,
        FlowReport,
        RefusedMoves,
        SeriesRow,
        WindowRow,
        WorstPlace,
    )
    from advisor.report.json import as_json, json_schema
    from advisor.weigh.answers import (
        WeighedByHand,
        WeighedSlip,
        WeighedStep,
        WeighedTest,
        WeighPlan,
        WeighPlanAnswer,
        WeighPlanStep,
        WeighReadAnswer,
    )
    from advisor.weigh.records import Calibration, Contrast

__all__ = [
    "AdvisorError", "Asks", "Band", "BandLine", "ByHand", "Calibration", "CapacityChange", "Case",
    "CompareReport", "Contrast", "DemandReport", "DemandRow", "DerateReport", "Derivation", "Edit",
    "ExcessPlace", "Explanation", "ExtruderReport", "FeatureAsk", "Figure", "Figures", "FileStatus",
    "Finding", "Fix", "FlowReport", "GripReport", "GripRow", "InputError",
    "LaterSetting", "Level", "LeverAnswer", "LeverGain", "LimitBand", "MeasureGroup",
    "MeasureInput", "MendError", "MendReport", "Mistakes", "MotorNeed", "MotorRow", "NextStep",
    "OperatingPoint", "Origin", "OriginKind", "PrintError", "ProfileError", "RefusedMoves",
    "Report", "SeriesRow", "SheetError", "Span", "State", "TargetReport", "TorqueReport",
    "UnreadableError", "UsageError", "Variant", "WeighError", "WeighPlan", "WeighPlanAnswer",
    "WeighPlanStep", "WeighReadAnswer", "Weighed", "WeighedByHand", "WeighedSlip", "WeighedStep",
    "WeighedTest", "WindowRow", "WorstPlace", "as_json", "check", "compare", "demand", "derate",
    "edits", "explain", "flow", "grip", "json_schema", "sheet", "torque", "undo", "weigh_plan",
    "weigh_read",
]  # fmt: skip

from advisor.version import __version__ as __version__

_HOMES = {
    "advisor.asks": "Asks",
    "advisor.compare_records": "CompareReport LeverAnswer TargetReport Variant",
    "advisor.curve_records":
        "BandLine GripReport GripRow MotorNeed MotorRow OperatingPoint TorqueReport",
    "advisor.edit_records": "ByHand CapacityChange Edit MendReport",
    "advisor.errors":
        "AdvisorError InputError MendError Mistakes PrintError ProfileError SheetError "
        "UnreadableError UsageError WeighError",
    "advisor.library.bench": "derate explain sheet weigh_plan weigh_read",
    "advisor.library.machines": "check compare demand edits flow grip torque undo",
    "advisor.model":
        "Case ExtruderReport Figure Figures FileStatus Finding Fix LaterSetting Level LeverGain "
        "LimitBand MeasureGroup MeasureInput NextStep Origin OriginKind Report Span State Weighed",
    "advisor.number": "Band",
    "advisor.records":
        "DemandReport DemandRow DerateReport Derivation ExcessPlace Explanation FeatureAsk "
        "FlowReport RefusedMoves SeriesRow WindowRow WorstPlace",
    "advisor.report.json": "as_json json_schema",
    "advisor.weigh.answers":
        "WeighPlan WeighPlanAnswer WeighPlanStep WeighReadAnswer WeighedByHand WeighedSlip "
        "WeighedStep WeighedTest",
    "advisor.weigh.records": "Calibration Contrast",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for, so that a command starts fast."""
    home = next((home for home, names in _HOMES.items() if name in names.split()), None)
    if home is None:
        raise AttributeError(f"module 'advisor' has no attribute '{name}'")
    import importlib

    found = globals()[name] = getattr(importlib.import_module(home), name)
    return found


def __dir__() -> list[str]:
    """Return the public names."""
    return [*__all__, "__version__"]
