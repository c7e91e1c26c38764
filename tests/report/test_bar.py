"""The strands: where ends, value and asked flow fall on the scale."""

from __future__ import annotations

import math

from hypothesis import given, strategies as st

from advisor.base import Band
from advisor.report.bar import Scale, axis, legend, scale_for, strand

PLAIN = Scale(top=20.0, cells=20, asked=None, drawn=False)


def test_the_strand_is_sure_to_the_low_end_and_likely_to_the_high_end() -> None:
    """One cell a mm3/s: sure below 6, likely to 14, the value at 9."""
    assert strand(PLAIN, Band(9.5, 6.1, 14.2)) == "======---o-----".ljust(20)


def test_the_asked_flow_crosses_every_strand() -> None:
    """The tick stands in the same cell on each line, drawn or not."""
    asked = Scale(20.0, 20, 12.0, drawn=True)
    lines = [strand(asked, flow) for flow in (None, Band(9.5, 6.1, 14.2), Band(16.0, 15.0, 18.0))]
    assert [line[12] for line in lines] == ["\u2502", "\u253c", "\u256a"]
    assert strand(Scale(20.0, 20, 12.0, drawn=False), None)[12] == "|"


def test_what_goes_off_the_scale_says_so() -> None:
    """A high end beyond the scale ends in >, also where it has no end at all."""
    assert strand(PLAIN, Band(76.0, 60.0, 93.0)) == "=" * 19 + ">"
    assert strand(PLAIN, Band(math.inf, 5.0, math.inf)) == "=====" + "-" * 14 + ">"
    assert strand(PLAIN, Band(0.0, 0.0, 0.0))[0] == "o"


@given(
    st.lists(st.floats(0.01, 2000), min_size=1, max_size=6),
    st.none() | st.floats(0.01, 500),
    st.integers(12, 70),
)
def test_the_scale_holds_all_it_is_asked_to_hold(
    flows: list[float], asked: float | None, cells: int
) -> None:
    """Every flow falls on a cell, the axis fits; a top above 1.2 is less than twice too large."""
    scale = scale_for(flows=flows, asked=asked, cells=cells, drawn=False)
    most = max([*flows, asked or 0.0])

    assert scale.cell(most) < cells
    assert scale.top < max(most * 2, 1.21)
    assert len(axis(scale)) == cells
    assert len(strand(scale, Band(flows[0], flows[0], most))) == cells


def test_the_legend_names_every_mark_that_is_drawn() -> None:
    """The tick of the asked flow is named only where there is one."""
    assert legend(PLAIN) == "= low end   - likely   o nominal   > goes on"
    assert "| asked" in legend(Scale(20.0, 20, 12.0, drawn=False))
