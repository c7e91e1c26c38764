"""Places of labels: none covers another, none leaves its stretch, none moves without need."""

from __future__ import annotations

import itertools

from hypothesis import given, settings, strategies as st

from advisor.report.pictures.labels import Box, free_place, side_by_side, spread

WITHIN = Box(0.0, 0.0, 300.0, 200.0)
pieces = st.lists(st.tuples(st.floats(-50.0, 350.0), st.floats(1.0, 40.0)), min_size=1, max_size=6)


@given(pieces)
def test_spread_pieces_lie_side_by_side(pieces: list[tuple[float, float]]) -> None:
    """In the order wanted, within the ends, and where they wanted to be if that is free."""
    wanted, sizes = zip(*pieces, strict=True)
    found = spread(wanted, sizes, (0.0, 300.0))
    order = sorted(range(len(found)), key=lambda i: found[i])

    assert all(
        found[i] + sizes[i] / 2 <= found[j] - sizes[j] / 2 + 1e-6
        for i, j in itertools.pairwise(order)
    )
    assert all(
        s / 2 - 1e-6 <= at <= 300.0 - s / 2 + 1e-6 for at, s in zip(found, sizes, strict=True)
    )


@given(pieces, st.lists(st.floats(20.0, 280.0), max_size=2))
def test_pieces_keep_clear_of_leaders(
    pieces: list[tuple[float, float]], leaders: list[float]
) -> None:
    """They cover neither each other nor, where there is room, a line from a row above."""
    wanted, sizes = zip(*pieces[:3], strict=True)
    kept = [(at - 3.0, at + 3.0) for at in leaders]
    found = side_by_side(wanted, sizes, (0.0, 300.0), kept)
    held = [(at - s / 2, at + s / 2) for at, s in zip(found, sizes, strict=True)]

    for (low, high), (other_low, other_high) in itertools.combinations(held, 2):
        assert high <= other_low + 1e-6 or other_high <= low + 1e-6
    if found != spread(wanted, sizes, (0.0, 300.0)):
        assert all(high <= a + 1e-6 or b <= low + 1e-6 for low, high in held for a, b in kept)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 300.0), st.floats(0.0, 200.0)), max_size=8))
def test_names_of_points_touch_nothing(spots: list[tuple[float, float]]) -> None:
    """Eight points, however close, get eight places that meet neither each other nor a point."""
    taken = [Box(x - 5.0, y - 5.0, x + 5.0, y + 5.0) for x, y in spots]
    for spot in spots:
        found = free_place(spot, (60.0, 15.0), within=WITHIN, taken=taken)

        assert found is not None
        assert not any(found.meets(other) for other in taken)
        assert WITHIN.left <= found.left < found.right <= WITHIN.right
        assert WITHIN.bottom <= found.bottom < found.top <= WITHIN.top
        taken.append(found)


def test_a_name_stands_beside_its_point() -> None:
    """With all free it is as near as can be; a line in the way moves it."""
    free = free_place((100.0, 100.0), (60.0, 15.0), within=WITHIN, taken=[Box(95, 95, 105, 105)])
    line = [(x / 2, 100.0) for x in range(600)]
    moved = free_place(
        (100.0, 100.0), (60.0, 15.0), within=WITHIN, taken=[Box(95, 95, 105, 105)], lines=line
    )

    assert free is not None
    assert free.bottom < 100.0 < free.top
    assert moved is not None
    assert not moved.bottom < 100.0 < moved.top
    full = free_place((9.0, 9.0), (60.0, 15.0), within=WITHIN, taken=[WITHIN])
    assert full is None
