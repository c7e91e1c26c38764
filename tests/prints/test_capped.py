"""A print's time under caps of its flow: against the plain planner, and against itself."""

from __future__ import annotations

import io
import itertools
import math
import random
from dataclasses import replace

import pytest
from every import every
from tiers import examples, wide

from advisor.base import InputError
from advisor.prints import PrintReport, analyse
from tests.prints import plain
from tests.prints.test_plan import HEAD, machine, random_print

AREA = math.pi / 4.0 * 1.75**2  # mm2
CAPS = (0.3, 2.0, 8.0, 20.0, 1e6)  # mm3/s


def capped(
    text: str, limits: plain.PlainLimits, caps: tuple[float, ...] = CAPS, block: int = 1 << 18
) -> PrintReport:
    return analyse(
        io.BytesIO(text.encode()),
        limits=machine(limits),
        filament_area=AREA * 1e-6,
        melt_volume=1e-7,  # no push of filament alone is long enough to count as extruding
        caps=[cap * 1e-9 for cap in caps],
        block_size=block,
    )


def plain_time(text: str, limits: plain.PlainLimits, cap: float) -> float:
    """Lower the speed of each move whose flow is above the cap, plan, add up."""
    moves = [_held(move, cap) for move in plain.read(text, limits)]
    plain.plan(moves, limits)
    return sum(plain.lasts(move) for move in moves)


def _held(move: plain.PlainMove, cap: float) -> plain.PlainMove:
    length = math.hypot(*move.d)
    if length < 1e-9 or move.e <= 0.0:
        return move
    return replace(move, speed=min(move.speed, cap * length / (AREA * move.e)))


def flowing_print(rng: random.Random) -> tuple[str, plain.PlainLimits]:
    """Return a random print that pushes filament in most moves, at flows about the caps."""
    text, limits = random_print(rng)
    lines = [HEAD, f"G1 F{rng.choice((1800, 6000, 18000))}"]
    x = y = 0.0
    for _ in range(rng.choice((3, 60, 200))):
        step = rng.choice((0.2, 2.0, 40.0))
        dx, dy = step * rng.uniform(-1, 1), step * rng.uniform(-1, 1)
        x, y = x + dx, y + dy
        section = rng.choice((0.0, 0.05, 0.1, 0.2))  # mm2
        lines.append(f"G1 X{x:.4f} Y{y:.4f} E{section * math.hypot(dx, dy) / AREA:.6f}")
        if rng.random() < 0.05:
            lines.append(rng.choice(("M400", "M204 S2000", "G1 F9000", "G1 E-0.8 F2400\nG1 F6000")))
    return rng.choice((text, "\n".join(lines) + "\n")), limits


@wide
@every("chunk", range(examples(1, 10, 50)))
def test_times_equal_the_plain_planner_on_random_prints(chunk: int) -> None:
    """At each cap the plain planner's time to 1e-6, without a cap that of the print to the last
    digit, and never less as the cap falls: on 20 random prints (wide: 200, long: 1,000)."""
    for k in range(20):
        text, limits = flowing_print(random.Random(5000 * chunk + k))
        report = capped(text, limits, block=random.Random(k).choice((200, 1 << 18)))
        assert report.caps is not None
        times = [one.time for one in report.caps.times]

        assert times[-1] == report.time == capped(text, limits, ()).time, f"case {chunk}/{k}"
        for cap, time in zip(CAPS, times, strict=True):
            expected = plain_time(text, limits, cap)
            assert time == pytest.approx(expected, rel=1e-6, abs=1e-9), f"case {chunk}/{k}, {cap}"
        for slow, fast in itertools.pairwise(times):
            assert slow >= fast * (1.0 - 1e-9), f"case {chunk}/{k}"


def test_the_parts_of_the_time_are_the_time() -> None:
    """Held by the cap, speeding up and slowing down, at the set speed, and the rest: all of it."""
    for seed in range(examples(20, 60, 60)):
        report = capped(*flowing_print(random.Random(seed)))
        caps = report.caps
        assert caps is not None
        rest = report.pause_time + report.extrude_only_time
        parts = caps.held_time + caps.accel_time + caps.speed_time + rest

        assert parts == pytest.approx(report.time, rel=1e-9, abs=1e-12)
        assert min(caps.held_time, caps.accel_time, caps.speed_time) >= 0.0
        assert all(one.held_time <= one.time for one in caps.times)


