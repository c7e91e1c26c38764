"""Sums, peaks, sustained flow and places, against the plain reader, planner and plain sums."""

from __future__ import annotations

import bisect
import io
import itertools
import math
import random

import plain
import pytest
from tiers import only_wide, wide

from advisor.prints import MachineLimits, PrintReport, analyse

AREA = math.pi / 4.0 * 1.75e-3**2
AREA_MM2 = AREA * 1e6
HEAD = "G90\nM83\nG92 X0 Y0 Z0 E0\n"
PLAIN = plain.PlainLimits()
LIMITS = MachineLimits(
    max_velocity=PLAIN.max_velocity * 1e-3,
    max_accel=PLAIN.max_accel * 1e-3,
    square_corner_velocity=PLAIN.scv * 1e-3,
    min_cruise_ratio=PLAIN.ratio,
    max_extrude_only_velocity=PLAIN.e_velocity * 1e-3,
    max_extrude_only_accel=PLAIN.e_accel * 1e-3,
    corner_velocity=PLAIN.e_corner * 1e-3,
)
CAPACITY, SKIP, MELT = 8.0, 12.0, 20.0  # mm3/s, mm3/s, mm3


def report(text: str, **more: object) -> PrintReport:
    return analyse(
        io.BytesIO(text.encode()), limits=LIMITS, filament_area=AREA, capacity=CAPACITY * 1e-9,
        skip=SKIP * 1e-9, melt_volume=MELT * 1e-9, **more,
    )  # fmt: skip


def made_up(seed: int, moves: int = 600) -> str:
    """Return walls, infill, travel and retractions on a few layers."""
    rng = random.Random(seed)
    lines, x, y, z = [HEAD], 0.0, 0.0, 0.2
    for k in range(moves):
        if k % 40 == 0:
            lines.append(f";TYPE:{rng.choice(('External perimeter', 'Solid infill', 'Skirt'))}")
            lines.append(f"G1 F{rng.choice((1800, 4800, 9000))}")
        if k % 150 == 149:
            z += 0.2
            lines += ["G1 E-0.8 F2400", f"G1 Z{z:.1f} F600", "G1 E0.8 F2400", "G4 P250"]
        x, y = rng.uniform(0, 90), rng.uniform(0, 90) if rng.random() < 0.5 else y + 0.4
        length = rng.choice((0.02, 0.03, 0.045)) * rng.uniform(1.0, 90.0)
        lines.append(f"G1 X{x:.3f} Y{y:.3f}" + (f" E{length:.5f}" if k % 9 else ""))
    return "\n".join(lines) + "\n"


def planned(text: str) -> list[plain.PlainMove]:
    moves = plain.read(text, PLAIN)
    plain.plan(moves, PLAIN)
    return moves


def flowing(moves: list[plain.PlainMove]) -> list[plain.PlainMove]:
    return [move for move in moves if move.path and move.e > 0.0]


def sampled(move: plain.PlainMove, count: int) -> list[tuple[float, float, float]]:
    """Return (time, way, speed) along a planned move at equal steps of time."""
    total = plain.lasts(move)
    rise = (move.cruise - move.start) / move.accel
    fall = (move.cruise - move.end) / move.accel
    rows = []
    for k in range(count + 1):
        t = total * k / count
        if t <= rise:
            speed, way = move.start + move.accel * t, move.start * t + 0.5 * move.accel * t * t
        elif t <= total - fall:
            speed = move.cruise
            way = 0.5 * (move.start + speed) * rise + speed * (t - rise)
        else:
            left = total - t
            speed = move.end + move.accel * left
            way = move.length - 0.5 * (move.end + speed) * left
        rows.append((t, way, speed))
    return rows


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_sums_equal_those_of_the_plain_planner(seed: int) -> None:
    """Time is the sum of the trapezoids and the dwells, volume that of the filament, by feature."""
    text = made_up(seed)
    moves, made = planned(text), report(text)
    dwell = 0.25 * text.count("G4 P250")

    assert made.moves == len(moves)
    assert made.time == pytest.approx(sum(map(plain.lasts, moves)) + dwell, rel=1e-9)
    assert made.pause_time == pytest.approx(dwell, rel=1e-12)
    alone = [move for move in moves if not move.path]
    assert made.extrude_only_time == pytest.approx(sum(map(plain.lasts, alone)), rel=1e-9)
    pushed = flowing(moves)
    assert made.volume == pytest.approx(sum(m.e for m in pushed) * AREA * 1e-3, rel=1e-9)
    assert made.filament_length == pytest.approx(sum(m.e for m in moves) * 1e-3, rel=1e-9)
    for feature in made.features:
        names = {"outer-wall": "External perimeter", "solid-infill": "Solid infill",
                 "skirt": "Skirt"}  # fmt: skip
        mine = [m for m in pushed if m.feature == names[feature.feature or ""]]
        assert feature.moves == len(mine)
        assert feature.volume == pytest.approx(sum(m.e for m in mine) * AREA * 1e-3, rel=1e-9)
        assert feature.time == pytest.approx(sum(map(plain.lasts, mine)), rel=1e-9)
        peak = max(m.r * m.cruise for m in mine) * AREA_MM2
        assert feature.peak == pytest.approx(peak * 1e-9, rel=1e-6)
    for sums in (made.features, made.layers, made.tools):
        assert sum(part.volume for part in sums) == pytest.approx(made.volume, rel=1e-12)
        assert sum(part.time for part in sums) == pytest.approx(made.extruding_time, rel=1e-12)


