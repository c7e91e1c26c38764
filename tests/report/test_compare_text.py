"""Machines side by side for people: the answer first, pictures that say no more than words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from compare_answers import TARGET, VARIANTS, WEIGHED, compare_answer, spread
from test_golden import LOOKS

from advisor.base import Band
from advisor.report import compare_text
from advisor.report.compare_text import asked_words, listed, most_words
from advisor.report.look import Look


@pytest.mark.parametrize("look", [*LOOKS.values(), Look(40), Look(52, drawn=False)])
def test_no_line_is_wider_than_the_page(look: Look) -> None:
    """Pictures, tables and words."""
    for full in (False, True):
        for shown in compare_text.render(compare_answer(), look, full=full).splitlines():
            assert len(shown) <= look.width, shown


def test_ascii_only_where_asked() -> None:
    """ASCII marks that differ from each other."""
    shown = compare_text.render(compare_answer(), LOOKS["ascii"], full=True)
    assert shown.isascii()
    assert all(mark in shown for mark in "=-o|")


@pytest.mark.parametrize("look", [*LOOKS.values(), Look(40)])
def test_every_number_that_is_drawn_stands_in_words(look: Look) -> None:
    """Name, flow, range, what limits first, shares, asked and target; all of it with --full."""
    answer = compare_answer()
    shown = " ".join(compare_text.render(answer, replace(look, drawn=False), full=True).split())
    for row in VARIANTS:
        assert row.capacity is not None
        assert row.short in shown
        assert f"{row.capacity.low:.2g}-{row.capacity.high:.2g}" in shown
    for words in ("requested 18 mm3/s", "To reach 20.0 mm3/s", "still motor", "unsupported gap",
                  "70 %", "0.658 mm",
                  "one step less 19.996"):  # fmt: skip
        assert words in shown


def test_the_answer_comes_first_and_names_the_best_that_the_motor_bears() -> None:
    """With how sure it is; what owes more to too much current is named as that."""
    shown = compare_text.render(compare_answer(), LOOKS["80"])
    lines = [line for line in shown.splitlines() if line]
    assert lines[2].startswith("answer      2 (0.6mm, derated) delivers most at a current its")
    words = most_words(VARIANTS)
    assert words.startswith("2 (0.6mm, derated) delivers most at a current its motor is rated for")
    assert "100 % sure that it is more than 1" in words
    assert words.endswith("3 delivers more, but only by too much current")
    hot = tuple(replace(row, above_derated=True) for row in VARIANTS)
    assert most_words(hot).startswith("3 (0.6mm, 0.9A) delivers most: ")
    over = (replace(VARIANTS[0], above_derated=True, capacity=spread(30.0)), VARIANTS[1])
    assert "more than 1" not in most_words(over)
    assert most_words(over).endswith("; 1 delivers more, but only by too much current")
    assert most_words(hot).endswith("its current is above what its motor is rated for")


def test_level_machines_are_told_as_such() -> None:
    """The first stays where another is no better; the numbers of the others follow."""
    first, derated, _, _ = VARIANTS
    assert most_words((first,)) == ""
    assert most_words((replace(first, capacity=None), replace(derated, capacity=None))) == ""
    same = replace(derated, capacity=first.capacity)
    assert most_words((first, same)).startswith("nothing delivers more than 1: ")
    assert "; 2 as much" in most_words((first, same))


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ((0.97, 0.99), "all deliver it"),
        ((0.20, 0.99), "2 delivers it"),
        ((0.20, 0.74), "none delivers it for sure; 2 comes nearest, 74 % sure"),
        ((0.20, 0.40), "none is likely to deliver it; 2 comes nearest, 40 % sure"),
        ((0.40, 0.40), "none is likely to deliver it; 1 and 2 come nearest, 40 % sure"),
        ((0.0, 0.0), "none delivers it"),
        ((None, None), "it is not known what delivers it"),
    ],
)
def test_who_delivers_what_is_asked(shares: tuple[float | None, ...], words: str) -> None:
    """From 95 % on it is sure; below half it is not to be expected."""
    pairs = zip(VARIANTS, shares, strict=False)
    rows = tuple(replace(row, delivers_asked=part) for row, part in pairs)
    said = asked_words(compare_answer(variants=rows))
    assert said.startswith(f"18 mm3/s: {words}")


def test_nothing_is_said_of_an_ask_that_is_none() -> None:
    """No line, no column; the line of the picture is the target then."""
    shown = compare_text.render(compare_answer(asked=None), LOOKS["80"], full=True)
    assert "\nasks" not in shown
    assert "fits" not in shown
    assert shown.count("│ target") == 2


def test_a_test_that_contradicts_is_told_with_its_causes_and_measures_nothing() -> None:
    """Neither "measured" nor "narrower" is said then."""
    odd = replace(WEIGHED, contradiction="delivery fell at 1.4 mm3/s, but so", narrower=None,
                  causes=("a clog", "dust"))  # fmt: skip
    shown = compare_text.render(compare_answer(weighed=odd), LOOKS["80"])
    assert shown.startswith("weighed     roll.csv was not used, it contradicts the machine")
    assert (
        "seen        delivery fell at 1.4 mm\u00b3/s, but so\nmay be      a clog\nor          dust"
        in shown
    )
    assert "measured" not in shown
    assert "narrower" not in shown


def test_a_target_alone_has_its_own_picture_and_its_notes() -> None:
    """One machine: no comparison is written, but what to mind is."""
    one = replace(VARIANTS[0], notes=("the gear ratio is the config's; the sheet's would be 7.5",))
    shown = compare_text.render(compare_answer(variants=(one,), left_out=0, asked=None), full=True)
    assert "Against the first one" not in shown
    assert "the gear ratio is the config's" in shown
    assert re.search(r"^nozzle diameter 0.658 mm +20.0 ", shown, re.MULTILINE)
    assert "driven gears on the filament: no gain" in shown


def test_a_target_that_is_reached_or_unknown_needs_no_picture() -> None:
    """One line is enough."""
    for target in (replace(TARGET, reached=True, levers=()), replace(TARGET, capacity=None)):
        shown = compare_text.render(
            compare_answer(variants=VARIANTS[:1], left_out=0, target=target)
        )
        assert "answer" in shown
        assert "What each change delivers" not in shown


def test_a_capacity_that_is_not_known_is_no_number() -> None:
    """Its row stays, with words."""
    rows = (VARIANTS[0], replace(VARIANTS[1], capacity=None, bottleneck=None, skip=None))
    for look in (Look(80), Look(40)):
        assert "not known" in compare_text.render(compare_answer(variants=rows), look)


def test_lists_read_as_people_write_them() -> None:
    """One, two and more."""
    assert [listed(words) for words in (["1"], ["1", "2"], ["1", "2", "4"])] == [
        "1", "1 and 2", "1, 2 and 4",
    ]  # fmt: skip


def test_a_very_wide_band_does_not_flatten_the_others() -> None:
    """The scale ends at three times the largest nominal flow, and the strand goes on."""
    wide = replace(VARIANTS[1], capacity=Band(19.0, 2.0, 400.0))
    shown = compare_text.render(
        compare_answer(variants=(VARIANTS[0], wide)), LOOKS["80"], full=True
    )
    assert spread(15.6).high < 60
    assert re.search(r"─>$", shown, re.MULTILINE)


def test_colour_says_nothing_that_words_do_not() -> None:
    """Without the colour codes the page is the plain one; too much current is coloured."""
    coloured = compare_text.render(compare_answer(), Look(80, colours="256"))
    assert re.search(r"\x1b\[[0-9;]*m3 0.6mm, 0.9A", coloured)
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == compare_text.render(compare_answer())


def test_a_toss_up_names_none_as_the_first() -> None:
    """Where more is as likely as less, it says so, whichever stands first."""
    first, other = VARIANTS[0], replace(
        VARIANTS[0], number=2, name="other", short="other", better_share=0.48, worse_share=0.47
    )  # fmt: skip
    assert first.capacity is not None
    less = replace(other, capacity=replace(first.capacity, value=first.capacity.value * 0.97))
    more = replace(other, capacity=replace(first.capacity, value=first.capacity.value * 1.03))
    assert "; whether more comes of 2 (48 %) is a toss-up" in most_words((first, less))
    assert most_words((first, more)).startswith("2 (other) may deliver most: ")
    assert "whether it is more than 1 is a toss-up (48 %)" in most_words((first, more))
    sure = replace(more, better_share=0.7, worse_share=0.2)
    assert "toss-up" not in most_words((first, sure))
