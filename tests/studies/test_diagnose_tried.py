"""`diagnose` itself on the bench: safe on machines whose truth is known, and in sixty invented complaints.

The quick run asks once of each; the wide run asks of all and does the tests that are proposed. The
figures of the studies are no pass mark here; what is asserted is that no advice would do harm and that
the true cause is never called excluded.
"""

from __future__ import annotations

import functools
import itertools

import numpy as np
import pytest
from tiers import examples, only_wide, wide

from tests.studies import diagnose_safety
from tests.studies.diagnose_ask import ask
from tests.studies.diagnose_bench import Case, cases as drawn, complaint, score, table
from tests.studies.field_symptoms import Complaint, complaints, excluded, unsafe

ONE = "half-resistor"  # a motor that burns one's fingers at half an ampere


# where the advice is still not what a practitioner would give; strict, so that a mended one is seen
WRONG: dict[str, str] = {}


def _cases() -> list[object]:
    return [
        pytest.param(
            one,
            id=one.name,
            marks=pytest.mark.xfail(reason=WRONG[one.name], strict=True)
            if one.name in WRONG
            else (),
        )
        for one in complaints()
        if examples(0, 1, 1) or one.name == ONE
    ]


@wide
@pytest.mark.parametrize("case", _cases())
def test_a_complaint_gets_no_unsafe_advice(case: Complaint) -> None:
    """Nor is the true cause called excluded; where it stands is told by the study."""
    reading = case.ask()

    assert unsafe(case, reading) == []
    assert not excluded(case, reading)


@functools.cache
def _double_current() -> Case:
    """A machine on which twice the current flows, because the resistor is half of what is stated."""
    made = (
        complaint("sense-resistor", np.random.default_rng((6, at)), at) for at in itertools.count()
    )
    return next(
        one
        for one in made
        if one and one.machine.built.current > 1.8 * one.machine.stated["current"]
    )


@wide
def test_twice_the_current_is_not_raised() -> None:
    """Half of the stated resistor: the true current is double, and no advice may raise it."""
    reading = ask(_double_current(), _double_current().told, ())

    found = diagnose_safety.judged(_double_current(), reading)

    assert found == []


@only_wide
def test_no_advice_would_harm_the_true_machine() -> None:
    """Every second machine hides its true current or its true nozzle; two tests are done on each."""
    made = [
        diagnose_safety.tried(one) for one in diagnose_safety.machines(examples(1, 24, 200), seed=3)
    ]

    assert [(one.case.seed, one.case.planted, one.harmful) for one in made if one.harmful] == []
    assert (
        sum(one.in_play for one in made) >= len(made) // 3
    )  # the truth is judged by, not only the words


@only_wide
def test_ten_machines_through_the_study() -> None:
    """The study's own code: odds that are odds, all causes told, and a table."""
    scores = [score(one, ask) for one in drawn(10, seed=2)]

    for one in scores:
        whole = sum(odds for _, odds, _ in one.at_once.causes) + one.at_once.unexplained
        assert whole == pytest.approx(1.0, abs=0.02)
        assert len(one.at_once.causes) >= 20
    assert any(line.startswith("first, at once") for line in table(scores))
