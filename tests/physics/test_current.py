"""What drivers apply: datasheet tables, the firmware's rounding, settings under a limit."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
from every import every
from hypothesis import given, settings, strategies as st

from advisor.physics import current

TWO_RANGE = {
    "firmware_voltages": (0.32, 0.18),
    "chip_voltages": (0.325, 0.180),
    "internal_resistance": 0.02,
}
SCALER = {"scaler_levels": 256, "scaler_minimum": 32}
CONSTANTS = (11750.0, 24000.0, 36000.0)


def test_rms_and_peak_of_a_sine():
    """1.0 A peak is 0.70711 A RMS, 0.56569 A at 80 %, again 0.8 A peak (definition of RMS)."""
    rms = current.rms_from_peak(1.0)
    derated = current.derated_current(rms, share=0.8)

    assert rms == pytest.approx(0.70711, abs=5e-6)
    assert derated == pytest.approx(0.56569, abs=5e-6)
    assert derated * math.sqrt(2.0) == pytest.approx(0.8)


def test_rms_is_the_root_of_the_mean_square():
    """Against numpy's mean square of a sampled sine."""
    wave = 1.7 * np.sin(np.linspace(0.0, 2.0 * np.pi, 10_000, endpoint=False))

    assert current.rms_from_peak(1.7) == pytest.approx(np.sqrt(np.mean(wave**2)))


@pytest.mark.parametrize(
    ("basis", "rms"), [("rms", 1.68), ("peak", 1.187939), ("unsure", 1.187939)]
)
def test_rating_by_basis(basis, rms):
    """Only a rating known to be RMS counts in full (careful reading: common practice)."""
    assert current.rated_rms(1.68, basis) == pytest.approx(rms, abs=1e-6)


def test_unknown_basis_is_refused():
    """The message names the three that are known."""
    with pytest.raises(ValueError, match="rms, peak, unsure"):
        current.rated_rms(1.0, "average")


@every(
    ("resistor", "sheet"),
    [
        (1.00, 0.23),
        (0.82, 0.27),
        (0.50, 0.44),
        (0.33, 0.66),
        (0.22, 0.96),
        (0.18, 1.15),
        (0.15, 1.35),
        (0.12, 1.64),
        (0.10, 1.92),
        (0.075, 2.4),
    ],
)
def test_coarse_range_against_the_datasheet(resistor, sheet):
    """Driver datasheet, choice of sense resistors, printed to 0.01 A (at 0.075 ohm to 0.1 A)."""
    coarse, _ = current.two_range_full_scale(
        sense_resistor=resistor, chip_voltages=(0.325, 0.180), internal_resistance=0.02
    )

    assert coarse == pytest.approx(sheet, abs=0.021 if resistor == 0.075 else 0.0051)


@pytest.mark.parametrize(
    ("resistor", "coarse", "coarse_step", "fine", "fine_step"),
    [
        (0.110, 1.7678, 0.05524, 0.9791, 0.03060),
        (0.100, 1.9151, 0.05985, 1.0607, 0.03315),
        (0.075, 2.4190, 0.07560, 1.3398, 0.04187),
        (0.050, 3.2830, 0.10259, 1.8183, 0.05682),
    ],
)
def test_full_scale_of_both_ranges(resistor, coarse, coarse_step, fine, fine_step):
    """Datasheet formula V / (R + 0.02) / sqrt 2 (independent computation)."""
    found = current.two_range_full_scale(
        sense_resistor=resistor, chip_voltages=(0.325, 0.180), internal_resistance=0.02
    )

    assert found == pytest.approx((coarse, fine), abs=5.1e-5)
    assert np.array(found) / 32 == pytest.approx((coarse_step, fine_step), abs=5.1e-6)


