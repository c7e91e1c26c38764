"""Torque against speed for people: the answer first, a picture that says no more than its words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from test_golden import LOOKS
from torque_answers import CORNER, NEEDS, POINTS, exact, point, row, torque_answer

from advisor.answers.curve_records import TorqueReport
from advisor.base import Band
from advisor.report import torque_text
from advisor.report.look import Look
from advisor.report.torque_text import answer, at_speed, need_words, verdict


@pytest.mark.parametrize("look", [*LOOKS.values(), Look(40), Look(52, drawn=False)])
def test_no_line_is_wider_than_the_page(look: Look) -> None:
    """Picture, tables and words."""
    for shown in [
        *torque_text.render(torque_answer(), look).splitlines(),
        *torque_text.render(torque_answer(), look, full=True).splitlines(),
    ]:
        assert len(shown) <= look.width, shown


def test_ascii_only_where_asked() -> None:
    """ASCII marks that differ from each other."""
    shown = torque_text.render(torque_answer(), LOOKS["ascii"], full=True)
    assert shown.isascii()
    assert all(mark in shown for mark in "=-.|")


def words_of(shown: str) -> str:
    """The text without the picture, in one line."""
    drawn = re.compile(r"Torque in mN.m against.*?(?=What the motor must do)", re.DOTALL)
    return " ".join(drawn.sub("", shown).split())


@pytest.mark.parametrize("look", LOOKS)
def test_what_is_drawn_stands_in_words_too(look: str) -> None:
    """Title, speed, need, usable and skip torque of each point, with and without a picture."""
    shown = words_of(torque_text.render(torque_answer(), LOOKS[look], full=True))
    for letter, one in zip("ABCDEF", POINTS, strict=True):
        assert f"{letter} {one.title}" in shown
    for number in ("44", "53", "80", "180", "27", "22"):  # needs, usable, skips, turns/s
        assert re.search(rf"\b{number}\b", shown)


def test_without_bars_nothing_is_drawn() -> None:
    """A dumb terminal gets the whole answer in words."""
    shown = torque_text.render(torque_answer(), LOOKS["words"], full=True)
    assert "against the motor's speed in turns" not in shown
    assert not re.search("[\u2550\u2500\u2502|]|==|--", shown)
    assert words_of(shown) == words_of(torque_text.render(torque_answer(), LOOKS["80"], full=True))


def picture(report: TorqueReport, width: int = 80) -> list[str]:
    """The rows of the picture, right of its scale."""
    lines = torque_text.render(report, Look(width, drawn=False), full=True).splitlines()
    return [line[8:].ljust(width - 9) for line in lines if line[7:8] == "|"][:-1]


def test_letters_stand_where_their_numbers_say() -> None:
    """12 rows for 100 mN m, 71 columns for 40 turns/s; a need off the top stands in the top row."""
    rows = picture(torque_answer())
    at = {c: (i, r.index(c)) for i, r in enumerate(rows) for c in "ABCDEF" if c in r}
    assert len(rows) == 12
    for letter, one in zip("ABCDEF", POINTS, strict=True):
        row_at, column = at[letter]
        assert row_at == max(11 - int(one.needed.value / 100 * 12), 0)
        assert column == pytest.approx(one.motor_speed.value / 40 * 71, abs=1.0)


def test_the_usable_line_falls_past_the_corner_speed() -> None:
    """Flat to 16 of 40 turns/s, then only down."""
    rows = picture(torque_answer(points=POINTS[:1]))
    heights = [
        max((12 - i for i, r in enumerate(rows) if r[c] == "="), default=0) for c in range(71)
    ]
    corner = int(CORNER / 40 * 71)
    assert len(set(heights[:corner])) == 1
    falling = heights[corner:]
    assert falling == sorted(falling, reverse=True)
    assert falling[-1] < falling[0] / 2


def test_a_need_off_the_picture_is_told() -> None:
    """The legend names its letter; without one it does not."""
    shown = " ".join(torque_text.render(torque_answer(), Look(80), full=True).split())
    assert "C stands for far more than the picture holds" in shown
    shown = torque_text.render(torque_answer(points=POINTS[:2]), Look(80), full=True)
    assert "more than the picture holds" not in shown


@pytest.mark.parametrize(
    ("needed", "words", "enough"),
    [
        (44.0, "; the feed at the requested flow takes the most of it, 82 %", True),
        (44.0, "the torque is enough for all that is asked", True),
        (53.7, "is enough", True),  # level within a hundredth
        (60.0, "the margin is used up in the feed at the requested flow: it needs 60 mN m", False),
        (60.0, "1.1 times the usable 53 mN m (40 % sure)", False),
        (90.0, "the motor skips in the feed at the requested flow", False),
    ],
)  # fmt: skip
def test_the_first_line_answers(needed: float, words: str, enough: bool) -> None:
    """Within the usable torque; between usable and skip; above skip."""
    points = (POINTS[0], point("asked", "feed at the requested flow", 1.6, needed, too_much=0.4))
    said, fits = answer(torque_answer(points=points))
    assert words in said
    assert fits is enough
    shown = " ".join(
        torque_text.render(torque_answer(points=points), Look(80, drawn=False)).split()
    )
    assert shown.startswith(f"answer {said}")


def test_the_first_line_doubts_speeds_that_the_model_is_not_believed_at() -> None:
    """By torque the retract fits, but it runs at 1.4 times the corner speed."""
    said, fits = answer(torque_answer())
    assert fits
    assert said.endswith("but do not rely on it at the speed of the firmware retract")
    alone = answer(torque_answer(points=(POINTS[0], POINTS[4])))[0]
    assert alone.endswith("the firmware retract takes the most of it, 70 %; but do not "
                          "rely on it at that speed")  # fmt: skip
    slow = tuple(x for x in POINTS if x.name != "retract")
    assert "do not rely" not in answer(torque_answer(points=slow))[0]


def test_where_nothing_is_asked_it_does_not_speak_of_an_ask() -> None:
    """The capacity stands in for it."""
    points = (replace(POINTS[0], asked=True), POINTS[-1])
    said, fits = answer(torque_answer(points=points))
    assert fits
    assert said.startswith("the torque is enough for the capacity; the feed at the capacity")
    assert answer(torque_answer(points=POINTS[-1:])) == ("nothing is asked of the motor", True)


def test_no_torque_at_all_gives_no_silly_figure() -> None:
    """A share of nothing is no number."""
    dead = replace(POINTS[1], usable=Band(0.0, 0.0, 9.0), skip=Band(0.0, 0.0, 14.0))
    said, fits = answer(torque_answer(points=(dead,)))
    assert not fits
    assert "and the usable torque is 0 mN m" in said


def test_at_speed_says_what_is_left_and_how_far_it_is_trusted() -> None:
    """16 turns/s of 4.5 mm: 72 mm/s; 0.6 of it 9.6 turns/s and 43 mm/s."""
    said = at_speed(torque_answer())
    assert said is not None
    assert said.startswith("73 % of the standstill torque is left in the firmware retract, "
                           "at 22 turns/s (99 mm/s of filament)")  # fmt: skip
    assert "corner speed, 16 turns/s (72 mm/s)" in said
    assert "can be trusted up to 9.6 turns/s (43 mm/s). At" in said
    assert "1.4 times the corner speed" in said
    slow = at_speed(torque_answer(points=POINTS[:2]))
    assert slow is not None
    assert "The figure can be trusted up to" in slow
    assert at_speed(torque_answer(corner_speed=None)) is None


def test_a_speed_between_trusted_and_limit_speaks_of_resonance() -> None:
    """0.6 to 0.9 of the corner speed."""
    fast = point("retract", "firmware retract", 12.0, 27.0)
    said = at_speed(torque_answer(points=(fast,)))
    assert said is not None
    assert said.endswith("At 0.75 times the corner speed resonance can cost steps")


def test_needs_and_verdicts_in_words() -> None:
    """What is lacking is named, torque before speed; what is not known is not guessed."""
    assert need_words(NEEDS[0]).startswith("none: the supply cannot drive")
    assert need_words(NEEDS[1]) == (
        "holding torque 140 (92-220) mN m or more; inductance 1.8 (0-2.1) mH or less"
    )
    assert verdict(row("x", 12.0, margin=Band(0.8, 0.6, 1.0))) == "no: torque"
    assert verdict(row("x", 12.0)) == "no: speed"
    assert verdict(row("x", 12.0, serves=True, sure=0.999)) == "yes, 99 %"
    assert verdict(row("x", 12.0, serves=None, margin=None)) == "not known"


@pytest.mark.parametrize("width", [60, 80])
def test_a_class_of_which_nothing_is_known_says_why(width: int) -> None:
    """Once, below the table."""
    shown = " ".join(torque_text.render(torque_answer(), Look(width)).split())
    assert shown.count("square-42-long: it bears no current here.") == 1


def test_absurd_numbers_keep_the_columns_apart() -> None:
    """Tiny is told as tiny and huge as huge, with a blank between."""
    odd = replace(POINTS[1], motor_speed=exact(2e-9), filament_speed=exact(3e11),
                  needed=exact(1.2e30), usable=exact(8.4e-6), skip=exact(1.2e-5))  # fmt: skip
    shown = torque_text.render(torque_answer(points=(odd,)), Look(80), full=True)
    (line,) = (x for x in shown.splitlines() if x.startswith("A feed at the requested flow"))
    assert line.split()[-8:-4] == [">99999", ">99999", "<0.01", "<0.01"]
    assert "  <0.01 >99999 >99999" in line
    assert max(map(len, shown.splitlines())) <= 80


def test_nothing_known_says_what_is_lacking() -> None:
    """No answer, no picture, no table."""
    bare = TorqueReport(extruder="extruder", lacking=("It needs the gears.",))
    assert torque_text.render(bare) == "lacking     It needs the gears.\n"
