"""Weighed tests: mass and its uncertainty, also by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.physics import weighing

AREA = math.pi / 4 * 1.75e-3**2
PLA = {"density": 1240.0, "filament_area": AREA}


@pytest.mark.parametrize(
    ("density", "length", "grams"),
    [(1240, 100, 0.298255), (1270, 200, 0.610942), (1040, 500, 1.250747), (1210, 100, 0.291039)],
)
def test_nominal_mass(density, length, grams):
    """Density x area x length (independent computation)."""
    found = weighing.nominal_mass(length * 1e-3, density=density, filament_area=AREA)

    assert found * 1e3 == pytest.approx(grams, abs=6e-7)


@pytest.mark.parametrize(
    ("tolerance", "worst", "standard", "exact"),
    [
        (0.02, 2.2857, 1.3197, 2.2988),
        (0.03, 3.4286, 1.9795, 3.4580),
        (0.05, 5.7143, 3.2991, 5.7959),
    ],
)
def test_diameter_counts_twice(tolerance, worst, standard, exact):
    """Percent of the area for a diameter of 1.75 mm: first order, standard, and exact change."""
    half = weighing.tolerance_uncertainty(tolerance)

    assert 2.0 * tolerance / 1.75 * 100 == pytest.approx(worst, abs=6e-5)
    assert 2.0 * half / 1.75 * 100 == pytest.approx(standard, abs=6e-5)
    change = ((1.75 + tolerance) / 1.75) ** 2 - 1
    assert change * 100 == pytest.approx(exact, abs=6e-5)


@pytest.mark.parametrize(
    ("length", "resolution", "tolerance", "u_length", "parts", "standard", "expanded"),
    [
        (100, 0.01, 0.02, 0.3, (1.369, 0.806, 1.320, 0.300), 2.087, 4.174),
        (100, 0.01, 0.05, 0.3, (1.369, 0.806, 3.299, 0.300), 3.674, 7.348),
        (500, 0.01, 0.03, 0.5, (0.274, 0.806, 1.979, 0.100), 2.157, 4.314),
        (100, 0.1, 0.02, 0.3, (13.688, 0.806, 1.320, 0.300), 13.778, 27.557),
        (1000, 0.1, 0.02, 0.5, (1.369, 0.806, 1.320, 0.050), 2.066, 4.132),
    ],
)
def test_uncertainty_of_a_delivery_ratio(
    length, resolution, tolerance, u_length, parts, standard, expanded
):
    """JCGM 100:2008, quotient rule; percent (independent computation)."""
    mass = weighing.nominal_mass(length * 1e-3, **PLA)
    budget = {
        "mass": weighing.mass_uncertainty(resolution * 1e-3) / mass,
        "density": 10.0 / 1240.0,
        "area": 2.0 * weighing.tolerance_uncertainty(tolerance) / 1.75,
        "length": u_length / length,
    }

    found = weighing.relative_uncertainty(**budget)

    assert [100 * float(part) for part in budget.values()] == pytest.approx(parts, abs=6e-4)
    assert 100 * found == pytest.approx(standard, abs=6e-4)
    assert 100 * 2.0 * found == pytest.approx(expanded, abs=1.1e-3)


def test_time_counts_for_a_flow():
    """3 % and 4 % make 5 %."""
    found = weighing.relative_uncertainty(mass=0.03, density=0, area=0, length=0, time=0.04)

    assert found == pytest.approx(0.05)


def test_ratio_to_a_slow_run():
    """1.4000 g against 1.4913 g: 0.938778 (independent computation); nothing against nothing: 0."""
    assert weighing.ratio_to_slow_run(1.4e-3, slow_mass=1.4913e-3) == pytest.approx(
        0.938778, abs=6e-7
    )
    assert weighing.ratio_to_slow_run(0.0, slow_mass=0.0) == 0.0


def test_uncertainty_of_a_mass_by_simulation():
    """JCGM 101 in small: the error of two readings, each off by half a step, 200 000 draws."""
    rng = np.random.default_rng(11)

    errors = rng.uniform(-0.005, 0.005, (2, 200_000)).sum(axis=0)

    assert weighing.mass_uncertainty(0.01) == pytest.approx(float(errors.std()), rel=0.01)


@pytest.mark.parametrize(("resolution", "length"), [(0.001, 27.4), (0.01, 273.8), (0.1, 2737.6)])
def test_length_to_weigh(resolution, length):
    """Length in mm of PLA for 0.5 % in the mass (independent computation)."""
    found = weighing.length_for_mass_uncertainty(0.005, resolution=resolution * 1e-3, **PLA)

    assert found * 1e3 == pytest.approx(length, abs=0.06)


def test_repeatability_adds_in_squares():
    """Resolution of two readings and a standard deviation combine as a root of squares."""
    found = weighing.mass_uncertainty(0.01 * math.sqrt(6.0) * 3, repeatability=0.04)

    assert found == pytest.approx(0.05)
