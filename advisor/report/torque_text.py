"""The answer of `torque` for people: is the torque enough, the picture, what motor would serve.

What is said in words is the same on the page. The picture draws torque against motor speed in
character cells, with the operating points as letters. Lines differ by their character, not by
colour, and everything drawn stands in the table below it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from advisor.answers import LEVEL, BandLine, MotorNeed, MotorRow, OperatingPoint, TorqueReport
from advisor.report.answer_notes import write_unused, write_uses, write_weighed
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, quantity, ranged, share, times
from advisor.report.page import Page, wrapped

__all__ = [
    "FEWEST_CELLS",
    "LETTERS",
    "TORQUE",
    "answer",
    "at_speed",
    "cell",
    "need_words",
    "render",
    "trusted",
    "verdict",
    "write_picture",
]

TORQUE = "mN m"
_LEAST, _MOST = 0.01, 99999.0  # that a column holds
_NO_FIGURE = 100.0  # times the usable torque: as good as none is left
LETTERS = "ABCDEFGH"
FEWEST_CELLS = 40  # columns below which nothing is drawn
_TICKS, _ROWS, _SCALE = 4, 12, 7  # numbers and lines beside the picture; columns of the numbers
_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # of the numbers, times a power of ten
_HEADROOM = 1.04
_NEAR = 1.5  # times the torque there is: a need beyond that is only pointed to
_DRAWN = {
    "usable": "\u2550",
    "skip": "\u2500",
    "needed": "\u00b7",
    "side": "\u2502",
    "foot": "\u2500",
}
_ASCII = {"usable": "=", "skip": "-", "needed": ".", "side": "|", "foot": "-"}
_Grid = list[list[str]]
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


def write_picture(page: Page, report: TorqueReport) -> bool:
    """Write the picture; return False, and write nothing, where there is no room for it."""
    cells = page.look.width - _SCALE - 2
    if not page.look.bars or cells < FEWEST_CELLS or report.usable is None or report.skip is None:
        return False
    marks = _DRAWN if page.look.drawn else _ASCII
    top = _top(report.skip, report.points)
    grid = [[" "] * cells for _ in range(_ROWS)]
    _draw_lines(grid, report, top, marks)
    above = _draw_points(grid, report.points, report.speeds[-1], top)
    page.heading("Torque in mN m against the motor's speed in turns per second")
    for i, row in enumerate(grid):
        tick = i % (_ROWS // _TICKS) == 0
        label = cell(top * (_ROWS - i) / _ROWS) if tick else ""
        page.row((f"{label:>{_SCALE - 1}} {marks['side']}" + "".join(row).rstrip(), ""))
    page.row((f"{'0':>{_SCALE - 1}} {marks['side']}" + marks["foot"] * cells, ""))
    page.row((" " * (_SCALE + 1) + _axis(report.speeds[-1], cells), ""))
    for line in wrapped("  ".join(_meanings(marks, above)), cells):
        page.row((" " * (_SCALE + 1) + line, ""))
    return True


def _top(skip: BandLine, points: Sequence[OperatingPoint]) -> float:
    """Return the top of the picture, a round number: above the torque and the needs near to it."""
    most = max(skip.value)
    needs = [p.needed.value for p in points if math.isfinite(p.needed.value)]
    near = [need for need in needs if need < _NEAR * most]
    least = max([most, *near]) * _HEADROOM
    if least < max(needs, default=1.0) / 1000.0:  # no torque to speak of
        least = max(needs, default=1.0) * _HEADROOM
    step = least / _TICKS
    power = 10.0 ** math.floor(math.log10(step))
    return _TICKS * power * next((x for x in _STEPS if x * power >= step), 10.0)


def _draw_lines(grid: _Grid, report: TorqueReport, top: float, marks: dict[str, str]) -> None:
    for name in ("needed", "skip", "usable"):
        line = getattr(report, name)
        if line is None:
            continue
        for column in range(len(grid[0])):
            speed = (column + 0.5) / len(grid[0]) * report.speeds[-1]
            _put(grid, column, _at(report.speeds, line.value, speed) / top, marks[name])


def _put(grid: _Grid, column: int, height: float, mark: str) -> None:
    row = len(grid) - 1 - int(min(height, 2.0) * len(grid))
    if 0 <= row < len(grid):
        grid[row][column] = mark


def _at(speeds: Sequence[float], values: Sequence[float], speed: float) -> float:
    """Return the value at a speed, between its neighbours; speeds are evenly spaced from 0."""
    place = speed / speeds[-1] * (len(speeds) - 1)
    i = min(int(place), len(speeds) - 2)
    below, above = values[i], values[i + 1]
    return below if above == below else below + (above - below) * (place - i)


def _draw_points(
    grid: _Grid, points: Sequence[OperatingPoint], fastest: float, top: float
) -> list[str]:
    """Write a letter at each point's need; return those that stand in the top line for more."""
    taken: set[tuple[int, int]] = set()
    above = []
    rows, cells = len(grid), len(grid[0])
    for letter, point in zip(LETTERS, points, strict=False):
        height = point.needed.value / top
        row = max(rows - 1 - int(min(height, 2.0) * rows), 0)
        column = min(int(point.motor_speed.value / fastest * cells), cells - 1)
        while (row, column) in taken and column < cells - 1:
            column += 1
        taken.add((row, column))
        grid[row][column] = letter
        if height > 1.0:
            above.append(letter)
    return above


def _axis(fastest: float, cells: int) -> str:
    middle, end = figure(fastest / 2), figure(fastest)
    line = "0".ljust(cells // 2 - len(middle) // 2) + middle
    return line.ljust(cells - len(end)) + end


def _meanings(marks: dict[str, str], above: Sequence[str]) -> Iterator[str]:
    yield f"{marks['usable']} usable,"
    yield f"{marks['skip']} steps are lost above,"
    yield f"{marks['needed']} needed for a steady feed,"
    yield "A, B, ... see below" + (";" if above else "")
    if above:
        stands = "stands" if len(above) == 1 else "stand"
        yield f"{' and '.join(above)} {stands} for far more than the picture holds"


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
