"""What is said in words of torque against speed: enough or not, what is left, what serves."""

from __future__ import annotations

from advisor.answers import LEVEL, MotorNeed, MotorRow, OperatingPoint, TorqueReport
from advisor.report.numbers import figure, quantity, ranged, share, times

__all__ = ["TORQUE", "answer", "at_speed", "cell", "need_words", "trusted", "verdict"]

TORQUE = "mN m"
_LEAST, _MOST = 0.01, 99999.0  # that a column holds
_NO_FIGURE = 100.0  # times the usable torque: as good as none is left


def cell(value: float, digits: int = 2) -> str:
    """Return a number for a narrow column, six characters at most; none of ours is below zero.

    >>> cell(52.4), cell(0.551), cell(6.0e-9), cell(2.0e9)
    ('52', '0.55', '<0.01', '>99999')
    """
    if 0.0 < value < _LEAST:
        return f"<{figure(_LEAST)}"
    return f">{_MOST:.0f}" if value > _MOST else figure(value, digits)


def answer(report: TorqueReport) -> tuple[str, bool]:
    """Return in words whether the torque is enough, and whether it is.

    Only what the machine is told to do counts, not its mere limits.
    """
    told = [point for point in report.points if point.asked]
    if not told:
        return "nothing is asked of the motor", True
    short = [point for point in told if point.needed.value > point.usable.value * LEVEL]
    if short:
        return _too_much(max(short, key=_use)), False
    tight = max(told, key=_use)
    what = "all that is asked"
    if not any(point.name == "asked" for point in told):
        what = "the capacity, and for what the config sets" if len(told) > 1 else "the capacity"
    words = (
        f"the torque is enough for {what}; the {tight.title} takes the most of it, "
        f"{_percent(_use(tight))}"
    )
    doubtful = [point for point in _reached(report) if _beyond(point, report)]
    if doubtful:
        fast = max(doubtful, key=lambda point: point.motor_speed.value)
        speed = "that speed" if fast is tight else f"the speed of the {fast.title}"
        words += f"; but do not rely on it at {speed}"
    return words, True


def _too_much(worst: OperatingPoint) -> str:
    lost = worst.needed.value > worst.skip.value * LEVEL
    what = "the motor skips in" if lost else "the margin is used up in"
    usable = quantity(worst.usable.value, TORQUE, 2)
    much = times(_use(worst), f"the usable {usable}")
    if _use(worst) > _NO_FIGURE:
        much = f"and the usable torque is {usable}"
    return (
        f"{what} the {worst.title}: it needs {quantity(worst.needed.value, TORQUE, 2)}, {much} "
        f"({share(worst.too_much)} sure)"
    )


def _use(point: OperatingPoint) -> float:
    return point.needed.value / max(point.usable.value, 1e-9)


def _percent(part: float) -> str:
    return f"{figure(100 * part, 2)} %"


def _reached(report: TorqueReport) -> list[OperatingPoint]:
    """Return the points whose speed the motor reaches; pressure advance passes, but reaches it."""
    told = [point for point in report.points if point.asked or point.name == "advance"]
    return told or list(report.points)


def _beyond(point: OperatingPoint, report: TorqueReport) -> bool:
    return report.limit_share is not None and point.speed_share.value > report.limit_share


def at_speed(report: TorqueReport) -> str | None:
    """Return in words what is left of the torque at the fastest point; None without a point."""
    points = _reached(report)
    if not points or report.corner_speed is None:
        return None
    fastest = max(points, key=lambda point: point.motor_speed.value)
    corner = report.corner_speed.value
    speed = _turns(fastest.motor_speed.value, report, " of filament")
    return (
        f"{share(min(fastest.left.value, 1.0))} of the standstill torque is left in the "
        f"{fastest.title}, at {speed}. It falls "
        f"above the corner speed, {_turns(corner, report)}. {_trust(fastest, corner, report)}"
    )


def trusted(report: TorqueReport) -> bool:
    """Whether the fastest point lies where the figures are trusted."""
    points = _reached(report)
    if not points or report.corner_speed is None:
        return True
    fastest = max(points, key=lambda point: point.motor_speed.value)
    return fastest.speed_share.value <= (report.trusted_share or 1.0)


def _turns(speed: float, report: TorqueReport, of: str = "") -> str:
    """Return a motor speed with the filament's beside it: ``6 turns/s (30 mm/s)``."""
    words = quantity(speed, "turns/s", 2)
    if not report.speeds or not report.speeds[-1]:
        return words
    travel = report.filament_speeds[-1] / report.speeds[-1]
    return f"{words} ({figure(speed * travel, 2)} mm/s{of})"


def _trust(fastest: OperatingPoint, corner: float, report: TorqueReport) -> str:
    trusted = report.trusted_share or 1.0
    upto = _turns(trusted * corner, report)
    part = fastest.speed_share.value
    if part <= trusted:
        return f"The figure can be trusted up to {upto}"
    much = times(part, "the corner speed")
    here = f"The figure can be trusted up to {upto}. At {much} "
    if _beyond(fastest, report):
        return f"{here}steps can be lost however much torque is left"
    return f"{here}resonance can cost steps"


def need_words(need: MotorNeed) -> str:
    """Return what a motor must have at one voltage, in words."""
    if need.holding_torque is None or need.inductance is None:
        return f"none: {need.why_none}"
    return (
        f"holding torque {ranged(need.holding_torque, TORQUE)} or more; inductance "
        f"{ranged(need.inductance, 'mH')} or less"
    )


def verdict(row: MotorRow) -> str:
    """Return whether a motor class serves at one voltage, and what it lacks where it does not."""
    if row.serves is None or row.margin is None:
        return "not known"
    if row.serves:
        return f"yes, {share(row.sure or 0.0)}"
    return "no: torque" if row.margin.value < 1.0 / LEVEL else "no: speed"