# Asked RMS current [A], range (1 fine), step, RMS current applied [A], at 0.110 ohm: computed apart
# from the code, with plain whole numbers, from the rule in the firmware's public source as of
# August 2026. The rows of 0.90 and 0.95 A are published check values of that rule.
ASKED = [
    (0.10, 1, 2, 0.0918),
    (0.15, 1, 4, 0.1530),
    (0.20, 1, 6, 0.2142),
    (0.25, 1, 7, 0.2448),
    (0.30, 1, 9, 0.3060),
    (0.35, 1, 10, 0.3366),
    (0.40, 1, 12, 0.3977),
    (0.45, 1, 14, 0.4589),
    (0.50, 1, 15, 0.4895),
    (0.55, 1, 17, 0.5507),
    (0.566, 1, 17, 0.5507),
    (0.60, 1, 19, 0.6119),
    (0.65, 1, 20, 0.6425),
    (0.70, 1, 22, 0.7037),
    (0.707, 1, 22, 0.7037),
    (0.75, 1, 24, 0.7649),
    (0.80, 1, 25, 0.7955),
    (0.85, 1, 27, 0.8567),
    (0.90, 1, 28, 0.8873),
    (0.95, 1, 30, 0.9485),
    (0.97, 1, 31, 0.9791),
    (1.00, 0, 17, 0.9944),
    (1.05, 0, 18, 1.0496),
    (1.10, 0, 19, 1.1049),
    (1.15, 0, 20, 1.1601),
    (1.20, 0, 21, 1.2153),
    (1.25, 0, 22, 1.2706),
    (1.30, 0, 23, 1.3258),
    (1.35, 0, 24, 1.3811),
    (1.40, 0, 25, 1.4363),
    (1.45, 0, 26, 1.4916),
    (1.50, 0, 27, 1.5468),
    (1.55, 0, 27, 1.5468),
    (1.60, 0, 28, 1.6020),
    (1.65, 0, 29, 1.6573),
    (1.70, 0, 30, 1.7125),
]


def test_what_a_two_range_driver_applies():
    """Range, step and current at 0.110 ohm, all at once."""
    asked = np.array([row[0] for row in ASKED])

    found = current.two_range_setting(asked, sense_resistor=0.110, **TWO_RANGE)

    assert list(found.range) == [row[1] for row in ASKED]
    assert list(found.step) == [row[2] for row in ASKED]
    assert found.current == pytest.approx([row[3] for row in ASKED], abs=5.1e-5)
    applied = current.two_range_applied(asked, sense_resistor=0.110, **TWO_RANGE)
    assert np.array_equal(applied, found.current)


def test_one_setting_gives_plain_numbers():
    """A scalar in gives scalars out."""
    found = current.two_range_setting(0.566, sense_resistor=0.110, **TWO_RANGE)

    assert (float(found.range), float(found.step)) == (1.0, 17.0)
    assert found.current == pytest.approx(0.5507, abs=5.1e-5)


@settings(deadline=None)
@given(st.floats(0.0, 10.0), st.floats(0.05, 0.5))
def test_a_two_range_driver_never_leaves_its_scale(asked, resistor):
    """Step 0 to 31; within reach the error of rounding is under half a step and 1.6 %."""
    found = current.two_range_setting(asked, sense_resistor=resistor, **TWO_RANGE)
    scale = current.two_range_full_scale(
        sense_resistor=resistor, chip_voltages=(0.325, 0.180), internal_resistance=0.02
    )[int(found.range)]

    assert 0 <= found.step <= 31
    assert scale / 32 * (1 - 1e-12) <= found.current <= scale * (1 + 1e-12)
    if scale / 32 <= asked <= scale / 1.02:
        assert abs(found.current - asked) <= 0.5 * scale / 32 * 1.001 + 0.016 * asked


@pytest.mark.parametrize(
    ("resistor", "amperes"), [(0.110, 2.0892), (0.100, 2.2981), (0.075, 3.0641), (0.050, 4.5962)]
)
def test_full_scale_with_a_global_scaler(resistor, amperes):
    """Datasheet formula V / R / sqrt 2; the sheet's own table reads 1-2 % higher (from memory)."""
    found = current.global_scaler_full_scale(sense_resistor=resistor, full_scale_voltage=0.325)

    assert found == pytest.approx(amperes, abs=5.1e-5)


@pytest.mark.parametrize(
    ("asked", "resistor", "scaler", "step", "applied"),
    [
        (0.566, 0.075, 47, 31, 0.5626),
        (0.707, 0.075, 59, 31, 0.7062),
        (1.0, 0.075, 84, 31, 1.0054),
        (0.3, 0.075, 32, 24, 0.2992),
        (0.566, 0.05, 32, 31, 0.5745),
        (1.5, 0.05, 84, 31, 1.5081),
        (0.566, 0.022, 32, 13, 0.5713),
    ],
)
def test_what_a_driver_with_a_global_scaler_applies(asked, resistor, scaler, step, applied):
    """Scaler and step by nearest rounding, scaler at least 32 (independent computation)."""
    scale = current.global_scaler_full_scale(sense_resistor=resistor, full_scale_voltage=0.325)

    found = current.global_scaler_setting(asked, full_scale=scale, **SCALER)

    assert (float(found.scaler), float(found.step)) == (scaler, step)
    assert found.current == pytest.approx(applied, abs=5.1e-5)
    again = current.global_scaler_applied(np.array([asked]), full_scale=scale, **SCALER)
    assert again[0] == found.current


