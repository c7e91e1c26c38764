"""The answer of `derate` for people: what to set first, then what it does and what bounds it."""

from __future__ import annotations

from advisor.model import Band
from advisor.records import DerateReport
from advisor.report.look import Look
from advisor.report.numbers import band, figure, quantity
from advisor.report.page import Page

__all__ = ["render"]

AMPERE, DEGREE = "A rms", "degC"
_LIMIT_WORDS = {
    "share": "the share of the rating",
    "winding": "the winding's insulation",
    "mount": "the material of the motor mount",
    "filament": "the filament softening in the drive gears",
    "chip": "what the driver chip bears on a cooled board (datasheet)",
    "firmware": "the most the firmware takes for this chip",
    "range": "the most this driver can be set to",
}
_BASIS_WORDS = {
    "peak": "a peak value",
    "rms": "an RMS value",
    "unsure": "basis unsure, so read as a peak",
}


def render(report: DerateReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    _write_setting(page, report)
    _write_bounds(page, report)
    _write_heat(page, report)
    _write_readings(page, report)
    for heading, sentences in (("Assumed", report.assumptions), ("Mind", report.cautions)):
        if sentences:
            page.heading(heading)
        for sentence in sentences:
            page.indented(sentence, 1)
    return page.render()


def _write_setting(page: Page, report: DerateReport) -> None:
    if report.set_current is None:
        reason = report.no_setting or "no current is low enough"
        page.entry("set", f"nothing: {reason}", label_style="strong", style="error")
    else:
        peak = report.peak_amplitude
        also = f", which is a peak of {quantity(peak, 'A')} per phase" if peak is not None else ""
        text = f"{report.set_current:.2f} A RMS{also}"
        page.entry("set", text, label_style="strong", style="strong")
    if report.applied_current is not None and report.driver:
        text = f"applies {band(report.applied_current, AMPERE)} of it ({_driver(report)})"
        page.entry("driver", text)
    basis = _BASIS_WORDS.get(report.basis, report.basis)
    rms = band(report.rated_current_rms, AMPERE)
    page.entry("rating", f"{quantity(report.rating, 'A')} per phase, {basis}: {rms}")
    governed = _LIMIT_WORDS.get(report.governed_by, report.governed_by)
    page.entry("derated", f"{band(report.derated_current, AMPERE)}, bounded by {governed}")


def _driver(report: DerateReport) -> str:
    parts = [report.driver or ""]
    if report.sense_resistor is not None:
        parts.append(f"{quantity(report.sense_resistor, 'ohm')} sense resistor")
    if report.full_scale_current is not None:
        parts.append(f"at most {band(report.full_scale_current, AMPERE)}")
    return ", ".join(parts)


def _write_bounds(page: Page, report: DerateReport) -> None:
    page.heading("The current each limit allows")
    for name, limit in sorted(report.limits.items(), key=lambda item: item[1].value):
        lowest = "; the lowest" if name == report.governed_by else ""
        words = _LIMIT_WORDS.get(name, name)
        if name == "share":
            words = f"{figure(report.share)} of the rated RMS current"
        page.entry(name, f"{band(limit, AMPERE)}: {words}{lowest}")


def _write_heat(page: Page, report: DerateReport) -> None:
    if report.winding_temperature is None and report.case_temperature is None:
        return
    where = f", on a {report.mount} mount" if report.mount else ""
    page.heading(f"After a long run at that current{where}")
    rows: tuple[tuple[str, Band | None], ...] = (
        ("winding", report.winding_temperature),
        ("case", report.case_temperature),
        ("air", report.ambient),
    )
    for name, temperature in rows:
        if temperature is not None:
            page.entry(name, band(temperature, DEGREE))


def _write_readings(page: Page, report: DerateReport) -> None:
    """Say what the two readings of a bare number on a label differ by."""
    page.heading("The two readings of the rating")
    text = f"{band(report.cautious, AMPERE)}: a peak per phase, of which {figure(report.share)}"
    page.entry("cautious", text)
    text = f"{band(report.thermal, AMPERE)}: RMS with both phases on, the motor's own heat limit"
    if report.cautious.value > 0.0:
        text += f"; {figure(report.thermal.value / report.cautious.value, 2)} times as much"
    page.entry("thermal", text)
