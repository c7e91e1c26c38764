"""A smoke of the study of `weigh compare`: ten pairs, by the code of the study itself."""

from __future__ import annotations

import functools

from tests.studies.weigh_compare_coverage import Paired, covered, pairs, table


@functools.cache
def made() -> tuple[Paired, ...]:
    return tuple(pairs(10, seed=3))


def test_ten_pairs_lie_inside() -> None:
    """At 90 % each, fewer than seven of ten is 1 time in 80 (binomial)."""
    assert len(made()) >= 8
    assert covered(made()) >= 0.7


def test_the_study_can_fail() -> None:
    """Truths that are not those of the pairs are seen to lie outside."""
    moved = [Paired(one.sample, one.told, one.truth + 20.0) for one in made() if one.two_sided]

    assert moved
    assert covered(moved) == 0.0


def test_the_table_has_a_line_for_each_sample() -> None:
    """And one for all of them."""
    lines = table(made())

    assert [line.split()[0] for line in lines[1:5]] == [
        "healthy",
        "no-sheet",
        "asks-too-much",
        "all",
    ]
