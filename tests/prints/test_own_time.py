"""The time that a slicer states for its print: how it is written, and what it is beside the plan.

Outside: pint for the units of time; the times of single moves by the formula of uniform motion.
"""

from __future__ import annotations

import io
import math

import pint
import pytest

from advisor.prints import MachineLimits, analyse
from advisor.prints.dialect import load_dialect
from advisor.prints.records import OwnTime
from advisor.prints.remarks import read_time

AREA = math.pi / 4 * 1.75e-3**2
UNITS = pint.UnitRegistry()


def told(text: str) -> float | None:
    """Return what a text is read as, [s]."""
    return read_time(text, load_dialect().time_words)


@pytest.mark.parametrize(("text", "parts"), [
    ("1h 20m 3s", "1 hour + 20 minute + 3 second"),
    ("2d 1h 0m 5s", "2 day + 1 hour + 5 second"),
    ("1 hour 52 minutes", "1 hour + 52 minute"),
    ("21m 13s", "21 minute + 13 second"),
    ("3 hours, 2 minutes and 1 second", "3 hour + 2 minute + 1 second"),
    ("6540", "6540 second"),
    ("6540.5", "6540.5 second"),
    ("01:20:03", "1 hour + 20 minute + 3 second"),
    ("20:03", "20 minute + 3 second"),
])  # fmt: skip
def test_times_as_slicers_write_them(text: str, parts: str) -> None:
    """The sum of the parts, by pint."""
    assert told(text) == pytest.approx(UNITS(parts).to("second").magnitude)


@pytest.mark.parametrize("text", ["", "soon", "1h later", "3 5", "-4", "0", "1e9", "9" * 30, "4 x"])
def test_no_time_is_read_from_other_words(text: str) -> None:
    """What is no time, or no print's, is none."""
    assert told(text) is None


def run(head: str, accel: float) -> OwnTime | None:
    """Analyse ten ways of 50 mm at 100 mm/s there and back under a statement of the time."""
    moves = "".join(f"G1 X{50 * (k % 2)} Y{k} E2 F6000\n" for k in range(1, 11))
    text = f"{head}\nG90\nM83\nG92 X0 Y0 Z0 E0\nG1 F6000\n{moves}"
    limits = MachineLimits(max_velocity=0.3, max_accel=accel)
    return analyse(
        io.BytesIO(text.encode()), limits=limits, filament_area=AREA, melt_volume=3e-8
    ).own_time


WAY = 10 * math.hypot(50e-3, 1e-3)
PLAIN = WAY / 0.1


@pytest.mark.parametrize(("head", "kind"), [
    (f";TIME:{PLAIN:.2f}", "plain"),
    (f"; estimated printing time (normal mode) = {PLAIN:.1f}s", "plain"),
    (f";   Build time: {PLAIN:.1f} seconds", "plain"),
    ("; model printing time: 1m 20s; total estimated time: 2m", "other"),
    (";Print time: 9 minutes", "other"),
])  # fmt: skip
def test_a_time_without_acceleration_is_known_by_the_set_speeds(head: str, kind: str) -> None:
    """At 500 mm/s2 each way of 50 mm takes 0.2 s more than at its 100 mm/s alone."""
    own = run(head, 0.5)
    assert own is not None
    assert own.kind == kind
    assert own.plain == pytest.approx(PLAIN, rel=1e-6)
    assert own.line == 1


def test_a_plan_near_the_stated_time_agrees() -> None:
    """With next to no time for speeding up, both are the same."""
    own = run(f";TIME:{PLAIN:.2f}", 1000.0)
    assert own is not None
    assert own.kind == "alike"


@pytest.mark.parametrize("head", [";TIME_ELAPSED:5.0", "; filament used = 3m", ";TIME:soon", ""])
def test_other_comments_state_no_time(head: str) -> None:
    """None is told where none is stated; the first one counts."""
    assert run(head, 0.5) is None
    own = run(f"{head}\n;TIME:60\n;TIME:99", 0.5)
    assert own is not None
    assert own.time == 60.0