def test_global_scaler_stops_at_full_scale():
    """Asked for more than there is, the driver gives what it has."""
    assert current.global_scaler_applied(99.0, full_scale=2.0, **SCALER) == 2.0


def test_full_scale_with_a_reference_resistor():
    """12 kohm: 0.6924, 1.4142, 2.1213 A RMS; the sheet's front page says 2.1 A RMS, 3 A peak."""
    found = current.reference_full_scale(reference_resistor=12_000.0, constants=CONSTANTS)

    assert found == pytest.approx((0.6924, 1.4142, 2.1213), abs=5.1e-5)


def test_a_reference_driver_takes_the_smallest_range_that_reaches():
    """Range by the current asked for, then scaler and step (rule from memory)."""
    asked = np.array([0.5, 0.69, 0.70, 1.4, 1.5, 9.0])

    found = current.reference_setting(
        asked, reference_resistor=12_000.0, constants=CONSTANTS, **SCALER
    )

    assert list(found.range) == [0, 0, 1, 1, 2, 2]
    assert found.current[:5] == pytest.approx(asked[:5], rel=0.5 / 90)
    assert found.current[5] == pytest.approx(2.1213, abs=5.1e-5)
    again = current.reference_applied(
        asked, reference_resistor=12_000.0, constants=CONSTANTS, **SCALER
    )
    assert np.array_equal(again, found.current)


def test_setting_under_a_limit_with_an_unknown_driver():
    """Without a driver the setting is the limit rounded down to 0.01 A."""
    assert current.largest_setting_not_above(0.56569, apply=lambda asked: asked) == 0.56
    assert current.largest_setting_not_above(0.8, apply=lambda asked: asked) == 0.80


@every("limit", [0.1, 0.3, 0.56569, 0.70711, 0.8, 0.95, 1.18794, 1.5])
def test_setting_under_a_limit_is_the_largest(limit):
    """One step more is always too much, and the applied current is not above the limit."""
    apply = partial(current.two_range_applied, sense_resistor=0.110, **TWO_RANGE)

    found = current.largest_setting_not_above(limit, apply=apply)

    assert apply(found) <= limit
    steps = found + 0.01 * np.arange(1, 40)
    assert np.all(apply(steps) > limit)


def test_ceiling_keeps_the_setting_itself_under_the_limit():
    """Rounding lets 0.81 A through as 0.7955 A; a ceiling of 0.80 A says no to it."""
    apply = partial(current.two_range_applied, sense_resistor=0.110, **TWO_RANGE)

    assert current.largest_setting_not_above(0.8, apply=apply) == 0.81
    assert current.largest_setting_not_above(0.8, apply=apply, ceiling=0.8) == 0.80


def test_no_setting_is_low_enough():
    """The least step of a coarse driver may already be too much; a limit of nothing is too."""
    apply = partial(current.two_range_applied, sense_resistor=0.110, **TWO_RANGE)

    assert current.largest_setting_not_above(0.02, apply=apply) is None
    assert current.largest_setting_not_above(0.0, apply=apply) is None
    assert current.largest_setting_not_above(0.004, apply=lambda asked: asked) is None


def test_a_driver_at_full_scale_gets_no_absurd_setting():
    """Where full scale is below the limit the setting is held to the limit."""
    apply = partial(current.two_range_applied, sense_resistor=0.5, **TWO_RANGE)

    assert current.largest_setting_not_above(0.85, apply=apply) == 0.85


@pytest.mark.parametrize(
    ("resistance", "volts", "clocks", "share", "amperes"),
    [
        (5.0, 24.0, 24, 2 / 1024, 0.2250),
        (2.4, 24.0, 24, 2 / 1024, 0.4688),
        (2.4, 24.0, 32, 2 / 683, 0.9370),
        (2.4, 12.0, 24, 2 / 1024, 0.2344),
    ],
)
def test_least_current_of_the_silent_chopper(resistance, volts, clocks, share, amperes):
    """First row: the worked example of the driver datasheet, 225 mA; others computed alike."""
    found = current.pwm_lower_current(
        voltage=volts, resistance=resistance, blank_clocks=clocks, pwm_per_clock=share
    )

    assert found == pytest.approx(amperes, abs=6e-5)
