"""The arithmetic of the odds, against enumeration by hand and distributions of scipy."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from every import every
from scipy import stats

from advisor.answers.diagnosis.cause_book import load_causes
from advisor.answers.diagnosis.evidence import _above, _normal
from advisor.answers.diagnosis.next_trial import Gain, _gives_way, chosen, gain_of
from advisor.answers.diagnosis.odds import mixed, weight_sets
from advisor.answers.diagnosis.reality import tooth_pairs


def test_odds_are_those_of_enumerated_hypotheses() -> None:
    """Bayes over every hypothesis in exact fractions: each cause, each pair, none of them."""
    weights = [Fraction(4), Fraction(2), Fraction(1)]
    alone = [Fraction(3, 10), Fraction(6, 10), Fraction(1, 10)]
    pairs = {(0, 1): Fraction(8, 10), (0, 2): Fraction(3, 10), (1, 2): Fraction(7, 10)}
    none, met, unknown = Fraction(1, 5), Fraction(6, 100), Fraction(12, 100)
    prior = [one / sum(weights) for one in weights]
    drawn = {  # two causes drawn one after the other, given that they differ
        (a, b): prior[a] * prior[b] + prior[b] * prior[a] for a, b in pairs
    }
    differ = sum(drawn.values())
    joint = {(a,): (1 - met - unknown) * prior[a] * alone[a] for a in range(3)}
    joint |= {pair: met * drawn[pair] / differ * pairs[pair] for pair in pairs}
    joint[()] = unknown * none
    total = sum(joint.values())
    one, two, left = mixed(
        np.array([[float(x) for x in weights]]),
        np.array([float(x) for x in alone]),
        {pair: float(x) for pair, x in pairs.items()},
        (float(unknown), float(none)),
        float(met),
    )
    assert one[0] == pytest.approx([float(joint[(a,)] / total) for a in range(3)], rel=1e-12)
    assert two[0] == pytest.approx([float(joint[pair] / total) for pair in pairs], rel=1e-12)
    assert left[0] == pytest.approx(float(joint[()] / total), rel=1e-12)
    assert one.sum() + two.sum() + left.sum() == pytest.approx(1.0, rel=1e-12)


def test_weights_are_off_by_up_to_three_evenly_in_the_logarithm() -> None:
    """Each column is the log-uniform distribution of scipy at even quantiles, in some order."""
    causes = load_causes().causes[:4]
    sets = weight_sets(causes, 3.0, 64)
    assert sets.shape == (64, 4)
    even = (np.arange(64) + 0.5) / 64
    for cause, column in zip(causes, sets.T, strict=True):
        due = cause.grade * stats.loguniform.ppf(even, 1.0 / 3.0, 3.0)
        assert np.sort(column) == pytest.approx(due, rel=1e-12)
    for one, other in itertools.combinations(range(4), 2):  # no cause's order is another's
        assert abs(stats.spearmanr(sets[:, one], sets[:, other]).statistic) < 0.5


def test_readings_have_the_likelihood_of_a_normal_with_wrong_ones_mixed_in() -> None:
    """scipy.stats.norm over its peak, and a share of readings anywhere within a span."""
    off = np.linspace(-0.05, 0.05, 11)
    error, span, wrong = 0.008, 2.0, 0.03
    density = (1 - wrong) * stats.norm.pdf(off, scale=error) + wrong / span
    peak = stats.norm.pdf(0.0, scale=error)
    assert _normal(off, error, span, wrong) == pytest.approx(density / peak, rel=1e-12)
    z = np.linspace(-4, 4, 9)
    assert _above(z, wrong) == pytest.approx((1 - wrong) * stats.norm.cdf(z) + wrong / 2, rel=1e-9)


TEETH = load_causes().teeth


@every(
    "share, ratio, due",
    [
        (1.70, 5.0, ["50:17 for 50:10"]),  # the issue's own case
        (10 / 17, 50 / 17, ["50:10 for 50:17", "5:1 for 50:17"]),
        (1.0, 5.0, []),
        (0.98, 5.0, []),  # two readings of a ruler
        (1.30, 5.0, []),  # no pair there is
    ],
)
def test_tooth_pairs_that_explain_a_length(share: float, ratio: float, due: list[str]) -> None:
    """100 mm asked and 170 come where 50:10 is set and 50:17 is built in: 5 / (50 / 17) = 1.7."""
    assert list(tooth_pairs(share, 0.008, ratio, TEETH)) == due


def test_the_rise_of_a_test_is_what_enumeration_gives() -> None:
    """Over all outcomes, the odds of whatever then leads, less those of what leads now."""
    odds = np.array([0.5, 0.3, 0.2])
    outcomes = {"gone": np.array([0.9, 0.1, 0.1]), "same": np.array([0.1, 0.9, 0.9])}
    expected = 0.0
    for chance in outcomes.values():
        total = float(np.sum(odds * chance))
        expected += total * max(odds * chance) / total
    gain = gain_of("one", odds, outcomes, risk=1, minutes=10.0)
    assert gain.rise == pytest.approx(expected - 0.5)
    assert gain.per_minute == pytest.approx(gain.rise / 10.0)


def test_half_of_a_rise_is_that_of_the_family() -> None:
    """By hand: five causes of one family at 0.1 each against one at 0.4 and what is unexplained.

    A test that tells the family, and none of its causes from another, is worth its half.
    """
    odds = [Fraction(1, 10)] * 5 + [Fraction(4, 10), Fraction(1, 10)]
    families = [[0, 1, 2, 3, 4], [5], [6]]
    found = [Fraction(9, 10)] * 5 + [Fraction(1, 10), Fraction(1, 2)]
    outcomes = {"gone": found, "same": [1 - one for one in found]}

    def rise(groups: list[list[int]]) -> Fraction:
        after = sum(
            max(sum(odds[i] * chance[i] for i in group) for group in groups)
            for chance in outcomes.values()
        )
        return after - max(sum(odds[i] for i in group) for group in groups)

    each, family = rise([[i] for i in range(7)]), rise(families)
    assert (each, family) == (Fraction(9, 100) + Fraction(36, 100) - Fraction(4, 10),
                              Fraction(45, 100) + Fraction(36, 100) - Fraction(5, 10))  # fmt: skip
    groups = np.array([[float(i in group) for group in families] for i in range(7)])
    made = {word: np.array([float(x) for x in row]) for word, row in outcomes.items()}
    shares = np.array([float(x) for x in odds])
    plain = gain_of("one", shares, made, risk=1, minutes=10.0)
    assert plain.rise == pytest.approx(float(each), rel=1e-12)
    both = gain_of("one", shares, made, risk=1, minutes=10.0, groups=groups)
    assert both.rise == pytest.approx(float((each + family) / 2), rel=1e-12)
    alone = gain_of("one", shares, made, risk=1, minutes=10.0, groups=np.eye(7))
    assert alone.rise == pytest.approx(float(each), rel=1e-12)


@every(
    "best, rise, own, due",
    [
        ("pull", 0.02, "slower-retract", True),  # of one class, and sooner
        ("read-resistor", 0.02, "lower-accel", True),  # of a lower class
        ("pull", 0.06, "slower-retract", False),  # it tells much
        ("loose-spool", 0.02, "cool-hotend", False),  # takes longer
        ("look-gears", 0.02, "half-speed", False),  # is riskier
        ("case", 0.0, "case", True),
    ],
)
def test_what_tells_little_gives_way_to_the_leading_causes_own(
    best: str, rise: float, own: str, due: bool
) -> None:
    """Its own test tries the remedy itself: first, where it is no riskier and takes no longer."""
    book = load_causes()
    gain = Gain(best, book.tests[best].risk, rise, rise / 10.0)
    assert _gives_way(gain, own, book) is due


@every(
    "gains, due",
    [
        ([Gain("a", 3, 0.3, 0.03), Gain("b", 1, 0.2, 0.015)], "b"),  # half is enough
        ([Gain("a", 3, 0.3, 0.03), Gain("b", 1, 0.1, 0.0149)], "a"),  # less than half is not
        ([Gain("a", 1, 0.3, 0.02), Gain("b", 1, 0.3, 0.03)], "b"),  # of one risk the best
        ([Gain("a", 0, 0.3, 0.03), Gain("b", 2, 0.3, 0.03)], "a"),  # a tie goes to the lower
        ([Gain("a", 0, 0.0, 0.0)], None),
        ([], None),
    ],
)
def test_the_lowest_risk_that_gives_half_is_chosen(gains: list[Gain], due: str | None) -> None:
    """The lowest class that gives half of the best expected rise per minute."""
    found = chosen(gains, 0.5, 0.005)
    assert (found.name if found else None) == due


def test_one_case_temperature_cannot_part_current_and_mount() -> None:
    """Twice the current squared or twice the thermal resistance: the same rise, by physics."""
    from advisor.physics import heat

    parts = {"resistance_20c": 2.4, "ambient": 298.15, "temperature_coefficient": 0.00393}
    more = heat.winding_rise(0.5 * math.sqrt(2.0), thermal_resistance=20.0, **parts)
    worse = heat.winding_rise(0.5, thermal_resistance=40.0, **parts)
    assert more == pytest.approx(worse, rel=1e-9)
