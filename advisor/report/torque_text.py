"""The answer of `torque` for people: is the torque enough, the picture, what motor would serve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.answers import MotorRow, OperatingPoint, TorqueReport
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.torque_picture import LETTERS, write_picture
from advisor.report.torque_words import TORQUE, answer, at_speed, cell, need_words, trusted, verdict
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_uses, write_weighed

__all__ = ["answer", "at_speed", "need_words", "render", "verdict"]

_CAUTIONS = 2  # that are told without --full
_NAME = 30  # columns of a point's letter and name
_HEADS = ("turns/s", "mm/s", "needs", "usable", "skips", "left", "sure")
_WIDTHS = (8, 7, 7, 8, 7, 7, 6)
_MOTOR_WIDTHS = (5, 7, 7)  # mass, current, torque; then one for each voltage
_MOTOR_NAME, _VERDICT = 25, 12
_REWOUND = (
    "Wound for twice the rated current a motor has a quarter of the inductance and half the turns, "
    "and the limit falls to no less than half: that is how a motor is made for higher speeds. The "
    "driver must be rated for that current."
)


def render(report: TorqueReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; curve, needs of a motor and limits of the extruder with `full`."""
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    for sentence in report.lacking:
        page.entry("lacking", sentence)
    if report.speeds:
        _write_answer(page, report, full=full)
        if full:
            write_picture(page, report)
    if report.points:
        _write_points(page, report.points, full=full)
    if full:
        _write_needs(page, report)
    _write_motors(page, report.motors, full=full)
    if full and report.assumed:
        page.heading("Assumed, because nothing states it")
        page.entry("", ", ".join(report.assumed) + ".")
    if report.speeds:
        page.heading("Caution")
        for sentence in report.cautions if full else report.cautions[:_CAUTIONS]:
            page.indented(sentence, 1)
        page.indented(RANGE if full else "--full: the curve, what a motor must have.", 1)
    return page.render()


def _write_answer(page: Page, report: TorqueReport, *, full: bool) -> None:
    words, enough = answer(report)
    page.entry("answer", words, label_style="strong", style="strong" if enough else "error")
    speed = at_speed(report)
    if speed is not None and (full or not trusted(report)):
        page.entry("at speed", speed, label_style="strong")
    write_weighed(page, report.weighed, full=full)


def _write_points(page: Page, points: Iterable[OperatingPoint], *, full: bool) -> None:
    rows = list(zip(LETTERS, points, strict=False))
    counted = [(letter, point) for letter, point in rows if point.asked]
    rows = rows if full or not counted else counted
    page.heading(f"What the motor must do, torque in {TORQUE}")
    if page.look.width < _NAME + sum(_WIDTHS):
        for letter, point in rows:
            page.indented(f"{letter} {_in_words(point)}" if full else _in_words(point), 1)
    else:
        page.row((" " * _NAME + _cells(_HEADS), ""))
        for letter, point in rows:
            name = f"{letter} {point.title}" if full else point.title
            page.row((name.ljust(_NAME) + _cells(_figures(point)), ""))
        page.indented(
            "needs: to push and to speed up. usable: what may be planned with. skips: the motor "
            "skips above that. left: of the torque at standstill. sure: that the usable torque is "
            "enough.",
            1,
        )
    spared = [letter for letter, point in rows if not point.asked]
    if spared:
        words = " and ".join((", ".join(spared[:-1]), spared[-1])) if spared[1:] else spared[0]
        page.indented(f"Not counted, as no ask, a mere limit or a passing peak: {words}.", 1)


def _cells(texts: Iterable[str]) -> str:
    return "".join(text.rjust(width) for text, width in zip(texts, _WIDTHS, strict=True))


def _figures(point: OperatingPoint) -> tuple[str, ...]:
    return (
        cell(point.motor_speed.value),
        cell(point.filament_speed.value, 3),
        cell(point.needed.value),
        cell(point.usable.value),
        cell(point.skip.value),
        share(min(point.left.value, 1.0)),
        share(1.0 - point.too_much),
    )


def _in_words(point: OperatingPoint) -> str:
    return (
        f"{point.title}: {figure(point.motor_speed.value, 2)} turns/s, "
        f"{figure(point.filament_speed.value)} mm/s, needs "
        f"{ranged(point.needed, TORQUE)} of {ranged(point.usable, TORQUE)} usable; skips at "
        f"{quantity(point.skip.value, TORQUE, 2)}; {share(min(point.left.value, 1.0))} left; "
        f"{share(1.0 - point.too_much)} sure that it is enough"
    )


def _write_needs(page: Page, report: TorqueReport) -> None:
    if not report.needs:
        return
    first = report.needs[0]
    page.heading(
        f"What a motor must have for that, rated {quantity(first.rated_current, 'A')} per phase, "
        f"{quantity(first.resistance, 'ohm')}, run at {quantity(first.working_current, 'A rms')}"
    )
    for need in report.needs:
        page.entry(quantity(need.voltage, "V"), need_words(need))
    if any(need.holding_torque is not None for need in report.needs):
        titles = {point.name: point.title for point in report.points}
        page.indented(
            f"The {titles.get(first.governed_by or '', 'feed')} decides on the torque, the "
            f"{titles.get(first.fastest or '', 'feed')} on the inductance.",
            1,
        )
        page.indented(_REWOUND, 1)
    for sentence in report.remarks:
        page.indented(sentence, 1)


def _write_motors(page: Page, rows: Sequence[MotorRow], *, full: bool) -> None:
    by_motor: dict[str, list[MotorRow]] = {}
    for row in rows:
        by_motor.setdefault(row.motor, []).append(row)
    if not by_motor:
        return
    page.heading("Which motor would do, each at the current it is rated for")
    volts = [quantity(row.voltage, "V") for row in next(iter(by_motor.values()))]
    head = _motor_cells("", "g", "A RMS", "torque", *volts)
    if page.look.width < len(head):
        for entries in by_motor.values():
            page.indented(f"{_motor(entries[0])}: {'; '.join(map(_at_voltage, entries))}", 1)
    else:
        page.row((head, ""))
        for entries in by_motor.values():
            cells = (*_motor_figures(entries[-1]), *map(verdict, entries))
            page.row((_motor_cells(_motor(entries[0]), *cells), ""))
        page.indented(
            "torque: usable over needed, at the highest voltage. yes: how sure. no: what it is too "
            "weak in.",
            1,
        )
    for motor, why in {(row.motor, row.why_none): None for row in rows if row.why_none}:
        page.indented(f"{motor}: {why}.", 1)


def _motor(row: MotorRow) -> str:
    return f"{row.motor} (now)" if row.present else row.motor


def _motor_cells(name: str, *texts: str) -> str:
    widths = (*_MOTOR_WIDTHS, *(_VERDICT,) * (len(texts) - len(_MOTOR_WIDTHS)))
    return name.ljust(_MOTOR_NAME) + "".join(
        text.rjust(width) for text, width in zip(texts, widths, strict=True)
    )


def _motor_figures(row: MotorRow) -> tuple[str, ...]:
    numbers = (row.mass, row.working_current, row.margin)
    return tuple("?" if x is None else cell(x.value) for x in numbers)


def _at_voltage(row: MotorRow) -> str:
    return f"{quantity(row.voltage, 'V')} {verdict(row)}"
