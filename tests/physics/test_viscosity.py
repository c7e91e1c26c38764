"""Pressure drops against quadrature, a flow library and published viscosities."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from fluids import one_phase_dP
from scipy.integrate import quad
from scipy.optimize import brentq

from advisor.physics import viscosity

LAND = {"radius": 0.2e-3, "length": 0.6e-3}
CONE = {"inlet_radius": 1e-3, "outlet_radius": 0.2e-3, "half_angle": math.radians(30)}
BORE = {"radius": 1e-3, "length": 10e-3}
AREA = math.pi / 4 * 1.75e-3**2
PLA = {"critical_stress": 1.00861e5, "index": 0.25}  # an injection grade, from memory
PLA_WLF = {
    "pre_factor": 3.31719e9,
    "reference_temperature": 373.15,
    "slope": 20.194,
    "span": 51.6,
}


def test_power_law_nozzle():
    """K 10 kPa s^n, n 0.4, 10 mm3/s: land, cone, bore, sum (independent computation)."""
    melt_law = {"consistency": 1e4, "index": 0.4}

    land = viscosity.capillary_pressure(1e-8, **LAND, **melt_law)
    cone = viscosity.cone_pressure(1e-8, **CONE, **melt_law)
    bore = viscosity.capillary_pressure(1e-8, **BORE, **melt_law)

    assert land == pytest.approx(1_300_769.61, rel=1e-8)
    assert cone == pytest.approx(535_114.854, rel=1e-8)
    assert bore == pytest.approx(628_514.24, rel=1e-8)
    assert land + cone + bore == pytest.approx(2.4644e6, rel=2e-5)
    assert AREA * (land + cone + bore) == pytest.approx(5.928, abs=6e-4)


@pytest.mark.parametrize(
    ("bore", "flow", "parts", "force"),
    [
        (0.4, 5, (0.9719, 0.4208, 0.5428), 4.655),
        (0.4, 10, (1.2560, 0.5438, 0.7015), 6.016),
        (0.4, 20, (1.6232, 0.7028, 0.9066), 7.775),
        (0.6, 10, (0.5339, 0.3071, 0.7015), 3.710),
    ],
)
def test_isothermal_nozzles(bore, flow, parts, force):
    """K 12 kPa s^n, n 0.37, MPa and N on 1.75 mm filament (independent computation)."""
    melt_law = {"consistency": 12_000.0, "index": 0.37}
    radius = bore * 0.5e-3
    cone = CONE | {"outlet_radius": radius}

    found = (
        viscosity.capillary_pressure(flow * 1e-9, radius=radius, length=0.6e-3, **melt_law),
        viscosity.cone_pressure(flow * 1e-9, **cone, **melt_law),
        viscosity.capillary_pressure(flow * 1e-9, **BORE, **melt_law),
    )

    assert np.array(found) / 1e6 == pytest.approx(parts, abs=6e-5)
    assert AREA * sum(found) == pytest.approx(force, abs=6e-4)


def test_newtonian_capillary_with_fluids():
    """fluids.one_phase_dP, laminar: 954 929.6586 Pa at 100 Pa s, 10 mm3/s."""
    library = one_phase_dP(m=1.1e-5, rho=1100.0, mu=100.0, D=4e-4, roughness=0.0, L=6e-4)

    found = viscosity.capillary_pressure(1e-8, consistency=100.0, index=1.0, **LAND)

    assert found == pytest.approx(954_929.6586, rel=1e-9)
    assert found == pytest.approx(library, rel=1e-9)


def test_newtonian_cone():
    """8 mu Q (R2^-3 - R1^-3) / (3 pi tan h): 182 306.088 Pa (independent computation)."""
    found = viscosity.cone_pressure(1e-8, consistency=100.0, index=1.0, **CONE)

    assert found == pytest.approx(182_306.088, rel=1e-8)


@pytest.mark.parametrize("index", [0.25, 0.37, 0.6, 1.0])
def test_cone_is_a_pile_of_capillaries(index):
    """scipy.integrate.quad of the capillary's gradient along the cone."""

    def gradient(radius: float) -> float:
        slice_ = viscosity.capillary_pressure(
            1e-8, radius=radius, length=1.0, consistency=9000.0, index=index
        )
        return float(slice_) / math.tan(CONE["half_angle"])

    expected = quad(gradient, CONE["outlet_radius"], CONE["inlet_radius"])[0]

    found = viscosity.cone_pressure(1e-8, consistency=9000.0, index=index, **CONE)
    assert found == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("index", [0.25, 0.4, 0.8, 1.0])
