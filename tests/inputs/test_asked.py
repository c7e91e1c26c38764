"""The flow that is asked, in each way people say it, against plain arithmetic and pint."""

from __future__ import annotations

import math

import pytest
from every import every
from outside import units

from advisor.base import InputError
from advisor.inputs.asked import flow_asked, read_asked

AREA = math.pi / 4 * 1.75e-3**2
DENSITY = 1240.0


@every(
    ("text", "flow"),
    lambda: [
        ("12mm3/s", 12e-9),
        ("12 mm\u00b3/s", 12e-9),
        ("12", 12e-9),
        ("120mm/s x 0.45 x 0.2", 120 * 0.45 * 0.2 * 1e-9),
        ("0.45mm x 0.2mm x 120 mm/s", 120 * 0.45 * 0.2 * 1e-9),
        ("120mm/s*0.45*0.2", 120 * 0.45 * 0.2 * 1e-9),
        ("120mm/s \u00d7 0.45 \u00d7 0.2", 120 * 0.45 * 0.2 * 1e-9),
        ("5mm/s", 5e-3 * AREA),
        ("0.9g/min", units().Quantity("0.9 g/min").to("kg/s").magnitude / DENSITY),
        ("0.9 g / min", units().Quantity("0.9 g/min").to("kg/s").magnitude / DENSITY),
    ],
)
def test_each_way_gives_its_flow(text: str, flow: float) -> None:
    """A line is speed times width times height (a rectangle); filament is area times speed."""
    found = flow_asked(read_asked(text), area=AREA, density=DENSITY)
    assert found == pytest.approx(flow, rel=1e-12)


@every(
    ("text", "words"),
    [
        ("5mm", "is no flow"), ("0.45 x 0.2", "is no line"), ("0.45 x 0.2 x 3", "has no speed"),
        ("120mm/s x 3mm/s x 0.2", "has no speed"), ("120mm/s x 0.45 x 5A", "no part of a line"),
        ("fast", "is no value"), ("900mm3/s", "out of range"), ("0mm3/s", "out of range"),
        ("9000mm/s x 4 x 4", "out of range"), ("", "is empty"),
    ],
)  # fmt: skip
def test_what_is_no_flow_is_said_with_the_ways(text: str, words: str) -> None:
    """One sentence, and what to write."""
    with pytest.raises(InputError, match=words) as caught:
        read_asked(text)
    assert caught.value.remedy


def test_a_filament_that_is_not_known_is_named() -> None:
    """Speed hangs on the diameter, mass on the density; neither on the other."""
    with pytest.raises(InputError, match="diameter is not known"):
        flow_asked(read_asked("5mm/s"), area=None, density=DENSITY)
    with pytest.raises(InputError, match="density is not known"):
        flow_asked(read_asked("0.9g/min"), area=AREA, density=None)
    with pytest.raises(InputError, match="out of range"):
        flow_asked(read_asked("8000g/min"), area=AREA, density=DENSITY)


def test_the_speed_of_a_head_is_not_taken_for_one_of_filament() -> None:
    """100 mm/s of 1.75 mm filament is 241 mm3/s (pi/4 d2 v), which no extruder feeds."""
    with pytest.raises(InputError) as told:
        flow_asked(read_asked("100mm/s"), area=math.pi / 4 * 1.75e-3**2, density=DENSITY)
    assert "241 mm3/s" in str(told.value)
    assert "100mm/s x 0.45 x 0.2" in str(told.value)
