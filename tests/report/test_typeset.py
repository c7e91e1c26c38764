"""Units as people write them: one switch, and nothing else of a text changes."""

from __future__ import annotations

from every import every

from advisor.base import Band
from advisor.base.units import parse_unit
from advisor.report.look import Look, typeset
from advisor.report.numbers import ranged
from advisor.report.page import Page
from advisor.report.words import material_words


@every(
    ("text", "written", "plain"),
    [
        ("9.7 (6.1-14) mm3/s", "9.7 (6.1-14) mm\u00b3/s", "9.7 (6.1-14) mm3/s"),
        ("1500 mm/s2, 30 mm3", "1500 mm/s\u00b2, 30 mm\u00b3", "1500 mm/s2, 30 mm3"),
        ("40 (30-50) degC.", "40 (30-50) \u00b0C.", "40 (30-50) C."),
        ("300 mN m; 0.3 N m", "300 mN\u00b7m; 0.3 N\u00b7m", "300 mN m; 0.3 N m"),
        ("0.5 A rms", "0.5 A RMS", "0.5 A RMS"),
        ("flow (mm3/s)", "flow (mm\u00b3/s)", "flow (mm3/s)"),
        ("give --asked 20mm3/s", "give --asked 20mm3/s", "give --asked 20mm3/s"),
        ("a/mm3/s.cfg x_mm2 mm30", "a/mm3/s.cfg x_mm2 mm30", "a/mm3/s.cfg x_mm2 mm30"),
        ("9 mm\u00b3/s at 5 \u00b0C", "9 mm\u00b3/s at 5 \u00b0C", "9 mm3/s at 5 C"),
    ],
)
def test_only_units_change(text: str, written: str, plain: str) -> None:
    """What is to be typed, and names that only look like a unit, stay as they are."""
    assert typeset(text) == written
    assert typeset(text, drawn=False) == plain
    assert typeset(written) == written


@every("unit", ["mm\u00b3/s", "mm/s\u00b2", "\u00b0C", "mN\u00b7m", "N\u00b7m", "g/cm\u00b3"])
def test_what_is_shown_can_be_typed(unit: str) -> None:
    """A user copies what stands there: the reader of values takes it as the ASCII unit."""
    assert parse_unit(unit).dimension == parse_unit(typeset(f" {unit}", drawn=False)).dimension


def test_a_page_writes_units_only_where_it_is_told_to() -> None:
    """The same words on three pages."""
    shown = []
    for page in (Page(Look(80)), Page(Look(80), written=True),
                 Page(Look(80, drawn=False), written=True)):  # fmt: skip
        page.entry("melt", "9 mm3/s at 220 degC")
        shown.append(page.render().split(maxsplit=1)[1].strip())
    assert shown == ["9 mm3/s at 220 degC", "9 mm\u00b3/s at 220 \u00b0C", "9 mm3/s at 220 C"]


def test_ranges_of_every_kind() -> None:
    """With spread, without, below zero, without an upper end."""
    assert ranged(Band(8.52, 4.71, 12.3), "mm3/s") == "8.5 (4.7-12) mm3/s"
    assert ranged(Band(0.4, 0.4, 0.4), "A rms") == "0.4 A RMS"
    assert ranged(Band(5.0, -3.0, 9.0), "%") == "5 (-3 to 9) %"
    assert ranged(Band(76.0, 51.0, float("inf")), "mm3/s") == "76.0 (51 and up) mm3/s"


def test_materials_are_called_as_the_trade_calls_them() -> None:
    """From the catalogue; what it does not hold stays as it was written."""
    assert [material_words(x) for x in ("pla", "petg", "tpu-95a", "pc", "pla-x")] == [
        "PLA", "PETG", "TPU 95A", "PC", "pla-x"]  # fmt: skip
