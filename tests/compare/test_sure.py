"""A target that so many machines are to reach: what is found is enough, one step less is not.

Each answer is built anew by `Machine.with_` and its machines are counted here, without the search.
The words and bounds are our own, with no source outside the project.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st
from jsonschema import Draft202012Validator
from numpy.typing import NDArray
from tiers import WIDE, only_wide, spread, wide

import advisor
from advisor.answers.asks import Asks
from advisor.answers.build_records import LeverAnswer, TargetReport
from advisor.answers.builds.compare import compare
from advisor.answers.builds.target import sought
from advisor.answers.lint import check_config
from advisor.base import Origin, OriginKind, UsageError
from advisor.base.units import parse_unit
from advisor.machine.levers import load_levers
from advisor.machine.machine import Machine, stated_classes
from advisor.report import compare_text
from advisor.report.json import as_json, json_schema
from advisor.report.look import Look

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
SHARES = ("50%", "60%", "75%", "85%", "90%", "95%", "99%")
CASES = [
    ("healthy", "15mm3/s", "60%"),
    ("healthy", "15mm3/s", "90%"),
    ("healthy", "20mm3/s", "80%"),
    ("no-sheet", "11mm3/s", "75%"),
    ("asks-too-much", "11mm3/s", "90%"),
    ("soft-filament", "5.3mm3/s", "50%"),
]


@functools.cache
def solve(sample: str, target: str, sure: str | None) -> TargetReport:
    config = str(SAMPLES / sample / "printer.cfg")
    report = compare(config, Asks(), target=target, sure=sure).target
    assert report is not None
    return report


@functools.cache
def machine(sample: str) -> Machine:
    return check_config(str(SAMPLES / sample / "printer.cfg"), Asks()).machines["extruder"]


def counted(sample: str, lever: LeverAnswer, value: float, target: float) -> tuple[float, bool]:
    """Return the share of built machines that reach a flow, and whether the typical one does."""
    base = machine(sample)
    words = next(one.goes_with for one in load_levers() if one.fact == lever.fact)
    si = float(parse_unit(lever.unit).to_si(value))
    made = base.with_(
        {**stated_classes(base.book), **words, lever.fact: si}, origin=Origin(OriginKind.COMMAND)
    )
    flows = np.broadcast_to(made.book.samples("flow.capacity"), (base.ensemble.size,)) * 1e9
    reach = [flow >= target * (1 - 1e-12) for flow in flows.tolist()]
    return sum(reach) / len(reach), reach[0]


@wide
@pytest.mark.parametrize(("sample", "target", "sure"), spread(CASES, 1))
def test_each_answer_is_enough_and_one_step_less_is_not(
    sample: str, target: str, sure: str
) -> None:
    """Built and counted anew; one step less is below the share or the typical falls short."""
    solved = solve(sample, target, sure)
    share = float(sure.rstrip("%")) / 100
    assert solved.reached is False
    reaching = [lever for lever in solved.levers if lever.to is not None]
    assert reaching, "a case without an answer shows nothing"
    for lever in reaching:
        assert lever.to is not None
        assert lever.now is not None
        part, typical = counted(sample, lever, lever.to, solved.target)
        assert part >= share, lever
        assert typical, lever
        assert lever.sure == pytest.approx(part)
        step = next(one.step for one in load_levers() if one.fact == lever.fact)
        less = lever.to - step if lever.to > lever.now else lever.to + step
        if (less - lever.now) * (lever.to - lever.now) <= 0.0:
            less = lever.now
        part, typical = counted(sample, lever, less, solved.target)
        assert part < share or not typical, lever
        assert lever.one_step_less_sure == pytest.approx(part)


@only_wide
@wide
@pytest.mark.parametrize(("sample", "target"), spread(sorted({case[:2] for case in CASES}), 1))
def test_a_surer_answer_is_never_a_smaller_change(sample: str, target: str) -> None:
    """Each lever goes further, or gives up; the typical machine alone asks the least."""
    gone: dict[str, float] = {}
    moved = 0
    for sure in (None, *(SHARES if WIDE else spread(SHARES, 4))):
        solved = solve(sample, target, sure)
        if solved.reached:
            continue
        for lever in solved.levers:
            size = np.inf if lever.to is None else abs(lever.to - (lever.now or 0.0))
            assert size >= gone.get(lever.fact, 0.0) - 1e-9, (lever, sure)
            moved += size > gone.get(lever.fact, 0.0)
            gone[lever.fact] = size
    assert moved > len(gone)


@given(
    st.lists(st.sampled_from([-1.0, 0.2, 0.5, 0.7, 0.9, 0.95]), max_size=400),
    st.sampled_from([0.3, 0.6, 0.8]),
)
def test_the_search_finds_an_edge_and_more_is_never_nearer(
    shares: list[float], least: float
) -> None:
    """Of any shares, rising or not: the value before what is found is not enough."""
    values = [float(place) for place in range(len(shares))]

    def at(some: list[float] | tuple[float, ...]) -> NDArray[np.float64]:
        return np.array([shares[int(value)] for value in some])

    to, best, share = sought(values, at, least)
    if to is not None:
        assert shares[int(to)] >= least
        assert to == 0.0 or shares[int(to) - 1] < least
    if best is not None:
        assert shares[int(best)] == pytest.approx(share, abs=5e-3)
    surer, _, _ = sought(values, at, least + 0.15)
    assert surer is None or (to is not None and surer >= to)


@given(st.integers(1, 5000), st.floats(0.0, 1.0))
def test_of_shares_that_rise_it_is_the_very_first(count: int, least: float) -> None:
    """Against a plain scan; few of them are looked at."""
    shares = np.linspace(0.0, 0.999, count)
    asked = []

    def at(some: list[float] | tuple[float, ...]) -> NDArray[np.float64]:
        asked.extend(some)
        return shares[np.array(some, dtype=int)]

    to, _, _ = sought([float(place) for place in range(count)], at, least)
    enough = np.flatnonzero(shares >= least)
    assert to == (float(enough[0]) if enough.size else None)
    assert len(asked) == len(set(asked)) <= 16 * 6


@wide
@only_wide
def test_what_nothing_reaches_so_surely_is_said_with_what_comes_nearest() -> None:
    """27 mm3/s in 99 % of machines: no lever; each tells how far it gets."""
    solved = solve("healthy", "27mm3/s", "99%")
    assert all(lever.to is None for lever in solved.levers)
    config = str(SAMPLES / "healthy/printer.cfg")
    report = compare(config, Asks(), target="27mm3/s", sure="99%")
    shown = " ".join(compare_text.render(report).split())
    assert (
        "no change of one thing within its limits reaches it in 99 % of machines like this one; "
        "nearest comes melt-zone length"
    ) in shown
    assert "% sure, at" in shown


def test_words_and_json_say_how_sure() -> None:
    """The words of the issue; both shares in the JSON, which keeps to its schema."""
    report = compare(str(SAMPLES / "healthy/printer.cfg"), Asks(), target="15mm3/s", sure="90%")
    shown = " ".join(compare_text.render(report, Look(drawn=False)).split())
    assert "To reach 15.0 mm3/s, 90 % sure, by changing one thing alone" in shown
    assert "reaches 15 mm3/s, 90 % sure" in shown
    tree = json.loads(as_json(report))
    VALIDATOR.validate(tree)
    assert tree["target"]["sure_wanted"] == 0.9
    first = tree["target"]["changes"][0]
    assert first["one_step_less_sure"] < 0.9 <= first["sure"]


def test_what_is_sure_as_it_is_needs_nothing() -> None:
    """And without a share wanted there is none."""
    solved = solve("healthy", "8mm3/s", "90%")
    assert solved.reached is True
    assert solved.levers == ()
    assert (solved.sure or 0.0) >= 0.9
    assert solve("healthy", "15mm3/s", None).wanted is None


@pytest.mark.parametrize("sure", ["sure", "30%", "100%", "-5%", "90mm", "90"])
def test_a_share_that_cannot_be_is_told(sure: str) -> None:
    """A usage error; so is a share without a target."""
    with pytest.raises(UsageError, match="--sure"):
        solve("healthy", "15mm3/s", sure)


def test_a_share_is_of_a_target() -> None:
    """From the library too, as a number in %."""
    config = SAMPLES / "healthy/printer.cfg"
    with pytest.raises(UsageError, match="give target too"):
        advisor.compare(config, sure=90)
    asked = advisor.compare(config, target=15, sure=90).target
    assert asked is not None
    assert asked.wanted == pytest.approx(0.9)