def test_time_and_volume_above_a_flow() -> None:
    """They agree with sampling every planned move at 2,000 moments."""
    text = made_up(4, 120)
    made, steps = report(text), 2000
    for limit, time, volume in (
        (CAPACITY, made.over_time, made.over_volume),
        (SKIP, made.skip_time, made.skip_volume),
    ):
        over_time = over_volume = 0.0
        for move in flowing(planned(text)):
            rows = sampled(move, steps)
            for (t0, w0, v0), (t1, w1, v1) in itertools.pairwise(rows):
                if 0.5 * (v0 + v1) * move.r * AREA_MM2 > limit:
                    over_time += t1 - t0
                    over_volume += (w1 - w0) * move.r * AREA_MM2

        assert 0.0 < over_time < made.time
        assert time == pytest.approx(over_time, rel=2e-3)
        assert volume * 1e9 == pytest.approx(over_volume, rel=2e-3)
    assert made.share_of_time_above_capacity == made.over_time / made.time


@pytest.mark.parametrize("seed", [5, 6])
def test_sustained_flow_is_the_largest_mean_over_the_melt_volume(seed: int) -> None:
    """Found to within a step of the window (1/128) by a plain search over a dense time line."""
    text = made_up(seed, 250)
    clock, volumes, times = 0.0, [0.0], []
    for move in planned(text):
        if move.path and move.e > 0.0:
            base = volumes[-1]
            if not times:
                times.append(clock)
            for t, way, _ in sampled(move, 60)[1:]:
                times.append(clock + t)
                volumes.append(base + way * move.r * AREA_MM2)
        clock += plain.lasts(move)
    best = 0.0
    for k, volume in enumerate(volumes):
        i = bisect.bisect_left(volumes, volume - MELT)
        if volume >= MELT and i < k:
            best = max(best, (volume - volumes[i]) / (times[k] - times[i]))
    made = report(text.replace("G4 P250\n", ""))

    assert made.sustained is not None
    assert made.sustained.value * 1e9 == pytest.approx(best, rel=1.0 / 128.0)
    assert made.sustained.value <= made.peak.value
    ends = [part.sustained for part in made.features if part.sustained]
    assert max(ends) == made.sustained.value


def test_a_long_move_sustains_its_cruise_flow() -> None:
    """Where one move holds many melt volumes the sustained flow is that of its cruise."""
    made = report(HEAD + "G1 F3000\nG1 X5000 E500\n")

    assert made.sustained is not None
    assert made.sustained.value == pytest.approx(50e-3 * 0.1 * AREA, rel=1e-9)


def test_less_than_a_melt_volume_sustains_nothing() -> None:
    """A print smaller than the melt zone has a peak and no sustained flow."""
    made = report(HEAD + "G1 X50 E1 F3000\n")

    assert made.sustained is None
    assert made.peak.value > 0.0


def test_the_series_keeps_volume_and_time() -> None:
    """However few the points, mean times duration adds up to the volume."""
    text = made_up(7)
    for points in (2, 10, 100, 5000):
        made = report(text, series_points=points)

        assert len(made.series) <= points
        total = sum(p.mean * p.duration for p in made.series)
        assert total == pytest.approx(made.volume, rel=1e-9)
        assert max(p.peak for p in made.series) == pytest.approx(made.peak.value, rel=1e-12)
        lasts = sum(p.duration for p in made.series)
        assert lasts == pytest.approx(made.time, rel=1e-9)


def test_the_worst_places_are_the_worst() -> None:
    """Twenty lines of rising flow on one layer: the ten last, the worst first."""
    lines = [f"G1 X{(k % 2) * 80} Y{0.4 * k:.1f} E{0.9 + 0.05 * k:.2f}" for k in range(20)]
    text = HEAD + "G1 Z0.2 F6000\n;WIDTH:0.5\n;HEIGHT:0.2\n" + "\n".join(lines) + "\n"
    made = report(text)
    moves = sorted(flowing(planned(text)), key=lambda m: -m.r * m.cruise)

    assert [place.line for place in made.worst] == [m.line for m in moves[:10]]
    assert made.worst[0].flow == made.peak.value
    assert made.worst[0].height == pytest.approx(0.2e-3)
    assert made.worst[0].width == pytest.approx(0.5e-3)
    assert made.worst[0].layer_height == pytest.approx(0.2e-3)


