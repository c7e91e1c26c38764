"""The answer of `derate` for people: what to set first, then what it does and what bounds it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from advisor.answers import DerateReport
from advisor.base import Band
from advisor.report.clean import cell_width
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, quantity, ranged
from advisor.report.page import Page
from advisor.report.words import material_words

__all__ = ["render", "render_several"]

AMPERE, DEGREE = "A rms", "degC"
_SLACK = 1e-9
_CAUTION = "The case burns skin: let it cool or measure it. Datasheets go first."
_MOST_NEXT = 3
_LIMIT_WORDS = {
    "winding": "winding",
    "mount": "motor mount",
    "chip": "driver chip",
    "firmware": "most the firmware takes",
    "range": "most the driver can be set to",
}
_FULL_WORDS = {
    "winding": "the winding's insulation",
    "chip": "the driver chip on a cooled board (datasheet)",
}
_BASIS_WORDS = {
    "peak": "a peak",
    "rms": "RMS",
    "unsure": "read as a peak as nothing says which",
}
_SHORT_BASIS = {"peak": "peak", "rms": "RMS", "unsure": "unsure"}


def render(report: DerateReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; the short one without `full`."""
    page = Page(look or Look(), written=True)
    _write_setting(page, report)
    if not full:
        _write_short(page, report)
        return page.render()
    _write_bounds(page, report)
    _write_heat(page, report)
    _write_filament(page, report)
    _write_readings(page, report)
    for heading, sentences in (("Assumed", report.assumptions), ("Caution", report.cautions)):
        if sentences:
            page.heading(heading)
        for sentence in sentences:
            page.indented(sentence, 1)
    page.blank()
    page.entry("", RANGE)
    return page.render()


def render_several(reports: Sequence[DerateReport], look: Look | None = None) -> str:
    """Return several answers as a table, one line a rating."""
    page = Page(look or Look(), written=True)
    rows: list[tuple[str, ...]] = [
        ("rating", "set", "limits first", "torque", "after 10 min", "after 1 h", "stop at")
    ]
    rows += [_row(report) for report in reports]
    widths = [max(cell_width(row[column]) for row in rows) for column in range(len(rows[0]))]
    if sum(widths) + 2 * len(widths) - 2 <= page.look.width:
        for number, row in enumerate(rows):
            line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            page.row((line.rstrip(), "heading" if number == 0 else ""))
    else:
        for row in rows[1:]:
            told = (
                f"{name} {cell}" for name, cell in zip(rows[0][1:], row[1:], strict=True) if cell
            )
            page.indented(f"{row[0]}: {', '.join(told)}", 0)
    page.blank()
    page.indented(
        "set: A RMS. torque: of that at the rated current. after 10 min, after 1 h: the case in "
        "degC. stop at: the reading after 10 min at which to stop. One rating alone tells more.",
        0,
    )
    page.indented(_CAUTION, 0)
    page.indented(RANGE, 0)
    return page.render()


def _row(report: DerateReport) -> tuple[str, ...]:
    rating = f"{quantity(report.rating, 'A')} {_SHORT_BASIS.get(report.basis, report.basis)}"
    if report.set_current is None:
        return (rating, "nothing", _limit_word(report, report.governed_by), "", "", "", "")
    return (
        rating,
        f"{report.set_current:.2f} A",
        _limit_word(report, report.governed_by),
        _percent(report.torque_share),
        _plain_band(report.case_soon),
        _plain_band(report.case_later),
        f"{report.stop_reading:.0f}" if report.stop_reading is not None else "",
    )


def _limit_word(report: DerateReport, name: str) -> str:
    """Return a limit in a word or two."""
    if name == "share":
        return f"{100.0 * report.share:.0f} % rule"
    return name


def _limit_words(report: DerateReport, name: str) -> str:
    """Return a limit as it is said where it is told on its own."""
    if name == "mount" and report.mount:
        return f"{_trade(report.mount)} mount"
    return _LIMIT_WORDS.get(name, _limit_word(report, name))


def _plain_band(value: Band | None) -> str:
    return "" if value is None else _degrees(value).replace(" degC", "")


def _degrees(value: Band) -> str:
    """Whole degrees: no case is known better."""
    low, typical, high = (f"{part:.0f}" for part in (value.low, value.value, value.high))
    return f"{typical} ({low}-{high}) degC" if low != high else f"{typical} degC"


def _trade(name: str) -> str:
    """A plastic as the trade writes it."""
    return name if name == "metal" else name.upper()


def _percent(share: float | None) -> str:
    return "" if share is None else f"{100.0 * share:.0f} %"


def _write_setting(page: Page, report: DerateReport) -> None:
    if report.set_current is None:
        reason = report.no_setting or "no current is low enough"
        page.entry("set", f"nothing: {reason}", label_style="strong", style="error")
    else:
        peak = report.peak_amplitude
        also = f" (a peak of {figure(peak)} A per phase)" if peak is not None else ""
        first = f"; {_limit_words(report, report.governed_by)} limits first"
        text = f"{report.set_current:.2f} A RMS{also}{first}"
        page.entry("set", text, label_style="strong", style="strong")
    if report.applied_current is not None and report.driver:
        page.entry(
            "driver", f"applies {ranged(report.applied_current, AMPERE)} ({_driver(report)})"
        )
    basis = _BASIS_WORDS.get(report.basis, report.basis)
    rms = ranged(report.rated_current_rms, AMPERE)
    page.entry("rating", f"{quantity(report.rating, 'A')} per phase, {basis}: {rms}")


