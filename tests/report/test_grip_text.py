"""The grip for people: the answer first, bars that say no more than their words."""

from __future__ import annotations

import re

import pytest
from every import every
from grip_answers import MATERIALS, SIZES, exact, grip_answer, spread
from test_golden import LOOKS

from advisor.answers.curve_records import GripReport
from advisor.base import Band
from advisor.report import grip_text
from advisor.report.grip_text import CLOSE, GRINDS, HOLDS, answer, likely, own_row, verdict
from advisor.report.html.grip import grip_section
from advisor.report.html.layout import Place
from advisor.report.look import Look
from advisor.report.words import material_words


@every("look", [*LOOKS.values(), Look(40), Look(52, drawn=False)])
@every("times", [1.0, 3.7, 1e3, 1e9])
def test_no_line_is_wider_than_the_page_and_columns_stay_apart(look: Look, times: float) -> None:
    """Bars, tables and words; a share far off the scale too."""
    shown = grip_text.render(grip_answer(own={"share": spread(0.8 * times)}), look, full=True)
    for line in shown.splitlines():
        assert len(line) <= look.width, line
        assert not re.search(rf"\d\+?({GRINDS}|{CLOSE}|{HOLDS})|({GRINDS}|{CLOSE})\d", line), line


def test_ascii_only_where_asked() -> None:
    """ASCII marks that differ from each other."""
    shown = grip_text.render(grip_answer(), LOOKS["ascii"], full=True)
    assert shown.isascii()
    assert all(mark in shown for mark in "=-o|")


def test_without_bars_nothing_is_drawn_and_nothing_is_lost() -> None:
    """Every material with its share, its band and its verdict, in all gears."""
    shown = " ".join(grip_text.render(grip_answer(), LOOKS["words"], full=True).split())
    assert not re.search("[\u2550\u2500\u2502|]|==|--(?!vary|full)", shown)
    assert "TPU 95A: 80 (48-110) %, close" in shown
    assert "TPU 85A: 200 (120-280) %, grinds" in shown
    assert "PLA: 12 (7.3-17) %, holds" in shown
    narrow = " ".join(grip_text.render(grip_answer(), Look(40), full=True).split())
    assert "TPU 95A: 2 x 8 mm 80 % close; 1 x 11 mm 130 % grinds; 2 x 15 mm 57 % close" in narrow


def test_the_table_has_each_material_in_each_size_small_gears_first() -> None:
    """8, 11, 15 mm; the machine's own column is named."""
    lines = grip_text.render(grip_answer(), Look(80), full=True).splitlines()
    at = lines.index("Share of the grip in use, by filament and gears, at the same flow")
    heads, names, *table = lines[at + 1 : at + 3 + len(MATERIALS)]
    assert heads.split("  ")[-1].strip() == "2 x 15 mm"
    assert re.findall(r"\d x \d+ mm", heads) == ["2 x 8 mm", "1 x 11 mm", "2 x 15 mm"]
    assert re.findall(r"this machine|single|twin-large", names) == [
        "this machine", "single", "twin-large",
    ]  # fmt: skip
    for line, (material, (_, grip, times)) in zip(table, MATERIALS.items(), strict=True):
        shares = [10.0 * times / (grip * scale) for _, _, scale in SIZES.values()]
        told = [float(x) / 100 for x in re.findall(r"(\d[\d.]*) %", line)]
        assert line.startswith(material_words(material))
        assert told == pytest.approx(shares, rel=0.05)


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.3, HOLDS), (0.5, HOLDS), (0.5049, HOLDS), (0.506, CLOSE), (0.99, CLOSE), (1.0, GRINDS),
     (7.0, GRINDS)],
)  # fmt: skip
def test_verdicts(share: float, words: str) -> None:
    """Level with the usable half within a hundredth is held; all of it is lost."""
    report = grip_answer(own={"share": exact(share)})
    assert verdict(own_row(report), 0.5) == words
    assert answer(report)[1] is (words == HOLDS)


def test_a_machine_that_feeds_nothing_is_not_said_to_feed() -> None:
    """A capacity of 0: the drag alone is looked at, and it is no good news."""
    report = grip_answer(own={"share": exact(0.1)}, flow=Band(0.0, 0.0, 3.0))
    words, holds = answer(report)
    assert not holds
    assert words.startswith("nothing is fed as it is (the capacity is 0 mm3/s): the drag of the "
                            "filament path alone uses 10 % of the grip on TPU 95A;")  # fmt: skip


def test_how_likely_is_told_and_never_rounded_to_all_or_none() -> None:
    """Half, hardly any, none."""

    def told(marks: float, grinds: float) -> str:
        return likely(own_row(grip_answer(own={"marks": marks, "grinds": grinds})))

    assert told(0.5, 0.25) == "50 % sure that it holds, 75 % sure that it is not ground"
    assert told(0.999, 0.001) == "1 % sure that it holds, 99 % sure that it is not ground"
    assert told(0.2, 0.0).endswith("100 % sure that it is not ground")
    assert told(0.0, 0.0) == "100 % sure that it holds"


def test_only_what_can_be_saved_by_feeding_slower_is_told_to_be() -> None:
    """tpu-85a is lost by the drag alone; pla holds anyway."""
    shown = " ".join(grip_text.render(grip_answer(), Look(80), full=True).split())
    assert "under-extrusion starts at (mm\u00b3/s): TPU 95A 6, PA66 1.2." in shown
    assert "does not save these, the drag alone is too much: TPU 85A." in shown


def test_a_filament_that_melts_slowly_is_told_apart_from_a_soft_one() -> None:
    """pa66 stands badly by 4.8 times the push, far more; a tenth more is nothing to speak of."""
    shown = " ".join(grip_text.render(grip_answer(), Look(80), full=True).split())
    assert "slower than TPU 95A, so they need more push at this flow: PA66 far more." in shown


def test_remarks_are_told() -> None:
    """Of a pull test."""
    said = grip_text.render(grip_answer(remarks=("The pull counts there alone.",)), Look(80))
    assert "The pull counts there alone." in said


def test_nothing_known_says_what_is_lacking() -> None:
    """No answer, no bars, no table."""
    bare = GripReport(extruder="extruder", lacking=("It needs the gears.",))
    assert grip_text.render(bare) == "lacking     It needs the gears.\n"


def test_the_page_tells_the_remarks_too() -> None:
    """As text, not as markup."""
    place = Place(prefix="", level=2)
    shown = grip_section(
        place, grip_answer(remarks=("The pull <b>counts</b> there alone.",))
    ).markup
    assert "<p>The pull &lt;b&gt;counts&lt;/b&gt; there alone.</p>" in shown
    assert "counts" not in grip_section(place, grip_answer()).markup
