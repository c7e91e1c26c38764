"""Planned speeds against a plain sequential planner (tests/prints/plain.py)."""

from __future__ import annotations

import io
import math
import random

import numpy as np
import pytest
from every import every
from tiers import LONG, examples, spread, wide

from advisor.prints import MachineLimits, read_moves
from advisor.prints.dialect import Notes
from advisor.prints.plan import MotionPlan, Planner, Trapezoids, bounded_run, falling_in_runs
from tests.prints import plain
from tests.prints.running_minima import planned_speeds


def machine(limits: plain.PlainLimits) -> MachineLimits:
    return MachineLimits(
        max_velocity=limits.max_velocity * 1e-3,
        max_accel=limits.max_accel * 1e-3,
        square_corner_velocity=limits.scv * 1e-3,
        min_cruise_ratio=limits.ratio,
        max_extrude_only_velocity=limits.e_velocity * 1e-3,
        max_extrude_only_accel=limits.e_accel * 1e-3,
        corner_velocity=limits.e_corner * 1e-3,
        max_z_velocity=limits.z_velocity * 1e-3,
        max_z_accel=limits.z_accel * 1e-3,
    )


def planned(text: str, limits: plain.PlainLimits, batch: int = 1 << 14) -> list[MotionPlan]:
    planner, plans = Planner(Notes(), batch), []
    for moves in read_moves(io.BytesIO(text.encode()), limits=machine(limits)):
        plans += planner.push(moves)
    return plans + list(planner.finish())


def speeds(plans: list[MotionPlan]) -> np.ndarray:
    rows = [np.sqrt(np.array([p.start2, p.cruise2, p.end2])) * 1e3 for p in plans]
    return np.concatenate(rows, axis=1)


def expected(text: str, limits: plain.PlainLimits) -> np.ndarray:
    moves = plain.read(text, limits)
    plain.plan(moves, limits)
    return np.array([[m.start for m in moves], [m.cruise for m in moves], [m.end for m in moves]])


HEAD = "G90\nM83\nG92 X0 Y0 Z0 E0\n"


def random_print(rng: random.Random) -> tuple[str, plain.PlainLimits]:
    """Return a print of one kind of geometry under random limits."""
    limits = plain.PlainLimits(
        max_velocity=rng.choice((80.0, 300.0, 700.0)),
        max_accel=rng.choice((300.0, 3000.0, 20000.0)),
        scv=rng.choice((0.0, 1.0, 5.0, 20.0)),
        ratio=rng.choice((0.0, 0.3, 0.5, 0.9)),
        e_velocity=rng.choice((20.0, 120.0, math.inf)),
        e_accel=rng.choice((500.0, 5000.0)),
        e_corner=rng.choice((0.5, 1.0, 5.0)),
        z_velocity=rng.choice((10.0, math.inf)),
        z_accel=rng.choice((100.0, math.inf)),
    )
    lines, x, y, z = [HEAD], 0.0, 0.0, 0.0
    kind = rng.choice(("any", "micro", "collinear", "circle", "reversal", "single", "empty"))
    count = {"single": 1, "empty": 0}.get(kind, rng.choice((2, 5, 40, 200)))
    size = {"micro": 0.004, "collinear": 0.02}.get(kind, rng.choice((0.3, 5.0, 80.0)))
    for k in range(count):
        if rng.random() < 0.1:
            lines.append(rng.choice((
                f"M204 S{rng.choice((200, 1500, 9000))}", "M400", "G1 X0.0 Y0.0" if k == 0 else "",
                f"G1 F{rng.choice((300, 2400, 18000, 60000))}",
                f"G1 E{rng.choice((-0.8, 0.8, 5.0))} F2400", f"M220 S{rng.choice((50, 100, 150))}",
            )))  # fmt: skip
        if kind == "collinear":
            x += size * rng.random()
            y = 0.5 * x
        elif kind == "circle":
            x, y = size * math.cos(0.05 * k), size * math.sin(0.05 * k)
        elif kind == "reversal":
            x = size * (k % 2)
        else:
            x, y = x + size * rng.uniform(-1, 1), y + size * rng.uniform(-1, 1)
            z += rng.choice((0.0,) * 9 + (0.2,))
        e = rng.choice((0.0, 0.01, 0.03 * size, -0.01 * size))
        words = [f"X{x:.6f}", f"Y{y:.6f}"]
        if rng.random() < 0.2:
            words.append(f"Z{z:.4f}")
        if e:
            words.append(f"E{e:.6f}")
        if rng.random() < 0.1:
            words.append(f"F{rng.choice((600, 3600, 18000))}")
        lines.append("G1 " + " ".join(words))
        if rng.random() < 0.03:
            lines.append(lines[-1])  # no length
    return "\n".join(lines) + "\n", limits


@wide
@every("chunk", range(examples(1, 4, 20)))
def test_speeds_equal_the_plain_planner_on_random_prints(chunk: int) -> None:
    """Start, cruise and end speeds agree to 1e-6: 50 random prints (wide: 200, long: 1,000)."""
    for k in range(50):
        text, limits = random_print(random.Random(1000 * chunk + k))
        reference = expected(text, limits)
        got = planned(text, limits, batch=random.Random(k).choice((7, 50, 1 << 14)))

        if not reference.size:
            assert not got, f"case {chunk}/{k}"
            continue
        assert speeds(got) == pytest.approx(reference, rel=1e-6, abs=1e-9), f"case {chunk}/{k}"


