"""Limits over their own windows: whole prints, against the plain planner and a fine time grid."""

from __future__ import annotations

import io
import math

import numpy as np
import plain
import pytest
from test_tally import AREA, HEAD, LIMITS, MELT, PLAIN, made_up
from tiers import spread, wide

from advisor.base import InputError
from advisor.prints import Allowed, PrintReport, Windows, analyse

MM3 = 1e-9
STEP = 2e-4  # s


def report(
    text: str, limits: tuple[tuple[str, float, str], ...], *, lag: float = 0.04, **more: object
) -> PrintReport:
    """Judge a print by (limit, mm3/s, window)."""
    allowed = tuple(Allowed(name, flow * MM3, over) for name, flow, over in limits)
    more = {"melt_volume": MELT * MM3, "limits": LIMITS, **more}
    return analyse(io.BytesIO(text.encode()), filament_area=AREA,
                   windows=Windows(lag=lag, heat=10.0, allowed=allowed), **more)  # fmt: skip


def on_a_grid(text: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the volume (mm3) up to each step of time, its flow, and its line; one move a time."""
    moves = plain.read(text, PLAIN)
    plain.plan(moves, PLAIN)
    flow, line, late = [], [], 0.0
    for move in moves:
        lasts, section = plain.lasts(move), move.r * AREA * 1e6 if move.path else 0.0
        t = np.arange(late, lasts, STEP)
        late = late + len(t) * STEP - lasts
        speed = np.minimum(move.start + move.accel * t, move.cruise)
        speed = np.minimum(speed, move.end + move.accel * (lasts - t))
        flow.append(max(section, 0.0) * speed)
        line.append(np.full(len(t), move.line))
    flows = np.concatenate(flow)
    return np.concatenate(([0.0], np.cumsum(flows) * STEP)), flows, np.concatenate(line)


def mean_over_time(volume: np.ndarray, lasts: float) -> np.ndarray:
    back = round(lasts / STEP)
    return (volume - volume[np.maximum(np.arange(len(volume)) - back, 0)])[1:] / (back * STEP)


def mean_over_volume(volume: np.ndarray, held: float) -> np.ndarray:
    """Return the mean over the time since `held` mm3 fewer were extruded."""
    clock = np.arange(len(volume)) * STEP
    since = np.interp(volume - held, volume + np.arange(len(volume)) * 1e-12, clock)
    mean = held / np.maximum(clock - since, 1e-9)
    return np.where(volume >= held, mean, 0.0)[1:]


@pytest.mark.parametrize("seed", [11, 12])
@pytest.mark.parametrize("lag", [0.04, 0.5])
def test_each_limit_is_judged_over_its_own_window(seed: int, lag: float) -> None:
    """Largest means and shares of time, by running sums over the plain planner's motion."""
    text = made_up(seed, 300).replace("G4 P250\n", "")
    volume, flow, _ = on_a_grid(text)
    moving = flow > 0.0
    means = {
        "grip": mean_over_time(volume, lag),
        "heater": mean_over_time(volume, 10.0),
        "melt": mean_over_volume(volume, MELT),
    }
    best = {name: float(mean[moving].max()) for name, mean in means.items()}
    made = report(text, (("grip", 0.7 * best["grip"], "lag"), ("slip", 2.0 * best["grip"], "lag"),
                         ("melt", 0.8 * best["melt"], "melt"),
                         ("heater", 0.9 * best["heater"], "heat")), lag=lag)  # fmt: skip
    for window in made.windows:
        if window.limit == "slip":
            assert window.above == 0.0
            continue
        assert window.asked is not None
        near = 1.0 / 128.0 if window.limit == "melt" else 4e-3
        assert window.asked.value / MM3 == pytest.approx(best[window.limit], rel=near)
        mean = means[window.limit]
        expected = STEP * np.count_nonzero(moving & (mean > window.allowed / MM3))
        assert window.above == pytest.approx(expected, rel=0.02, abs=0.01)
    union = np.zeros(len(moving), bool)
    for window in made.windows:
        union |= moving & (means.get(window.limit, means["grip"]) > window.allowed / MM3)
    assert made.excess_time >= 0.98 * STEP * union.sum()
    assert made.excess_time <= made.extruding_time


def lines(flow: float, *, speed: float = 100.0, count: int = 60, lasts: float = 0.4) -> str:
    """Return lines of `lasts` s at `flow` mm3/s, each followed by 1.2 s of slow travel."""
    length, text, x = speed * lasts, [HEAD, f"G1 F{speed * 60:.0f}"], 0.0
    for _ in range(count):
        x += length
        text += [f"G1 X{x:.3f} E{flow * lasts / (AREA * 1e6):.5f}", "G1 Y30 F3000", "G1 Y0",
                 f"G1 F{speed * 60:.0f}"]  # fmt: skip
    return "\n".join(text) + "\n"


MACHINE = (("torque", 20.2, "lag"), ("skip", 24.8, "lag"), ("melt", 23.0, "melt"),
           ("heater", 76.4, "heat"))  # fmt: skip


def test_short_lines_that_skip_are_seen_whatever_the_melt_zone_carries() -> None:
    """Lines of 0.4 s at 40 mm3/s on a machine that skips at 24.8: the melt zone's 47 mm3 carry
    them (a mean of about 14), the motor does not."""
    made = report(lines(40.0), MACHINE, melt_volume=19.6 * AREA * 1e6 * MM3)
    found = {window.limit: window for window in made.windows}

    assert found["melt"].above == found["heater"].above == 0.0
    assert found["skip"].asked is not None
    assert found["skip"].asked.value / MM3 == pytest.approx(40.0, rel=1e-3)
    assert found["skip"].above / made.extruding_time > 0.7
    assert made.excess_count == 60  # the lines are more than a second apart
    assert made.excesses[0].limit == "torque"
    assert made.excesses[0].asked / MM3 == pytest.approx(40.0, rel=1e-3)


def test_a_stated_pressure_advance_is_the_lag() -> None:
    """0.4 s lines reach their flow over 0.04 s, not over 1.2 s; advance set in the print counts
    from there on (a mean over 1.2 s of 0.4 s at 40 mm3/s is at most 40 / 3 and a little)."""
    bare = report(lines(40.0), MACHINE).windows[0]
    slow = report("SET_PRESSURE_ADVANCE ADVANCE=1.2\n" + lines(40.0), MACHINE).windows[0]

    assert (bare.shortest, bare.longest) == (0.04, 0.04)
    assert (slow.shortest, slow.longest) == (1.2, 1.2)
    assert bare.asked is not None
    assert slow.asked is not None
    assert slow.asked.value < 0.4 * bare.asked.value

    half = lines(40.0, count=5)
    changed = report(half + "SET_PRESSURE_ADVANCE ADVANCE=1.2\n" + half, MACHINE).windows[0]
    assert (changed.shortest, changed.longest) == (0.04, 1.2)
    assert changed.asked.value == pytest.approx(bare.asked.value, rel=1e-6)
    alone = report(half, MACHINE).windows[0]
    assert changed.above == pytest.approx(alone.above, rel=1e-6)


@wide
@pytest.mark.parametrize("block", spread([17, 4096], 1))
def test_the_blocks_a_print_is_read_in_do_not_matter(block: int) -> None:
    """The whole judgement is the same, to the last digit."""
    text = made_up(13, 400)
    limits = (("grip", 6.0, "lag"), ("melt", 4.0, "melt"), ("heater", 3.0, "heat"))
    one, other = report(text, limits), report(text, limits, block_size=block)

    assert one.windows == other.windows
    assert one.excesses == other.excesses
    assert (one.excess_count, one.excess_time) == (other.excess_count, other.excess_time)
    assert one.excess_count > 1


def test_places_are_told_apart_and_the_worst_kept() -> None:
    """Thirty lines of rising flow, 3 s apart: thirty places, the ten last are kept."""
    text = "".join(
        f"G1 X{(k + 1) % 2 * 80} Y{0.4 * k:.1f} E{3.0 + 0.05 * k:.2f} F6000\nG4 P3000\n"
        for k in range(30)
    )
    made = report(HEAD + text, (("grip", 5.0, "lag"),))

    assert made.excess_count == 30
    ratios = [place.asked for place in made.excesses]
    assert ratios == sorted(ratios, reverse=True)
    assert [place.line for place in made.excesses] == [4 + 2 * k for k in range(29, 19, -1)]
    assert made.excess_time == pytest.approx(made.windows[0].above)


def test_tools_do_not_lend_each_other_their_flow() -> None:
    """Two tools in turn: over 10 s each is judged by its own filament alone."""
    part = "T{}\nG1 X{} F1200\nG1 X{} E4\n"
    both = "".join(part.format(k % 2, 100 * (k % 2), 100 - 100 * (k % 2)) for k in range(20))
    made = report(HEAD + "G1 F1200\n" + both, (("heater", 99.0, "heat"),)).windows[0]
    single = "".join(part.format(0, 100 * (k % 2), 100 - 100 * (k % 2)) for k in range(20))
    alone = report(HEAD + "G1 F1200\n" + single, (("heater", 99.0, "heat"),)).windows[0]
    assert made.asked is not None
    assert alone.asked is not None
    assert made.asked.value < 0.8 * alone.asked.value


def test_a_print_that_pushes_nothing_asks_nothing() -> None:
    """No flow, no windows above; the lengths of the windows are told all the same."""
    made = report(HEAD + "G1 X50 F3000\n", MACHINE)
    assert [window.above for window in made.windows] == [0.0] * 4
    assert made.windows[0].longest == 0.04
    assert made.excess_count == 0
    assert made.share_of_time_above_any_limit == 0.0


def test_a_limit_of_nothing_is_exceeded_all_the_time() -> None:
    """A melt zone that melts nothing: all extruding time is above it."""
    made = report(HEAD + "G1 X500 E20 F3000\n", (("melt", 0.0, "melt"), ("grip", 0.0, "lag")))
    assert made.windows[1].above == pytest.approx(made.extruding_time, rel=1e-6)
    assert made.windows[0].above == pytest.approx(made.extruding_time, rel=0.3)


@pytest.mark.parametrize("lag", [0.0, math.inf, math.nan, -1.0])
def test_a_window_must_last(lag: float) -> None:
    """No window of no time, nor of any other nonsense."""
    with pytest.raises(InputError):
        Windows(lag=lag, heat=10.0)
