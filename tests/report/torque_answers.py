"""An invented answer of `torque`, built by hand: a fast retract on a motor short of voltage."""

from __future__ import annotations

from advisor.answers.curve_records import (
    BandLine,
    MotorNeed,
    MotorRow,
    OperatingPoint,
    TorqueReport,
)
from advisor.base import Band

SPEEDS = tuple(0.5 * i for i in range(81))  # 0 to 40 turns/s
CORNER = 16.0
TRAVEL = 4.5  # mm a turn


def spread(value: float, part: float = 0.25) -> Band:
    return Band(value, value * (1 - part), value * (1 + part))


def exact(value: float) -> Band:
    return Band(value, value, value)


def skip_at(speed: float) -> float:
    """80 mN m up to the corner speed, then constant power."""
    return 80.0 * min(1.0, CORNER / max(speed, 1e-9))


def line(values: tuple[float, ...]) -> BandLine:
    return BandLine(
        value=values, low=tuple(0.8 * x for x in values), high=tuple(1.2 * x for x in values)
    )


def point(name: str, title: str, speed: float, needed: float, **more: object) -> OperatingPoint:
    skip = skip_at(speed)
    plain = {"asked": True, "too_much": 0.0, "skips": 0.0} | more
    return OperatingPoint(
        name=name, title=title, motor_speed=exact(speed), filament_speed=exact(speed * TRAVEL),
        needed=spread(needed), usable=spread(skip / 1.5), skip=spread(skip),
        left=exact(skip / 80.0), speed_share=spread(speed / CORNER, 0.05), **plain,
    )  # fmt: skip


POINTS = (
    point("capacity", "feed at the capacity", 0.8, 20.0, asked=False),
    point("asked", "feed at the requested flow", 1.6, 44.0, too_much=0.12),
    point("print-peak", "print peak, as if it lasted", 1.7, 180.0, asked=False, too_much=0.99,
          skips=0.97),
    point("advance", "pressure-advance peak", 9.5, 46.0, too_much=0.19),
    point("retract", "firmware retract", 22.0, 27.0, too_much=0.06, skips=0.004),
    point("extrude-only", "limits of extrude-only moves", 33.0, 27.0, asked=False, too_much=0.6,
          skips=0.05),
)  # fmt: skip

NEEDS = (
    MotorNeed(
        voltage=12.0, rated_current=1.0, working_current=0.551, resistance=3.6,
        holding_torque=None, inductance=None, governed_by="advance", fastest="retract",
        why_none="the supply cannot drive this current at that speed, whatever the inductance",
    ),
    MotorNeed(
        voltage=24.0, rated_current=1.0, working_current=0.551, resistance=3.6,
        holding_torque=Band(136.0, 92.0, 215.0), inductance=Band(1.8, 0.0, 2.1),
        governed_by="advance", fastest="retract",
    ),
)  # fmt: skip


def row(motor: str, voltage: float, **more: object) -> MotorRow:
    plain = {
        "working_current": exact(0.551), "margin": spread(1.31), "governed_by": "advance",
        "speed_share": spread(1.3), "left": exact(0.73), "mass": spread(150.0, 0.1),
        "serves": False, "sure": 0.02,
    } | more  # fmt: skip
    return MotorRow(motor=motor, title=f"{motor} motor", voltage=voltage, **plain)


ROWS = (
    row("round-36", 12.0, margin=spread(0.8), mass=spread(75.0), sure=0.0),
    row("round-36", 24.0, margin=spread(0.8), mass=spread(75.0), sure=0.21),
    row("square-42-short", 12.0, present=True),
    row("square-42-short", 24.0, present=True, serves=True, sure=0.83, speed_share=spread(0.5)),
    row("square-42-long", 12.0, working_current=None, margin=None, mass=None, serves=None,
        sure=None, speed_share=None, left=None, why_none="it bears no current here"),
    row("square-42-long", 24.0, serves=True, sure=1.0),
)  # fmt: skip


def torque_answer(points: tuple[OperatingPoint, ...] = POINTS, **more: object) -> TorqueReport:
    """The whole answer; parts of it may be put in place of the usual ones."""
    skip = tuple(map(skip_at, SPEEDS))
    needed = tuple(12.0 + 12.5 * speed**2 for speed in SPEEDS)
    plain = {
        "speeds": SPEEDS, "filament_speeds": tuple(TRAVEL * speed for speed in SPEEDS),
        "skip": line(skip), "usable": line(tuple(x / 1.5 for x in skip)), "needed": line(needed),
        "needed_count": sum(need <= 90.0 for need in needed), "corner_speed": spread(CORNER, 0.05),
        "trusted_share": 0.6, "limit_share": 0.9, "needs": NEEDS, "motors": ROWS,
        "remarks": ("The driver bears up to 29 V.",),
        "enough": True, "assumed": ("holding torque", "melt-zone length"),
        "cautions": ("A motor can burn: let it cool before you touch it.",),
    } | more  # fmt: skip
    return TorqueReport(extruder="extruder", points=points, **plain)
