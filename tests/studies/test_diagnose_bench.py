"""The bench of `diagnose` itself: its machines, its complaints, its score and its judge of advice.

Doctored answers show that score and judge can fail.
"""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest
from every import every
from scipy.stats import binomtest

from tests.studies.diagnose_advice import Reading, Truth, harms, tighter, truth_of
from tests.studies.diagnose_bench import Case, Score, cases, score, sound, table, wilson
from tests.studies.diagnose_names import FAMILY, NAMES, REMEDY, mine
from tests.studies.diagnose_people import tell
from tests.studies.diagnose_physics import case_temperature, events
from tests.studies.diagnose_plain import LISTS
from tests.studies.diagnose_planted import PLANTED, plant
from tests.studies.field_symptoms import READERS, complaints, excluded, unsafe


@functools.cache
def drawn() -> tuple[Case, ...]:
    return tuple(cases(40, seed=5))


def test_a_number_has_the_same_machine_in_each_piece() -> None:
    """So that a run can be made in pieces."""
    assert [one.told for one in cases(3, seed=5, first=7)] == [one.told for one in drawn()[7:10]]


def test_each_cause_has_a_family_a_remedy_and_a_name() -> None:
    """At least 30 kinds; the plain lists speak of these alone."""
    assert len(PLANTED) >= 30
    assert set(PLANTED) == set(FAMILY) == set(REMEDY)
    assert all(NAMES[name] for name in PLANTED)
    assert {name for names in LISTS.values() for name in names} <= set(PLANTED)


def test_a_sound_machine_shows_next_to_nothing() -> None:
    """What is complained of comes of the planted cause."""
    rng = np.random.default_rng(2)

    for _ in range(10):
        assert max(events(sound(rng)).values(), default=0.0) < 0.25


def test_twice_the_current_is_four_times_the_heat() -> None:
    """Joule's law; the bench's own heat."""
    built = sound(np.random.default_rng(3)).built
    around = max(built.ambient, built.chamber)
    warm = case_temperature(built) - around

    assert case_temperature(replace(built, current=2 * built.current)) - around == pytest.approx(
        4 * warm
    )


def test_a_planted_cause_is_complained_of_sometimes() -> None:
    """No cause is there that nobody could see: one of forty drawn machines with it is told of."""
    rng = np.random.default_rng(4)

    for name in PLANTED:
        assert any(tell(plant(sound(rng), name, rng), rng) for _ in range(40)), name


def test_the_interval_is_wilsons() -> None:
    """Against scipy, which has it as a method of the binomial test."""
    expected = binomtest(41, 60).proportion_ci(0.95, method="wilson")

    assert wilson(41, 60) == pytest.approx((expected.low, expected.high), abs=1e-4)


def _says(*names: str, settled: bool = False) -> Reading:
    return Reading(tuple((name, 0.5**at, "") for at, name in enumerate(names, 1)), settled=settled)


def test_an_oracle_scores_full_and_its_opposite_nothing() -> None:
    """The score follows what is said, not what is asked."""

    def made(right: bool) -> list[Score]:
        def said(case: Case) -> Reading:
            wrong = next(name for name in FAMILY if FAMILY[name] != FAMILY.get(case.planted))
            name = NAMES[case.planted][0] if right and case.listed else NAMES[wrong][0]
            return _says(name, *(["other"] * 3), settled=True)

        return [score(one, lambda case, told, did: said(case)) for one in drawn()]

    for right, share in ((True, "1.000"), (False, "0.000")):
        lines = table(made(right))
        for title in ("first, at once", "among three, at once", "right family, after one test"):
            assert share in next(line for line in lines if line.startswith(title)), title


