"""Attributes, pictures that share a page, and the rows a curve is shown by."""

from __future__ import annotations

import re

from hypothesis import given, strategies as st

from advisor.report.html.layout import Markup, element, join
from advisor.report.html.pictures import with_own_ids
from advisor.report.html.torque import spaced


def test_attributes_as_html_has_them() -> None:
    """True stands alone, None and False are left out, the case of SVG's own is kept."""
    made = element("details", None, open=True, hidden=False, id=None, class_="a", data_x=0)

    assert made == '<details open class="a" data-x="0"></details>'
    assert element("svg", viewBox="0 0 1 1") == '<svg viewBox="0 0 1 1"></svg>'
    assert element("meta", charset="utf-8") == '<meta charset="utf-8">'
    assert join(["a", 1, None, ["<", Markup("<br>")]]) == "a1&lt;<br>"


def test_two_pictures_of_the_same_keep_their_parts_apart() -> None:
    """Ids and all that points at them get the picture's own prefix; what is text stays."""
    svg = (
        '<?xml version="1.0"?>\n<svg role="img" aria-labelledby="t d"><title id="t">#t id="d"'
        '</title><desc id="d">x</desc><defs><clipPath id="p1"/><path id="p10"/></defs>'
        '<g clip-path="url(#p1)" style="fill: url(#p10)"><use href="#p10"/></g></svg>'
    )
    one, two = with_own_ids(svg, "a"), with_own_ids(svg, "b")
    ids = {name: re.findall(r'<\w+ id="([^"]+)"', text) for name, text in (("a", one), ("b", two))}

    assert ids == {x: [f"{x}-t", f"{x}-d", f"{x}-p1", f"{x}-p10"] for x in "ab"}
    for own, text in (("a", one), ("b", two)):
        assert text.startswith("<svg")
        assert f'aria-labelledby="{own}-t {own}-d"' in text
        assert f'clip-path="url(#{own}-p1)" style="fill: url(#{own}-p10)"' in text
        assert f'href="#{own}-p10"' in text


@given(st.integers(0, 500), st.integers(2, 30))
def test_rows_of_a_curve_are_spaced_and_hold_both_ends(count: int, rows: int) -> None:
    """At most so many, rising, the first and the last among them."""
    places = spaced(count, rows)

    assert len(places) == min(count, rows)
    assert places == sorted(set(places))
    assert not places or (places[0], places[-1]) == (0, count - 1)
