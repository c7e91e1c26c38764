"""Moves of filament alone in the macros of a config."""

from __future__ import annotations

import pytest

from advisor.config import read_tree_from_bytes
from advisor.inputs.macros import Macros, read_macros


def _read(body: str, section: str = "gcode_macro PURGE") -> Macros:
    lines = "\n".join(f"    {line}" for line in body.splitlines())
    text = f"[{section}]\ngcode:\n{lines}\n"
    return read_macros(read_tree_from_bytes(text.encode(), "printer.cfg"))


def test_a_relative_push_has_speed_length_and_place() -> None:
    """F is mm per minute (common practice of G-code); the place is the macro's own line."""
    (move,) = _read("M83\nG1 E30 F600 ; 10 mm/s").moves
    assert (move.speed, move.length) == pytest.approx((0.010, 0.030))
    assert (move.macro, move.at.line) == ("PURGE", 4)


def test_the_speed_holds_until_the_next(  # modal, as in RS-274 (from memory)
) -> None:
    """A move without F runs at the last one; F alone sets it too."""
    moves = _read("M83\nG1 F1200\nG1 E5\nG1 E-1 F2400").moves
    assert [move.speed for move in moves] == pytest.approx([0.020, 0.040])
    assert [move.length for move in moves] == pytest.approx([0.005, -0.001])


def test_absolute_moves_are_differences() -> None:
    """After M82 and G92 E0 the second move is the rest."""
    moves = _read("M82\nG92 E0\nG1 E10 F300\nG1 E25").moves
    assert [move.length for move in moves] == pytest.approx([0.010, 0.015])


def test_an_unknown_way_of_counting_gives_no_length() -> None:
    """Whether the macro runs in absolute or relative mode is not known without M82 or M83."""
    (move,) = _read("G1 E10 F300").moves
    assert move.length is None
    assert move.speed == pytest.approx(0.005)


def test_a_move_with_the_head_is_none_of_filament_alone() -> None:
    """X or Y beside E is a line, not a purge."""
    assert _read("M83\nG1 X10 E5 F3000\nG0 Z5").moves == ()


def test_a_lift_with_filament_is_one_of_filament_alone_at_an_unknown_speed() -> None:
    """Only a way in x or y makes a line for the firmware (from memory of its source)."""
    read = _read("M83\nG1 Z5 E28 F300\nG1 E10 F300")
    assert [(move.length, move.speed) for move in read.moves] == [
        (pytest.approx(0.028), None),
        (pytest.approx(0.010), pytest.approx(0.005)),
    ]
    assert read.lines == ()


@pytest.mark.parametrize(
    "line", ["G1 E{params.LEN} F300", "G1 E{% if x %}5{% endif %} F300", "G1 E${LEN}"]
)
def test_a_templated_move_is_skipped_and_counted(line: str) -> None:
    """What is only known when it runs is never guessed."""
    macros = _read(f"M83\n{line}")
    assert macros.moves == ()
    assert macros.skipped == 1
    assert macros.first is not None
    assert macros.first.line == 4


def test_a_templated_speed_is_forgotten() -> None:
    """The move after a templated F has no known speed."""
    (move,) = _read("M83\nG1 F600\nG1 X1 F{speed}\nG1 E5").moves
    assert move.speed is None


def test_other_sections_are_not_macros() -> None:
    """Only the sections of the dialect hold G-code."""
    assert _read("M83\nG1 E30 F600", "extruder").moves == ()


@pytest.mark.parametrize(
    "line", ["G1 E1e308 F600", "G1 E5e-324 F600", "G1 E-1e300 F600", "G1 Enan F600"]
)
def test_a_length_that_no_machine_feeds_is_no_length(line: str) -> None:
    """It is counted among the lines that could not be read; no fact comes of it."""
    text = f"[extruder]\n[gcode_macro A]\ngcode:\n  M83\n  {line}\n"
    macros = read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg"))

    assert (macros.moves, macros.skipped) == ((), 1)


def test_a_speed_that_no_machine_has_is_not_known() -> None:
    """The length stays; 0 in either place is read as it stands."""
    text = "[extruder]\n[gcode_macro A]\ngcode:\n  M83\n  G1 E5 F1e308\n  G1 E0 F600\n"
    macros = read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg"))

    assert [(move.speed, move.length) for move in macros.moves] == [(None, 0.005), (0.01, 0.0)]
