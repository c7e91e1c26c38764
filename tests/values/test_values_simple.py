"""The short way for one number with a unit says what the grammar says."""

from __future__ import annotations

from hypothesis import given, strategies as st

from advisor.data import values

_TEXTS = st.from_regex(values._SIMPLE, fullmatch=True)
_UNITS = st.sampled_from(
    [
        "A",
        "mA",
        "ohm",
        "mH",
        "N m",
        "mN m",
        "g cm2",
        "mm",
        "deg",
        "degC",
        "W",
        "V",
        "%",
        "mm3/s",
        "s",
    ]
)


def _by_grammar(text: str) -> tuple[tuple[float, ...], str | None] | None:
    tree = values._tree(values._plain(text), "quantity")
    if tree is None:
        return None
    *numbers, unit = (str(child.children[0]) if child else None for child in values._shown(tree))
    found = tuple(float(number) for number in numbers if number is not None)
    return found, " ".join(unit.split()) if unit is not None else None


@given(st.floats(-1e6, 1e6), _UNITS, st.sampled_from(["", " ", "  "]))
def test_usual_quantities(number: float, unit: str, gap: str) -> None:
    """Every unit of the sheet, with and without a blank."""
    text = f"{number!r}{gap}{unit}"
    assert values._parts.__wrapped__(text) == _by_grammar(text)


@given(_TEXTS)
def test_whatever_takes_the_short_way(text: str) -> None:
    """The grammar reads the same number and unit, or neither is a unit that we know."""
    simple = values._SIMPLE.fullmatch(text)
    assert simple is not None
    told = _by_grammar(text)
    if told is not None:
        assert told == ((float(simple[1]),), " ".join(simple[2].split()))