def test_capillary_from_the_velocity_profile(index):
    """Flow integrated from the shear rate across the bore gives the flow that was asked for."""
    drop = viscosity.capillary_pressure(1e-8, consistency=9000.0, index=index, **LAND)

    def shear(radius: float) -> float:
        stress = radius * float(drop) / (2 * LAND["length"])
        return (stress / 9000.0) ** (1.0 / index)

    flow = math.pi * quad(lambda r: r**2 * shear(r), 0.0, LAND["radius"])[0]

    assert flow == pytest.approx(1e-8, rel=1e-7)


def test_shear_rates():
    """4 Q / (pi R^3) for 0.4 and 0.6 mm; Rabinowitsch factors (independent computation)."""
    flow = np.array([10e-9, 20e-9])

    assert viscosity.apparent_shear_rate(flow, radius=0.2e-3) == pytest.approx(
        [1591.5, 3183.1], abs=0.06
    )
    assert viscosity.apparent_shear_rate(flow, radius=0.3e-3) == pytest.approx(
        [471.6, 943.1], abs=0.06
    )
    found = viscosity.rabinowitsch_factor(np.array([0.25, 0.37, 0.40, 1.0]))
    assert found == pytest.approx([1.7500, 1.425676, 1.3750, 1.0], abs=6e-7)


@pytest.mark.parametrize(
    ("index", "double", "narrow"),
    [(0.25, 1.1892, 2.033), (0.37, 1.2924, 2.353), (0.5, 1.4142, 2.756), (1.0, 2.0, 5.063)],
)
def test_scaling_of_the_pressure(index, double, narrow):
    """Twice the flow: 2^n; 0.4 for 0.6 mm: 1.5^(1 + 3 n) (independent computation)."""
    law = {"length": 0.6e-3, "consistency": 9000.0, "index": index}
    base, twice = (viscosity.capillary_pressure(q, radius=0.3e-3, **law) for q in (1e-8, 2e-8))
    thin = viscosity.capillary_pressure(1e-8, radius=0.2e-3, **law)

    assert twice / base == pytest.approx(double, abs=6e-5)
    assert thin / base == pytest.approx(narrow, abs=6e-4)


def test_wall_stress_balances_the_pressure():
    """Force balance on the plug: stress x wall = pressure x section."""
    stress = viscosity.wall_shear_stress(1e6, radius=0.2e-3, length=0.6e-3)

    assert stress * 2 * math.pi * 0.2e-3 * 0.6e-3 == pytest.approx(1e6 * math.pi * 0.2e-3**2)


def zero_viscosity(celsius: float) -> float:
    return float(viscosity.cross_wlf_zero_viscosity(celsius + 273.15, **PLA_WLF))


def test_cross_wlf_viscosity():
    """PLA at 210 degC, 0 / 100 / 1000 / 3000 per second (independent computation)."""
    at_rest = zero_viscosity(210.0)

    found = viscosity.cross_viscosity(
        np.array([0.0, 100.0, 1000.0, 3000.0]), zero_viscosity=at_rest, **PLA
    )

    assert found == pytest.approx([3556.27, 995.295, 229.889, 104.647], rel=2e-5)


def exact_cross_pressure(flow: float, radius: float, length: float, law: dict[str, float]) -> float:
    """Pressure from the exact integral of the velocity profile (scipy quad and brentq)."""

    def stress(rate: float) -> float:
        return float(viscosity.cross_viscosity(rate, **law)) * rate

    def excess(log_wall_rate: float) -> float:
        wall_rate = math.exp(log_wall_rate)
        wall = stress(wall_rate)

        def part(rate: float) -> float:
            return stress(rate) ** 3

        # integration by parts: int tau^2 g dtau = (tau_w^3 g_w - int tau^3 dg) / 3
        below = quad(part, 0.0, wall_rate, limit=200, epsrel=1e-10)[0]
        return math.pi * radius**3 / wall**3 * (wall**3 * wall_rate - below) / 3.0 - flow

    wall_rate = math.exp(brentq(excess, math.log(1.0), math.log(1e6), xtol=1e-12))
    return 2.0 * length * stress(wall_rate) / radius


def test_cross_capillary_closed_form():
    """1.80614 MPa exact, 1.81993 by the local power law (independent computation; quadrature)."""
    law = {"zero_viscosity": zero_viscosity(210.0)} | PLA
    exact = exact_cross_pressure(1e-8, 0.2e-3, 0.6e-3, law)

    found = viscosity.cross_capillary_pressure(1e-8, **LAND, **law)

    assert exact / 1e6 == pytest.approx(1.80614, abs=6e-5)
    assert found / 1e6 == pytest.approx(1.81993, abs=6e-5)


