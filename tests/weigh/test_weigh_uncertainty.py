"""How sure a weighed ratio is: JCGM 100, with the package `uncertainties` as outside reference."""

from __future__ import annotations

import math

import numpy as np
import pytest
from machines import AREA, SETUP
from tiers import examples, only_wide, wide
from uncertainties import ufloat
from uncertainties.umath import sqrt

from advisor.weigh.reader import WeighedTable, read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.uncertainty import Budget, usual_budget

DENSITY = (1240.0 - 10.0 * math.sqrt(3.0), 1240.0, 1240.0 + 10.0 * math.sqrt(3.0))
"""A rectangle whose standard uncertainty is 10 kg/m3."""


def table(*rows: tuple[float, float, float], notes: str = "") -> WeighedTable:
    lines = [f"{flow};{length};{mass};no" for flow, length, mass in rows]
    head = "flow [mm3/s];length [mm];mass [g];skipped\n"
    return read_weighed((notes + head + "\n".join(lines)).encode(), "t.csv")


def plain_budget(*, scale: float, tolerance: float, length: float) -> Budget:
    """Return a budget of scale, diameter, density and length alone: no cut, no wander."""
    area = 2.0 * tolerance / math.sqrt(3.0) / 1.75
    return Budget(scale=scale * 1e-3, cut=0.0, wander=0.0, density=10.0 / 1240.0, area=area,
                  length=length * 1e-3, coverage=2.0)  # fmt: skip


@pytest.mark.parametrize(
    ("length", "scale", "tolerance", "u_length", "standard", "expanded"),
    [
        (100, 0.01, 0.02, 0.3, 2.087, 4.174),
        (100, 0.01, 0.05, 0.3, 3.674, 7.348),
        (500, 0.01, 0.03, 0.5, 2.157, 4.314),
        (100, 0.1, 0.02, 0.3, 13.778, 27.557),
        (1000, 0.1, 0.02, 0.5, 2.066, 4.132),
    ],
)
def test_the_absolute_ratio_has_the_uncertainty_of_the_table(
    length: int, scale: float, tolerance: float, u_length: float, standard: float, expanded: float
) -> None:
    """Percent, to the last digit (independent computation), and as `uncertainties` has it."""
    mass = 1240.0 * AREA * length * 1e-3 * 1e3
    budget = plain_budget(scale=scale, tolerance=tolerance, length=u_length)
    found = evaluate(
        table((3, length, mass), (5, length, mass), (8, length, mass)), SETUP, budget=budget
    )
    reading = ufloat(0.0, scale / math.sqrt(12.0))
    weighed = (mass + reading) - ufloat(0.0, scale / math.sqrt(12.0))
    diameter = ufloat(1.75, tolerance / math.sqrt(3.0))
    area = math.pi / 4 * diameter**2
    ratio = weighed / (ufloat(1.24e-3, 0.01e-3) * area * ufloat(length, u_length))

    assert ratio.nominal_value == pytest.approx(1.0)
    assert 100 * found.reference_expanded == pytest.approx(expanded, abs=1e-3)
    assert 100 * ratio.std_dev == pytest.approx(standard, abs=6e-4)
    assert found.reference_expanded == pytest.approx(2 * ratio.std_dev, rel=1e-4)


def test_the_ratio_method_cancels_density_and_diameter() -> None:
    """1.4000 g against 1.4913 g on a 0.01 g scale: 0.938778, U 0.0075 (independent computation)."""
    budget = plain_budget(scale=0.01, tolerance=0.05, length=0.5)
    found = evaluate(
        table((3, 500, 1.4913), (5, 500, 1.4913), (8, 500, 1.4000)), SETUP, budget=budget
    )
    step = found.steps[-1]

    def weighed(mass: float) -> object:
        return ufloat(mass, 0.01 / math.sqrt(12)) - ufloat(0, 0.01 / math.sqrt(12))

    quotient = weighed(1.4000) / weighed(1.4913)
    assert step.ratio == pytest.approx(0.938778, abs=6e-7)
    assert step.expanded == pytest.approx(0.00751, abs=6e-6)
    assert step.expanded == pytest.approx(2 * quotient.std_dev, rel=1e-6)