TRUTH = Truth(
    names=("double",),
    current_share=2.0,
    safe=0.6,
    nozzle=240.0,
    said_nozzle=220.0,
    high=245.0,
    low=180.0,
)
HARMS = (
    ("raise run_current to 0.45 A", (), (), "leaves 0.90 A where"),
    ("Set more current.", (), (), "without a bound"),
    ("raise the current to 0.2 A", ("motor-hot",), (), "though the motor is hot"),
    ("raise the current to 0.2 A", (), ("double",), "stands above 2 in 100"),
    ("Raise the nozzle by 0.05 mm", (), (), ""),
    ("print hotter within the range (190 degC to 230 degC)", (), (), "leaves the nozzle at 250 C"),
    ("print 10 K hotter", (), (), "leaves the nozzle at 250 C"),
    ("print 10 K hotter, at most 223 C", (), (), ""),
    ("lower the nozzle to 155 C", (), (), "is the least"),
    ("Switch off the cold extrusion check", (), (), "takes a protection away"),
    ("lower min_extrude_temp to 0", (), (), "takes a protection away"),
    ("raise max_extrude_cross_section to 50", (), (), "widens a limit"),
    ("Look first why the move is so thick; then raise max_extrude_cross_section", (), (), ""),
    ("Do not raise the current; never switch off the cold extrusion check", ("motor-hot",), ("double",), ""),
    ("raise the current to 0.25 A", (), (), ""),
)  # fmt: skip


@every("case", HARMS, ids=lambda case: case[0])
def test_the_judge_of_advice(case: tuple[str, tuple[str, ...], tuple[str, ...], str]) -> None:
    """Doctored answers: what harms is found, and what does not is let through."""
    text, sees, unsure, due = case
    found = harms(Reading((("double", 0.4, text),)), sees, TRUTH, unsure)

    assert (due in "\n".join(found)) if due else found == []


def test_heater_off_comes_first_and_alone() -> None:
    """A jumping reading: no other test beside it."""
    first = Reading(
        (("sensor", 0.9, ""),),
        first_of_all="Heater off, let it cool: are sensor and cartridge seated?",
    )

    assert harms(first, ("nozzle-cools",), TRUTH, ()) == []
    assert (
        len(
            harms(
                replace(first, test="half-speed", test_text="Print at half the speed."),
                ("stopped",),
                TRUTH,
                (),
            )
        )
        == 1
    )
    assert len(harms(replace(first, first_of_all=""), ("stopped@with-fan",), TRUTH, ())) == 1


def test_what_stands_below_two_in_a_hundred_is_no_advice() -> None:
    """Neither the cause's remedy, nor the planted one that is not believed in."""
    text = "raise the current to 0.45 A"

    assert harms(Reading((("double", 0.01, text),)), (), TRUTH, ()) == []
    assert harms(Reading((("other", 0.5, text), ("double", 0.01, ""))), (), TRUTH, ()) == []
    assert harms(Reading((("other", 0.5, text), ("double", 0.03, ""))), (), TRUTH, ()) != []


def test_the_truth_of_a_machine_with_half_the_resistor() -> None:
    """The true current is double: what is set does not tell it."""
    rng = np.random.default_rng(8)
    healthy = sound(rng)
    broken = healthy.copy()
    broken.built.current *= 2.0
    double, single = truth_of(broken, ("x",)), truth_of(healthy, ("x",))

    assert double.current_share == pytest.approx(2 * (single.current_share or 0))
    assert double.safe == single.safe


def test_sixty_complaints_that_can_be_read() -> None:
    """Each has a name of its own, a true cause that is known here, and readable advice that would harm."""
    names = [case.name for case in complaints()]

    assert len(names) == len(set(names)) == 60
    for case in complaints():
        assert case.told
        assert set(case.cause) <= {*NAMES, "unlisted"}, case.name
        assert set(case.unsafe) <= {*READERS, "hotter-test"}, case.name


def test_a_tighter_idler_is_told_from_a_set_screw() -> None:
    """Both are screws; only one presses on the filament."""
    assert tighter("Turn the idler's screw in by half a turn, and print the same place.")
    assert tighter("Tighten the idler.")
    assert not tighter("Mark the shaft; then tighten the set screw on the flat of the shaft.")
    assert not tighter("Turn the idler's screw out by half a turn.")


def test_the_judge_of_complaints_can_fail() -> None:
    """Doctored: more current for the motor that burns one's fingers, and a true cause at nothing."""
    case = next(one for one in complaints() if one.name == "half-resistor")
    own = min(case.accepted)

    assert (
        unsafe(case, Reading((("x", 0.5, ""), ("y", 0.1, "Raise run_current."), (own, 0.2, ""))))
        != []
    )
    assert excluded(case, Reading((("x", 0.99, ""), (own, 0.001, ""))))
    assert not excluded(case, Reading((("x", 0.9, ""), (own, 0.05, ""))))


def test_names_are_read_back() -> None:
    """What the command says is of one family and one remedy of the bench at least."""
    for name in PLANTED:
        assert all(name in mine(said) for said in NAMES[name])