@wide
@pytest.mark.parametrize("ratio", spread([0.0, 0.5], 1))
def test_many_collinear_micro_moves(ratio: float) -> None:
    """A straight line in very many tiny moves is planned like by the plain planner."""
    limits = plain.PlainLimits(ratio=ratio, max_accel=500.0)
    count = 1_000_000 if LONG else 10_000
    lines = [f"G1 X{k * 0.001:.3f} E.0001" for k in range(1, count + 1)]
    text = HEAD + "G1 F12000\n" + "\n".join(lines) + "\n"

    plans = planned(text, limits)

    assert speeds(plans) == pytest.approx(expected(text, limits), rel=1e-6, abs=1e-9)
    length = count * 0.001
    soft = limits.max_accel * (1.0 - ratio)
    peak = min(200.0, math.sqrt(soft * length))  # v^2 = a d over half the way, from rest to rest
    assert speeds(plans)[1].max() == pytest.approx(peak, rel=1e-3)


def test_batches_do_not_change_the_plan() -> None:
    """Planning 5 or 16384 moves at a time gives the same speeds."""
    text, limits = random_print(random.Random(77))
    whole = speeds(planned(text, limits))

    for batch in (1, 2, 5, 33):
        assert speeds(planned(text, limits, batch)) == pytest.approx(whole, rel=1e-12, abs=1e-12)


def test_one_move_from_rest_to_rest() -> None:
    """A single 10 mm move at 1000 mm/s2: v^2 = a d at the peak, time 2 sqrt(d / a) (kinematics
    of constant acceleration); with a cruise ratio of 0.5 the peak is that of half the
    acceleration."""
    text = HEAD + "G1 X10 F60000\n"
    for ratio, peak in ((0.0, math.sqrt(1000.0 * 10.0)), (0.5, math.sqrt(500.0 * 10.0))):
        limits = plain.PlainLimits(max_velocity=5000.0, max_accel=1000.0, ratio=ratio)
        plans = planned(text, limits)

        assert speeds(plans)[:, 0] == pytest.approx([0.0, peak, 0.0], rel=1e-12)
        if ratio == 0.0:
            assert Trapezoids.of(plans[0]).time[0] == pytest.approx(2.0 * math.sqrt(0.01))


def test_a_square_corner_is_taken_at_the_square_corner_velocity() -> None:
    """By its definition a right angle between long moves is passed at that speed."""
    limits = plain.PlainLimits(scv=7.5, max_accel=2000.0)
    text = HEAD + "G1 X50 F12000\nG1 Y50\n"

    assert speeds(planned(text, limits))[2, 0] == pytest.approx(7.5, rel=1e-12)


def test_agrees_with_the_closed_form_without_cruise_ratio() -> None:
    """With ratio 0 and no filament the plan is that of two running minima (running_minima)."""
    rng = random.Random(5)
    limits = plain.PlainLimits(ratio=0.0)
    points = [(rng.uniform(0, 30), rng.uniform(0, 30)) for _ in range(300)]
    text = HEAD + "G1 F18000\n" + "".join(f"G1 X{x:.6f} Y{y:.6f}\n" for x, y in points)
    line = np.diff(np.array([(0.0, 0.0), *points]), axis=0) * 1e-3
    length = np.hypot(line[:, 0], line[:, 1])
    expected = planned_speeds(line / length[:, None], length, cruise=0.3, accel=3.0, corner=5e-3)

    got = speeds(planned(text, limits))

    assert got[0] * 1e-3 == pytest.approx(expected[:-1], rel=1e-5, abs=1e-6)


def test_a_plan_never_breaks_its_limits() -> None:
    """No speed above the asked, no change of squared speed beyond 2 a d, ends meet starts."""
    for seed in range(40):
        text, limits = random_print(random.Random(seed + 9000))
        for plan in planned(text, limits):
            moves = plan.moves
            gain = 2.0 * moves.length * moves.accel
            slack = 1.0 + 1e-9

            assert (plan.cruise2 <= moves.speed2 * slack).all()
            ramps = 2.0 * plan.cruise2 - plan.start2 - plan.end2
            assert (ramps <= gain * slack + 1e-15).all()
            assert plan.start2[1:] == pytest.approx(plan.end2[:-1], rel=1e-9, abs=1e-14)


def test_bounded_run_equals_the_loop() -> None:
    """The chunked running minimum gives what the plain recurrence gives, to 1e-12."""
    rng = np.random.default_rng(3)
    for count in (1, 2, 63, 64, 65, 128, 1000, 5000):
        cap = rng.choice((0.0, 1e-9, 1e-3, 1.0, 1e3), count) * rng.random(count)
        gain = rng.choice((1e-9, 1e-4, 1.0, 50.0), count)
        value, loop = 0.3, []
        for most, more in zip(cap, gain, strict=True):
            value = min(most, value + more)
            loop.append(value)

        assert bounded_run(cap, gain, 0.3) == pytest.approx(loop, rel=1e-8, abs=0.0)


def test_running_minimum_begins_anew() -> None:
    """Each run has its own running minimum."""
    value = np.array([5.0, 7.0, 4.0, 9.0, 8.0, 8.5])
    fresh = np.array([True, False, False, True, False, False])

    assert falling_in_runs(value, fresh).tolist() == [5.0, 5.0, 4.0, 9.0, 8.0, 8.0]
