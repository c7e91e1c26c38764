"""The picture of a weighed test for the page: well formed, to scale, told in words as well."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from machines import SETUP

from advisor.intake.weighed import read_weighed
from advisor.report.weigh_svg import render_svg
from advisor.weigh.evaluate import evaluate
from advisor.weigh.records import Evaluation

NAMESPACE = "{http://www.w3.org/2000/svg}"


def shown(rows: str, name: str = "a <b> & c") -> Evaluation:
    text = f"# name: {name}\nflow;length;mass;skipped\n{rows}"
    return evaluate(read_weighed(text.encode(), "t.csv"), SETUP)


FALLING = "3;280;.83;n\n8;280;.83;n\n10;280;.83;n\n12;280;.80;n\n14;280;.76;n\n16;280;.5;y\n"


def test_every_flow_is_a_mark_and_a_skip_is_a_cross() -> None:
    """Rings to scale: equal steps of flow are equal steps of place; user text is escaped."""
    root = ET.fromstring(render_svg(shown(FALLING)))
    rings = [float(ring.get("cx", "")) for ring in root.iter(f"{NAMESPACE}circle")]

    assert len(rings) == 5
    assert rings[2] - rings[1] == pytest.approx(rings[3] - rings[2], abs=0.2)
    assert sum("l10 10" in (path.get("d") or "") for path in root.iter(f"{NAMESPACE}path")) == 1
    assert root.findtext(f"{NAMESPACE}title") == "Weighed flow test: a <b> & c"


def test_it_says_in_words_what_it_draws() -> None:
    """A screen reader hears the limit and every point."""
    told = ET.fromstring(render_svg(shown(FALLING))).findtext(f"{NAMESPACE}desc") or ""
    level = render_svg(shown("3;280;.83;n\n8;280;.83;n\n10;280;.83;n\n"))

    assert "begins to fall at 1" in told
    assert "8.0: 100.0 %" in told
    assert "16.0: 60.2 % skipped" in told
    assert "does not fall" in level
    assert "<rect" not in level


def test_an_outlier_is_a_square() -> None:
    """Left out of the fit, and seen to be."""
    rows = "3;280;.83;n\n6;280;.83;n\n8;280;1.2;n\n10;280;.83;n\n12;280;.83;n\n"
    root = ET.fromstring(render_svg(shown(rows)))

    assert len(list(root.iter(f"{NAMESPACE}rect"))) == 1
    assert len(list(root.iter(f"{NAMESPACE}circle"))) == 4