def test_pieces_and_repeats_make_it_surer() -> None:
    """Four pieces together, and four weighings of one, against `uncertainties`."""
    usual = usual_budget(
        scale=1e-5, diameter=(1.75e-3,) * 3, measured_diameter=False, density=DENSITY
    )
    mass = 0.83e-3
    scale = 0.01e-3 / math.sqrt(6.0)

    def one() -> object:
        return ufloat(mass, usual.cut) * ufloat(1.0, usual.wander)

    together = (sum(one() for _ in range(4)) + ufloat(0, scale)) / 4
    repeated = sum(one() + ufloat(0, scale) for _ in range(4)) / 4
    assert usual.own(mass, pieces=4, rows=1) == pytest.approx(together.std_dev / mass, rel=1e-9)
    assert usual.own(mass, pieces=1, rows=4) == pytest.approx(repeated.std_dev / mass, rel=1e-9)
    assert usual.own(mass, pieces=1, rows=1) > usual.own(mass, pieces=4, rows=1)


def test_what_the_usual_budget_holds() -> None:
    """The spool's tolerance is a rectangle that counts twice; a measured diameter is surer."""
    spool = usual_budget(
        scale=None, diameter=(1.75e-3,) * 3, measured_diameter=False, density=DENSITY
    )
    measured = usual_budget(
        scale=None, diameter=(1.74e-3, 1.745e-3, 1.75e-3), measured_diameter=True, density=DENSITY
    )
    exact = usual_budget(
        scale=None, diameter=(1.75e-3,) * 3, measured_diameter=False, density=(1240.0,) * 3
    )
    area = math.pi / 4 * ufloat(1.75, 0.02 / math.sqrt(3)) ** 2

    assert spool.area == pytest.approx(area.std_dev / area.nominal_value)
    assert spool.density == pytest.approx(10.0 / 1240.0)
    assert measured.area == pytest.approx(2 * 0.005 / math.sqrt(3) / 1.745)
    assert exact.density == pytest.approx(0.005)
    assert spool.scale == pytest.approx(1e-5)


def test_repeats_that_scatter_widen_everything() -> None:
    """Runs of one flow 6 % apart cannot be a 0.01 g scale: the uncertainty follows them."""
    calm = evaluate(table((3, 280, 0.83), (3, 280, 0.83), (8, 280, 0.83), (12, 280, 0.83)), SETUP)
    wild = evaluate(
        table((3, 280, 0.80), (3, 280, 0.85), (8, 280, 0.81), (8, 280, 0.86), (12, 280, 0.83)),
        SETUP,
    )

    assert wild.steps[-1].own > 2 * calm.steps[-1].own
    assert any("scatter" in remark for remark in wild.remarks)
    assert not any("scatter" in remark for remark in calm.remarks)


@only_wide
@wide
def test_a_known_ratio_is_covered_as_often_as_claimed() -> None:
    """JCGM 101 in small: 95 % of simulated ratios lie within the expanded uncertainty."""
    rng = np.random.default_rng(8)
    usual = usual_budget(
        scale=1e-5, diameter=(1.75e-3,) * 3, measured_diameter=False, density=DENSITY
    )
    inside = 0
    tests = examples(200, 400, 400)
    for _ in range(tests):
        noise = rng.normal(size=(3, 2))
        made = [
            1.0
            + usual.wander * x
            + usual.cut / 0.83e-3 * y
            + rng.uniform(-1, 1, 2).sum() * 0.005 / 0.83
            for x, y in noise
        ]
        rows = [(flow, 280, 0.83 * part) for flow, part in zip((3, 8, 12), made, strict=True)]
        step = evaluate(table(*rows), SETUP, budget=usual).steps[-1]
        inside += abs(step.ratio - 1.0) <= step.expanded
    assert 0.92 <= inside / tests <= 0.98
    assert sqrt(ufloat(4, 0.1)).std_dev == pytest.approx(0.025)
