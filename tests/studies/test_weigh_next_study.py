"""A smoke of the study of `weigh next`: ten machines in a wide run, one and made-up ones else."""

from __future__ import annotations

from dataclasses import replace

from tiers import only_wide, wide

from tests.studies.weigh_next import Machine, Outcome, machine, prove_rows, rows

FIXED = Outcome(4110.0, 30.0, 14, 14.0, 18.0, holds=True)
OWN = Outcome(2080.0, 15.0, 7, 15.0, 17.0, holds=True)
MADE = Machine(0, "healthy", 16.0, FIXED, OWN, stop="width")


@wide
@only_wide
def test_ten_machines_take_less_filament_and_are_read_rightly() -> None:
    """Less than the whole plan in the median; at 90 % each, fewer than seven is 1 time in 80."""
    made = [machine(number, 10, 5) for number in range(10)]
    told = [(one.own, one.fixed) for one in made if one is not None and one.fixed is not None]

    assert len(told) >= 8
    less = sorted(own.filament / fixed.filament for own, fixed in told)
    assert less[len(less) // 2] <= 0.75
    assert sum(own.holds for own, _ in told) >= 0.7 * len(told)


def test_one_machine_is_asked_for_a_proof() -> None:
    """It is weighed until the question is decided or ten pieces are there."""
    made = machine(0, 400, 1, prove=True)

    assert made is not None
    assert made.stop in ("proved", "pieces", "little")
    assert 3 <= made.own.pieces <= 10
    assert made.flow is not None
    assert abs(made.flow / made.knee - 1.1) < 0.01


def test_the_tables_tell_what_the_tests_came_to() -> None:
    """Shares by hand: filament 2080 of 4110 mm, minutes 15 of 30, widths 2 and 4 of 16."""
    lines = list(rows([MADE, MADE]))
    wrong = replace(MADE, flow=17.6, above=0.97, stop="proved")
    right = replace(MADE, flow=14.4, above=0.97, stop="proved")
    asked = list(prove_rows([wrong, right]))

    assert "25.0 %" in lines[1]
    assert "12.5 %" in lines[2]
    assert "median filament 51 %, minutes 50 %" in lines[3]
    assert lines[4] == "ended by: width 2"
    assert asked[1].split() == ["10", "%", "below", "1", "100", "%", "0.0", "%", "7", "2080", "mm"]
    assert asked[2].split() == [
        "10",
        "%",
        "above",
        "1",
        "100",
        "%",
        "100.0",
        "%",
        "7",
        "2080",
        "mm",
    ]