def test_the_worst_places_are_spread_over_layers_and_features() -> None:
    """A layer of the same large flow counts once: the others are told too."""
    lines = [HEAD, "G1 F6000"]
    for layer in range(12):
        lines.append(f"G1 Z{0.2 * (layer + 1):.1f}")
        lines += [f"G1 X{(k % 2) * 80} Y{0.4 * k:.1f} E{2.0 + 0.1 * layer:.2f}" for k in range(30)]
    made = report("\n".join(lines) + "\n")
    heights = [round((place.height or 0.0) * 1e3, 3) for place in made.worst]

    assert heights == pytest.approx([2.4 - 0.2 * k for k in range(10)])


def test_layers_by_height() -> None:
    """Moves at one height are one layer, also when the head comes back to it."""
    text = HEAD + "".join(
        f"G1 Z{z} F600\nG1 X{x} E2 F3000\n" for x, z in ((50, 0.2), (0, 0.4), (50, 0.2), (0, 0.6))
    )
    made = report(text)

    assert [round(layer.height * 1e3, 6) for layer in made.layers] == [0.2, 0.4, 0.6]
    assert [layer.moves for layer in made.layers] == [2, 1, 1]
    assert made.layers[0].line == 5


@wide
@only_wide
def test_a_height_at_every_move_is_bounded() -> None:
    """A print that rises all the time has as many layers as are kept apart, and no more."""
    lines = [f"G1 X{(k % 2) * 3} Z{0.011 * k:.3f} E.1" for k in range(1, 45_000)]
    made = report(HEAD + "G1 F6000\n" + "\n".join(lines) + "\n")

    assert len(made.layers) <= 20_000
    assert sum(layer.moves for layer in made.layers) == len(lines)
    assert sum(layer.volume for layer in made.layers) == pytest.approx(made.volume, rel=1e-9)


def test_tools_are_told_apart() -> None:
    """Filament and peak by tool; the first absolute filament word after a change is a start."""
    text = "G90\nM83\nG92 X0 Y0\nG1 X50 E2 F3000\nT1\nG1 X0 E3\nT1000\nG1 X50 E1\nT0\nG1 X0 E2\n"
    made = report(text)

    assert [(t.tool, round(t.filament * 1e3, 9)) for t in made.tools] == [(0, 4.0), (1, 4.0)]
    assert made.tools[1].peak == pytest.approx(made.peak.value)


def test_the_filament_speeds_up_by_pressure_advance() -> None:
    """Largest speed r v + K r a on a long move, no smoothing (definition of pressure advance);
    largest acceleration of the filament r a where advance is off."""
    text = HEAD + "G1 X100 E4 F6000\n"
    plainly = report(text)
    assert plainly.extruder_peak_speed.value == pytest.approx(0.1 * 0.04, rel=1e-9)
    assert plainly.extruder_peak_accel.value == pytest.approx(3.0 * 0.04, rel=1e-9)

    led = report("SET_PRESSURE_ADVANCE ADVANCE=0.05 SMOOTH_TIME=0\n" + text)
    assert led.extruder_peak_speed.value == pytest.approx(0.04 * (0.1 + 0.05 * 3.0), rel=1e-9)
    smooth = report("SET_PRESSURE_ADVANCE ADVANCE=0.05 SMOOTH_TIME=0.04\n" + text)
    assert plainly.extruder_peak_speed.value < smooth.extruder_peak_speed.value
    assert smooth.extruder_peak_speed.value <= led.extruder_peak_speed.value + 1e-12


def test_foreign_limits_are_told_and_obeyed_on_request() -> None:
    """Limits of other firmwares do nothing here unless asked for; both are said."""
    text = "M201 X400 Y500\nM203 X40 Y50\n" + HEAD + "G1 X100 E4 F6000\n"
    free, held = report(text), report(text, obey_foreign_limits=True)

    assert [(n.kind, n.count, n.line) for n in free.notes] == [("other-firmware", 2, 1)]
    assert held.peak.value == pytest.approx(0.4 * free.peak.value, rel=1e-9)
    assert held.max_accel == pytest.approx(0.4)


def test_what_the_slicer_states_is_kept() -> None:
    """Settings in comments, the nozzle's temperature from the commands."""
    text = ("; filament_max_volumetric_speed = 15\n; nozzle_diameter = 0.4\nM104 S200\nM109 S215\n"
            + HEAD + "G1 X9 E1 F600\n")  # fmt: skip
    made = report(text)

    stated = made.stated["demand.profile_flow"]
    assert (stated.key, stated.text, stated.line) == ("filament_max_volumetric_speed", "15", 1)
    assert made.nozzle_temperature == pytest.approx(215.0 + 273.15)


def test_progress_is_told() -> None:
    """The bytes read so far, up to the whole file."""
    seen: list[int] = []
    text = made_up(8)
    report(text, progress=seen.append, block_size=4096)

    assert seen == sorted(seen)
    assert seen[-1] == len(text.encode())