@every("celsius", [190.0, 210.0, 240.0])
@every("flow", [2e-9, 1e-8, 3e-8])
def test_cross_capillary_is_close_to_the_exact_integral(celsius, flow):
    """Claim: 0 to 2.5 % above the exact integral in the printing range (2.03 % found)."""
    law = {"zero_viscosity": zero_viscosity(celsius)} | PLA
    exact = exact_cross_pressure(flow, 0.2e-3, 0.6e-3, law)

    found = viscosity.cross_capillary_pressure(flow, **LAND, **law)

    assert 1.0 < found / exact < 1.025


def test_cross_melt_of_published_parameters():
    """Cross form from a published PLA row: eta0 3000 Pa s, lambda 0.03 s, n 0.33.

    Materials 16 (2023) 7664, Table 1, mid of the row; the critical stress is eta0 / lambda.
    """
    law = {"zero_viscosity": 3000.0, "critical_stress": 3000.0 / 0.03, "index": 0.33}

    found = viscosity.cross_viscosity(np.array([10.0, 100.0, 1000.0, 3000.0]), **law)

    assert found == pytest.approx([2074.1931, 971.5922, 278.6815, 140.2755], abs=6e-5)
    exact = exact_cross_pressure(1e-8, 0.2e-3, 0.6e-3, law)
    assert exact / 1e6 == pytest.approx(2.26801, abs=6e-5)
    closed = viscosity.cross_capillary_pressure(1e-8, **LAND, **law)
    assert 1.0 < closed / exact < 1.02


def test_consistency_falls_with_temperature():
    """Published ABS set (Osswald et al. 2018, read second-hand): K and viscosity at 1000 per s."""
    celsius = np.array([230.0, 240.0, 250.0, 260.0])

    found = viscosity.shifted_consistency(
        6434.0, temperature=celsius, reference_temperature=250.0, sensitivity=0.0185
    )

    assert found == pytest.approx([9314.72, 7741.51, 6434.00, 5347.32], abs=6e-3)
    assert found * 1000.0 ** (0.378 - 1) == pytest.approx([126.8, 105.4, 87.6, 72.8], abs=0.06)


# ISO 1133 die and piston (from memory)
DIE = {"die_radius": 1.0475e-3, "die_length": 8e-3, "piston_area": 0.711e-4}


def test_wall_stress_of_the_melt_index_die():
    """2.16, 5, 10 kg: 19 504.7, 45 149.7, 90 299.5 Pa (independent computation)."""
    found = viscosity.die_wall_stress(np.array([2.16, 5.0, 10.0]), **DIE)

    assert found == pytest.approx([19_504.7, 45_149.7, 90_299.5], abs=0.06)


@pytest.mark.parametrize(
    ("mfr", "density", "load", "index", "rate", "consistency", "drop"),
    [
        (7, 1.10, 2.16, 0.40, 11.749, 6409.4, 0.8337),
        (7, 1.10, 2.16, 0.50, 11.749, 5089.6, 1.3621),
        (8, 1.13, 2.16, 0.55, 13.071, 4282.7, 1.6418),
        (20, 0.945, 10.0, 0.378, 39.075, 19832.8, 2.1998),
        (12, 0.74, 2.16, 0.40, 29.940, 4408.8, 0.5735),
        (10, 1.08, 1.2, 0.60, 17.095, 1798.8, 0.9872),
    ],
)
def test_melt_index_anchor(mfr, density, load, index, rate, consistency, drop):
    """From g/10 min to consistency and pressure of a 0.4 mm land (independent computation)."""
    mass_flow, melt_density = mfr * 1e-3 / 600.0, density * 1e3

    found = viscosity.consistency_from_melt_index(
        mass_flow, melt_density=melt_density, load_mass=load, index=index, **DIE
    )

    apparent = viscosity.apparent_shear_rate(mass_flow / melt_density, radius=DIE["die_radius"])
    assert apparent == pytest.approx(rate, abs=6e-4)
    assert found == pytest.approx(consistency, abs=0.06)
    pressure = viscosity.capillary_pressure(1e-8, consistency=found, index=index, **LAND)
    assert pressure / 1e6 == pytest.approx(drop, abs=6e-5)


def test_no_flow_no_pressure():
    """At rest every drop is zero, without warnings."""
    law = {"consistency": 9000.0, "index": 0.37}

    assert viscosity.capillary_pressure(0.0, **LAND, **law) == 0.0
    assert viscosity.cone_pressure(0.0, **CONE, **law) == 0.0
    cross = {"zero_viscosity": 3000.0} | PLA
    assert viscosity.cross_capillary_pressure(0.0, **LAND, **cross) == 0.0
    found = viscosity.consistency_from_melt_index(
        0.0, melt_density=1000.0, load_mass=2.16, index=0.4, **DIE
    )
    assert found == 0.0
