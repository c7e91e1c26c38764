"""What a macro's template states literally; the meaning of its syntax is from memory."""

from __future__ import annotations

import pytest
from every import every

from advisor.config import read_tree_from_bytes
from advisor.inputs.macro_values import Variables, evaluated
from advisor.inputs.macros import Macros, read_macros

CASES = [
    ("{% set e = params.E|default(1.7)|float %}", "G1 E{e}", "G1 E1.7"),
    ("{% set e = params.E|default(1.7)|float %}", "G1 E-{e}", "G1 E-1.7"),
    ("{% set f = params.SPEED|default(2.5)|float * 60 %}", "G1 F{f}", "G1 F150"),
    ("{% set l = (3 + 4) * 2 / 7 - 1 %}", "G1 E{l * 10}", "G1 E10"),
    ("{% set l = params.L|default('70')|int %}", "G1 E{l|abs}", "G1 E70"),
    ("{% set l = 2.6|int %}", "G1 E{ l }", "G1 E2"),
    ("{%- set l = -3 -%}", "G1 E{l}", "G1 E-3"),
]


@every(("sets", "line", "told"), CASES)
def test_what_is_literal_is_evaluated(sets: str, line: str, told: str) -> None:
    """A parameter stands for its default."""
    variables = Variables()
    assert variables.take(sets)
    assert evaluated(line, variables) == told


@pytest.mark.parametrize(
    "sets",
    [
        "{% set e = params.E|float %}",
        "{% set e = printer.toolhead.position.z|default(1) %}",
        "{% set e = 1 if x else 2 %}",
        "{% set e = [1, 2]|min %}",
        "{% set e = 1 / 0 %}",
        "{% set e = (1 %}",
        "{% set e = 1 %}{% set e = 2 %}",
        "{% set e = " + "(" * 190 + " %}",
        "{% set e = 1|default( %}",
    ],
)
def test_what_is_not_known_stays(sets: str) -> None:
    """Nothing is guessed, and nothing fails."""
    variables = Variables()
    variables.take(sets)
    assert evaluated("G1 E{e}", variables) == "G1 E{e}"


def _read(body: str) -> Macros:
    lines = "\n".join(f"    {line}" for line in body.splitlines())
    text = f"[gcode_macro PURGE]\ngcode:\n{lines}\n"
    return read_macros(read_tree_from_bytes(text.encode(), "made-up.cfg"))


def test_comment_lines_are_lines() -> None:
    """The place is the move's own, also behind lines that begin with ';' or '#'."""
    (move,) = _read("M83\n; out with the old\n# and in\nG1 E30 F600").moves
    assert move.at.line == 6


def test_a_move_with_the_head_has_its_path() -> None:
    """3-4-5 triangle (Euclid); without a known start the path is not known."""
    (move,) = _read("G91\nM83\nG1 X3 Y4 E4 F100").lines
    assert (move.path, move.length) == pytest.approx((0.005, 0.004))
    (first, second) = _read("G90\nM83\nG1 X10 Y10 E4\nG1 X13 Y14 E4").lines
    assert first.path is None
    assert second.path == pytest.approx(0.005)
