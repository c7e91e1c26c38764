"""The answer of `torque` for people: is the torque enough, the picture, what motor would serve."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.curve_records import MotorNeed, MotorRow, OperatingPoint, TorqueReport
from advisor.report.look import Look
from advisor.report.numbers import band, figure, quantity, share
from advisor.report.page import Page
from advisor.report.torque_picture import LETTERS, write_picture
from advisor.report.weigh_note import write_weighed

__all__ = ["answer", "at_speed", "need_words", "render", "verdict"]

TORQUE = "mN m"
_NAME = 36  # columns of a point's letter and name
_HEADS = ("turns/s", "mm/s", "needs", "usable", "skips", "left")
_WIDTHS = (8, 7, 7, 8, 7, 7)
_LEVEL = 1.01  # a need within a hundredth of what there is is level with it


def render(report: TorqueReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    for sentence in report.lacking:
        page.entry("lacking", sentence)
    if report.points:
        _write_answer(page, report)
        drawn = write_picture(page, report)
        _write_points(page, report.points, lettered=drawn)
        _write_needs(page, report)
        _write_motors(page, report.motors)
    if report.assumed:
        page.heading("Assumed, because nothing states it")
        page.entry("", ", ".join(report.assumed) + ".")
    if report.points:
        page.heading("Mind")
        for sentence in report.cautions:
            page.indented(sentence, 1)
    return page.render()


def answer(report: TorqueReport) -> tuple[str, bool]:
    """Return in words whether the torque is enough, and whether it is.

    Only what the machine is told to do counts, not its mere limits.
    """
    told = [point for point in report.points if point.asked]
    if not told:
        return "nothing is asked of the motor", True
    short = [point for point in told if point.needed.value > point.usable.value * _LEVEL]
    if not short:
        tight = max(told, key=_use)
        words = f"the {tight.title} comes nearest, with {_percent(_use(tight))} of it"
        return f"the usable torque is enough for all that is asked; {words}", True
    worst = max(short, key=_use)
    lost = worst.needed.value > worst.skip.value * _LEVEL
    what = "steps are lost in" if lost else "the margin is used up in"
    words = (
        f"{what} the {worst.title}: it needs {quantity(worst.needed.value, TORQUE, 2)}, "
        f"{figure(_use(worst), 2)} times the usable {quantity(worst.usable.value, TORQUE, 2)} "
        f"(in {share(worst.too_much)} of likely machines too much)"
    )
    return words, False


def _use(point: OperatingPoint) -> float:
    return point.needed.value / max(point.usable.value, 1e-9)


def _percent(part: float) -> str:
    return f"{figure(100 * part, 2)} %"


def at_speed(report: TorqueReport) -> str | None:
    """Return in words what is left of the torque at the fastest point; None without a point."""
    told = [point for point in report.points if point.asked] or list(report.points)
    if not told or report.corner_speed is None:
        return None
    fastest = max(told, key=lambda point: point.motor_speed.value)
    part = fastest.speed_share.value
    trusted, limit = report.trusted_share or 1.0, report.limit_share or 1.0
    word = "the motor is sure there"
    if part > limit:
        word = "beyond what the calculation is believed for: do not count on it"
    elif part > trusted:
        word = f"above the {figure(trusted)} up to which it is trusted"
    left = share(min(fastest.left.value, 1.0))
    return (
        f"{left} of the standstill torque is left in the {fastest.title}, at "
        f"{figure(fastest.motor_speed.value, 2)} turns/s or {figure(part, 2)} times the corner "
        f"speed of {quantity(report.corner_speed.value, 'turns/s', 2)}; {word}"
    )


def _write_answer(page: Page, report: TorqueReport) -> None:
    words, enough = answer(report)
    page.entry("answer", words, label_style="strong", style="strong" if enough else "error")
    speed = at_speed(report)
    if speed is not None:
        page.entry("at speed", speed, label_style="strong")
    write_weighed(page, report.weighed)


def _write_points(page: Page, points: Iterable[OperatingPoint], *, lettered: bool) -> None:
    rows = list(zip(LETTERS, points, strict=False))
    if page.look.width < _NAME + sum(_WIDTHS):
        page.heading(f"What is asked of the motor, torque in {TORQUE}")
        for letter, point in rows:
            page.indented(f"{letter} {_in_words(point)}", 1)
        return
    page.heading(f"What is asked of the motor, torque in {TORQUE}")
    page.row((" " * _NAME + _cells(_HEADS), ""))
    for letter, point in rows:
        name = f"{letter} {point.title}"
        page.row((name.ljust(_NAME) + _cells(_figures(point)), ""))
    page.indented(
        "needs: to push and to speed up. usable: what may be planned with. skips: where steps are "
        "lost. left: of the torque at standstill."
        + (" Limits and peaks that pass are shown, but not counted." if lettered else ""),
        1,
    )


def _cells(texts: Iterable[str]) -> str:
    return "".join(text.rjust(width) for text, width in zip(texts, _WIDTHS, strict=True))


def _figures(point: OperatingPoint) -> tuple[str, ...]:
    return (
        figure(point.motor_speed.value, 2),
        figure(point.filament_speed.value, 3),
        figure(point.needed.value, 2),
        figure(point.usable.value, 2),
        figure(point.skip.value, 2),
        share(min(point.left.value, 1.0)),
    )


def _in_words(point: OperatingPoint) -> str:
    return (
        f"{point.title}: {figure(point.motor_speed.value, 2)} turns/s, needs "
        f"{band(point.needed, TORQUE)} of {band(point.usable, TORQUE)} usable; skips at "
        f"{quantity(point.skip.value, TORQUE, 2)}; {share(min(point.left.value, 1.0))} left"
    )


def _write_needs(page: Page, report: TorqueReport) -> None:
    if not report.needs:
        return
    first = report.needs[0]
    page.heading(
        f"What a motor must have for that, rated {quantity(first.rated_current, 'A')} per phase "
        f"and run at {quantity(first.working_current, 'A rms')}"
    )
    for need in report.needs:
        page.entry(quantity(need.voltage, "V"), need_words(need))
    page.indented(
        "For another rated current the inductance goes with one over its square.",
        1,
    )
    for sentence in report.remarks:
        page.indented(sentence, 1)


def need_words(need: MotorNeed) -> str:
    """Return what a motor must have at one voltage, in words."""
    if need.holding_torque is None or need.inductance is None:
        return f"none: {need.why_none}"
    return (
        f"holding torque {band(need.holding_torque, TORQUE)} or more; inductance "
        f"{band(need.inductance, 'mH')} or less"
    )


def _write_motors(page: Page, rows: Iterable[MotorRow]) -> None:
    by_motor: dict[str, list[MotorRow]] = {}
    for row in rows:
        by_motor.setdefault(row.motor, []).append(row)
    if not by_motor:
        return
    page.heading("Which motor classes serve, each at the current it bears")
    volts = [quantity(row.voltage, "V") for row in next(iter(by_motor.values()))]
    head = _motor_cells("", "g", "A RMS", "torque", *volts)
    if page.look.width < len(head):
        for motor, entries in by_motor.items():
            page.indented(f"{motor}: {'; '.join(map(_at_voltage, entries))}", 1)
        return
    page.row((head, ""))
    for motor, entries in by_motor.items():
        page.row((_motor_cells(motor, *_motor_figures(entries[-1]), *map(verdict, entries)), ""))
    page.indented(
        "torque: usable over needed, at the highest voltage. The share is that of likely machines "
        "in which it serves; of those that do not, what they lack.",
        1,
    )


def _motor_cells(name: str, *texts: str) -> str:
    widths = (5, 8, 8, *(13,) * (len(texts) - 3))
    return name.ljust(20) + "".join(t.rjust(w) for t, w in zip(texts, widths, strict=True))


def _motor_figures(row: MotorRow) -> tuple[str, ...]:
    numbers = (row.mass, row.working_current, row.margin)
    return tuple("?" if x is None else figure(x.value, 2) for x in numbers)


def _at_voltage(row: MotorRow) -> str:
    return f"{quantity(row.voltage, 'V')} {verdict(row)}"


def verdict(row: MotorRow) -> str:
    """Return whether a motor class serves at one voltage, and what it lacks where it does not."""
    if row.serves is None or row.margin is None:
        return "not known"
    if row.serves:
        return f"yes, {share(row.sure or 0.0)}"
    return "no: torque" if row.margin.value < 1.0 / _LEVEL else "no: speed"