def _driver(report: DerateReport) -> str:
    parts = [report.driver or ""]
    if report.sense_resistor is not None:
        parts.append(f"sense {quantity(report.sense_resistor, 'ohm')}")
    if report.full_scale_current is not None:
        parts.append(f"most {quantity(report.full_scale_current.value, AMPERE)}")
    return ", ".join(parts)


def _write_bounds(page: Page, report: DerateReport) -> None:
    page.heading("The current each limit allows")
    for name, limit in sorted(report.limits.items(), key=lambda item: item[1].value):
        lowest = ", limits first" if name == report.governed_by else ""
        words = _FULL_WORDS.get(name, _limit_words(report, name))
        if name == "share":
            words = f"{figure(report.share)} of the rated RMS current"
        page.entry(_limit_word(report, name), f"{_safe(limit)}: {words}{lowest}")


def _safe(limit: Band) -> str:
    """A limit in steps of 0.01 A, rounded down: what is set is never above what is printed."""
    return f"{math.floor(limit.value * 100.0 * (1.0 + _SLACK)) / 100.0:.2f} A RMS"


def _write_short(page: Page, report: DerateReport) -> None:
    if report.set_current is not None:
        _write_other_limits(page, report)
    _write_left(page, report)
    _write_warming(page, report)
    _write_filament(page, report)
    page.entry("assumed", _assumed(report))
    page.entry("caution", _CAUTION)
    if report.case_soon is not None:
        page.entry("", RANGE)


def _write_other_limits(page: Page, report: DerateReport) -> None:
    """The limits that would come next, as far as they are near."""
    others = [
        f"{_limit_word(report, name)} {_safe(limit)}"
        for name, limit in sorted(report.limits.items(), key=lambda item: item[1].value)
        if name != report.governed_by and limit.value < 2.0 * report.derated_current.value
    ]
    if others:
        page.entry("next limits", ", ".join(others[:_MOST_NEXT]))


def _write_left(page: Page, report: DerateReport) -> None:
    if report.torque_share is None:
        return
    text = f"{_percent(report.torque_share)} of that at rated current"
    if report.push_share is not None:
        text += f", push {_percent(report.push_share)}"
    if report.basis == "unsure" and report.applied_or_set is not None:
        text += f" ({_percent(report.applied_or_set / report.rating)} if the rating is RMS)"
    page.entry("torque", text)


def _write_warming(page: Page, report: DerateReport) -> None:
    if report.case_soon is None or report.case_later is None:
        return
    soon, later = _degrees(report.case_soon), _degrees(report.case_later)
    page.entry("case", f"{soon} after 10 min, {later} after an hour")
    if report.stop_reading is not None:
        part = f"{_trade(report.mount)} mount" if report.mount else "winding"
        page.entry(
            "stop",
            f"if a taped probe reads above {report.stop_reading:.0f} degC after 10 min: the {part} "
            "gets too hot within the hour. Infrared on bare metal reads low.",
        )


def _write_filament(page: Page, report: DerateReport) -> None:
    gear, limit, most = report.gear_temperature, report.filament_limit, report.filament_current
    if gear is None or limit is None or most is None:
        return
    name = material_words(report.material or "")
    text = f"drive gear {_degrees(gear)} after a long run; "
    text += f"{name} softens from {quantity(limit.value, DEGREE)}"
    if gear.value > limit.value:
        text += ": cool the motor, insulate the gear, open the chamber, or print another filament"
    page.entry("filament", text, style="warning" if gear.value > limit.value else "")


def _assumed(report: DerateReport) -> str:
    mount = "" if report.mount else ", mount not stated: it sets no limit"
    return f"ambient {_degrees(report.ambient)}, motor {report.motor}{mount}; --full has all"


def _write_heat(page: Page, report: DerateReport) -> None:
    if report.winding_temperature is None and report.case_temperature is None:
        return
    where = f", on the {_trade(report.mount)} mount" if report.mount else ""
    page.heading(f"At that current{where}")
    rows: tuple[tuple[str, Band | None, str], ...] = (
        ("winding", report.winding_temperature, ""),
        ("case", report.case_temperature, "after a long run"),
        ("ambient", report.ambient, "at the motor"),
    )
    _write_left(page, report)
    _write_warming(page, report)
    for name, temperature, words in rows:
        if temperature is not None:
            page.entry(name, f"{_degrees(temperature)} {words}".strip())
    if report.time_constant is not None:
        minutes = report.time_constant
        text = (
            f"{minutes.value / 60.0:.0f} ({minutes.low / 60.0:.0f}-{minutes.high / 60.0:.0f}) min"
        )
        page.entry("warms in", f"{text}: time constant, 63 % of the way")


def _write_readings(page: Page, report: DerateReport) -> None:
    """Say what the two readings of a bare number on a label differ by."""
    page.heading("The two ways to read the rating")
    text = f"{ranged(report.cautious, AMPERE)}, {_percent(report.share)} of its RMS value"
    page.entry("if a peak", text)
    text = f"{ranged(report.thermal, AMPERE)} with both phases on, the motor's own heat limit"
    if report.cautious.value > 0.0:
        text += f"; {figure(report.thermal.value / report.cautious.value, 2)} times as much"
    page.entry("if RMS", text)