def test_one_line_by_hand() -> None:
    """100 mm of 0.1 mm2 at 200 mm/s asks 20 mm3/s; at 10 mm3/s it runs at 100 mm/s. From rest to
    rest at 1000 mm/s2 that takes d / v + v / a (kinematics of constant acceleration)."""
    limits = plain.PlainLimits(max_accel=1000.0, ratio=0.0)
    text = HEAD + f"G1 X100 E{0.1 * 100.0 / AREA:.9f} F12000\n"

    caps = capped(text, limits, (10.0, 20.0, 30.0)).caps

    assert caps is not None
    assert [one.time for one in caps.times] == pytest.approx([1.1, 0.7, 0.7])
    assert [one.held_time for one in caps.times] == pytest.approx([0.9, 0.3, 0.0])
    assert (caps.accel_time, caps.speed_time, caps.held_time) == pytest.approx((0.4, 0.3, 0.0))
    assert caps.sliced is None  # one line at one speed is no cap
    assert caps.gained == pytest.approx(20e-9)


def sliced_print(cap: float, speeds: tuple[float, ...] = (60.0, 120.0, 300.0)) -> str:
    """Return lines of several sections at several set speeds, slowed to a cap as a slicer does."""
    lines, rng, x = [HEAD], random.Random(4), 0.0
    for k in range(400):
        section, length = rng.choice((0.06, 0.09, 0.12)), rng.uniform(5.0, 60.0)
        x += length * (-1) ** k
        speed = min(rng.choice(speeds), cap / section)
        lines.append(f"G1 X{x:.3f} Y{k * 0.4:.3f} E{section * length / AREA:.5f} F{speed * 60:.0f}")
    return "\n".join(lines) + "\n"


def test_a_cap_of_the_slicer_is_found_as_a_heap() -> None:
    """Lines of three sections slowed to 12 mm3/s: the cap is found within 1 %."""
    caps = capped(sliced_print(12.0), plain.PlainLimits(), (6.0, 12.0, 20.0)).caps

    assert caps is not None
    assert caps.sliced is not None
    assert caps.sliced.flow == pytest.approx(12e-9, rel=0.01)
    assert caps.sliced.line == 0
    assert caps.held_time > 0.0
    assert caps.gained is None  # what is gained beyond cannot be told
    assert caps.held_time == pytest.approx(caps.times[1].held_time, rel=0.02)


def test_what_is_gained_beyond_a_cap_just_below_the_slicers_is_not_told() -> None:
    """At 11.99 of 12 mm3/s the time is the same within 0.1 %, yet much of it is held; where the
    slicer states 12.5 and takes 96 % of it, flows between the two are no better known."""
    for setting in ("", "; filament_max_volumetric_speed = 12.5\n"):
        text = sliced_print(12.0) + setting
        caps = capped(text, plain.PlainLimits(), (11.99, 12.3)).caps
        assert caps is not None
        assert caps.sliced is not None
        assert caps.gained is None


@pytest.mark.parametrize(("setting", "tells"), [
    ("; filament_max_volumetric_speed = 12", 12.0),
    ("; filament_max_volumetric_speed = 12.2,30", 12.2),  # as far as the flow ratio takes it
    ("; filament_max_volumetric_speed = 0", None),  # no cap
    ("; filament_max_volumetric_speed = 40", None),  # it holds nothing in this print
    ("; filament_max_volumetric_speed = 4", None),  # the print does not keep it
])  # fmt: skip
def test_a_cap_that_the_slicer_states(setting: str, tells: float | None) -> None:
    """It counts where the largest flow of the print comes near it; here all lines are alike."""
    x = "".join(f"G1 X{50 * (k % 2)} Y{k} E{0.1 * 50 / AREA:.5f}\n" for k in range(1, 40))
    text = HEAD + "G1 F7200\n" + x + setting + "\n"

    caps = capped(text, plain.PlainLimits(), (8.0, 20.0)).caps

    assert caps is not None
    assert (caps.sliced and caps.sliced.flow) == (tells and pytest.approx(tells * 1e-9))


def test_uncapped_prints_are_not_told_as_capped() -> None:
    """Sections at set speeds, and flows that come to lie anywhere."""
    limits = plain.PlainLimits()
    for text in (sliced_print(1e3), sliced_print(1e3, (80.0,))):
        caps = capped(text, limits).caps
        assert caps is not None
        assert caps.sliced is None


def test_a_cap_is_above_zero() -> None:
    """Zero would stop the print."""
    with pytest.raises(InputError, match="cap of 0"):
        capped(HEAD + "G1 X1 E1\n", plain.PlainLimits(), (0.0,))
