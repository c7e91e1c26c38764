"""The colours: legible on the paper, and told apart by people who see fewer colours.

Luminance and contrast ratio: Web Content Accessibility Guidelines 2.2, definitions "relative
luminance" and "contrast ratio", success criteria 1.4.3 (text, 4.5 : 1) and 1.4.11 (3 : 1). Colour
blindness: Vienot, Brettel, Mollon, "Digital video colourmaps for checking the legibility of
displays by dichromats", Color Research and Application 24 (1999) 243-252, its projections written
for linear sRGB (matrices from memory). Colour difference: CIE 15, CIELAB 1976, white D65.
"""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from every import every

from advisor.report.pictures.palette import PALETTE

NAMES = {"ink", "paper", "quiet", "motor", "grip", "gap", "melt", "heater", "need", "ask"}
SHADES = [(shade, name) for shade in PALETTE for name in PALETTE[shade] if name != "paper"]
LEAST_DIFFERENCE = 15.0  # CIELAB; 2.3 is what is just noticeable (common practice, no source)
DRAWN = sorted(NAMES - {"paper", "quiet"})
SEEN = {
    "by most": np.eye(3),
    "protanopia": np.array(
        [[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]]
    ),
    "deuteranopia": np.array(
        [[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]]
    ),
}
TO_XYZ = np.array(  # IEC 61966-2-1
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
WHITE = TO_XYZ @ np.ones(3)


def linear(colour: str) -> np.ndarray:
    parts = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    dark, bright = sorted(float(TO_XYZ[1] @ linear(colour)) for colour in (one, other))
    return (bright + 0.05) / (dark + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    share = TO_XYZ @ np.clip(rgb, 0, 1) / WHITE
    root = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


def test_both_shades_name_the_same_colours() -> None:
    """Light and dark have every name, as six-digit colours."""
    assert set(PALETTE) == {"light", "dark"}
    for colours in PALETTE.values():
        assert set(colours) == NAMES
        assert all(re.fullmatch("#[0-9a-f]{6}", colour) for colour in colours.values())


def test_the_formula_gives_the_published_extremes() -> None:
    """Black on white is 21 : 1, a colour on itself 1 : 1, as the guidelines say."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@every(("shade", "name"), SHADES)
def test_every_colour_is_legible_as_text(shade: str, name: str) -> None:
    """4.5 : 1 or more on the paper, since every line's label has its line's colour."""
    assert contrast(PALETTE[shade][name], PALETTE[shade]["paper"]) >= 4.5


@pytest.mark.parametrize(("shade", "seen"), list(itertools.product(PALETTE, SEEN)))
def test_drawn_colours_are_told_apart(shade: str, seen: str) -> None:
    """Any two that can lie side by side differ to people who see no red or no green, too."""
    colours = PALETTE[shade]
    for pair in itertools.combinations(DRAWN, 2):
        one, other = (lab(SEEN[seen] @ linear(colours[name])) for name in pair)

        assert np.linalg.norm(one - other) >= LEAST_DIFFERENCE, pair
