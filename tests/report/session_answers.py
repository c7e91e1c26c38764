"""A page for a session, written by hand: an invented machine whose advance asks too much."""

from __future__ import annotations

from advisor.answers import (
    AccelRow,
    AdvanceLimits,
    CapRow,
    RetractLimits,
    SessionCurrent,
    SessionReport,
    SessionStep,
    SpeedCeiling,
)
from advisor.base import Band, FileStatus, NextStep

SIZES = ((0.4, 0.1), (0.4, 0.2), (0.6, 0.1), (0.6, 0.2))


def session_answer() -> SessionReport:
    """Two widths, two heights, two filaments; the advance is outside, the retract inside."""
    speeds = ((221.0, 257.3), (117.0, 136.4), (144.0, 168.4), (75.0, 87.5))
    most = ((14000.0, "torque"), (9400.0, "speed"), (None, "torque"), (100000.0, None))
    flows = ((5.8, 6.9), (8.4, 9.7), None, None, (5.6, 6.7), (8.0, 9.4))
    places = [(name, heat) for name in ("PLA", "PETG") for heat in (200.0, 220.0, 240.0)]
    rows = tuple(
        AccelRow(case=None, width=width, height=height, acceleration=accel, limit=limit,
                 inside=limit is None)
        for (width, height), (accel, limit) in zip(SIZES, most, strict=True)
    )  # fmt: skip
    return SessionReport(
        extruder="extruder",
        config="printer.cfg",
        material="pla",
        temperature=220.0,
        nozzle=0.4,
        flow_ratio=0.98,
        cap=8.4,
        capacity=Band(9.74, 6.85, 12.5),
        bottleneck="grip",
        skip=Band(14.5, 11.5, 18.0),
        slip=Band(11.2, 8.3, 16.0),
        first=("The motor's current is above its limit; lower it first.",),
        ceilings=tuple(
            SpeedCeiling(case=None, width=width, height=height, cap=cap, typical=typical)
            for (width, height), (cap, typical) in zip(SIZES, speeds, strict=True)
        ),
        caps=tuple(
            CapRow(
                material=name.lower(),
                title=name,
                temperature=heat,
                present=(name, heat) == ("PLA", 220.0),
                in_range=pair is not None,
                cautious=pair[0] if pair else None,
                typical=pair[1] if pair else None,
                weighed=None,
            )
            for (name, heat), pair in zip(places, flows, strict=True)
        ),
        advance=AdvanceLimits(
            advance=0.12,
            acceleration=20000.0,
            trusted_share=0.6,
            step=100.0,
            inside=False,
            line=min(rows, key=lambda row: row.acceleration or 0.0),
            rows=rows,
        ),
        retracts=(
            RetractLimits(
                name="retract", title="firmware retract", speed=35.0, reached=30.0,
                acceleration=1500.0, inside=True, limit=None, largest_speed=500.0,
                speed_limit=None, largest_acceleration=16300.0, acceleration_limit="torque",
            ),
        ),
        current=SessionCurrent(
            set_now=0.9, applied=Band(0.88, 0.88, 0.88), hold=0.4, most=0.56,
            limited_by="share of the rating", too_high=True, silent_gives=None, at=0.56,
            case_soon=Band(45.1, 41.8, 47.9), case_later=Band(52.0, 46.9, 56.1), stop=62.0,
        ),
        steps=(
            SessionStep(0, "clean", "Clean the nozzle.", "an even strand", "it curls"),
            SessionStep(1, "weigh", "Weigh pieces.", "equal pieces up to 9.7 mm3/s", "at a click"),
        ),
        plan=NextStep("weigh a test", ("weigh", "plan", "printer.cfg")),
        cautions=("A motor's case burns skin.", "Datasheets go before every figure here."),
        assumed=("filament material", "nozzle temperature"),
        files=(FileStatus("printer.cfg", "read"),),
    )  # fmt: skip
