"""What `diagnose` answers: causes, tests, and what it does not propose."""

from __future__ import annotations

import dataclasses
import functools
import re

import pytest
from every import every
from tiers import only_wide, spread, wide

import advisor
from advisor.answers import Asks, SeenTexts
from advisor.answers.diagnosis.answer import diagnosed
from advisor.answers.diagnosis.cause_book import load_causes
from advisor.answers.diagnosis.sightings import read_seen
from advisor.answers.lint import check_config
from advisor.machine import Machine

HEALTHY = "samples/healthy/printer.cfg"
DRAWS = 128  # few: what is claimed does not hang on them, and costs less


@functools.cache
def _machine() -> Machine:
    return check_config(HEALTHY, Asks(draws=DRAWS)).machines["extruder"]


def _found(
    *sees: str,
    sees_not: tuple[str, ...] = (),
    did: tuple[str, ...] = (),
    fed: tuple[str, ...] = (),
    **measured: str | None,
) -> advisor.DiagnoseReport:
    """Return what is found of the healthy sample, its machine worked out once for all tests."""
    book = load_causes()
    texts = SeenTexts(sees=sees, sees_not=sees_not, did=did, fed=fed, **measured)
    return diagnosed(_machine(), read_seen(texts, book), book)


@pytest.fixture(scope="module")
def hot() -> advisor.DiagnoseReport:
    """A motor far hotter than the set current makes it."""
    return _found("motor-hot", "clicks@always", case="92C", after="40min")


@wide
@only_wide
def test_odds_are_shares_of_one() -> None:
    """All causes and what is not known add up to 1; the likeliest stands first."""
    found = _found("clicks@long-lines", "thin@long-lines")
    odds = [cause.odds for cause in found.causes]
    assert sum(odds) + found.unexplained == pytest.approx(1.0)
    assert odds == sorted(odds, reverse=True)
    assert len(found.shown) <= 5
    assert all(0 < one < 1 for one in odds)


def test_a_hot_motor_gets_no_more_current(hot: advisor.DiagnoseReport) -> None:
    """No remedy or test raises the current while the motor is hot."""
    assert hot.causes[0].name == "resistor-smaller"
    assert hot.current is not None
    assert hot.current.told
    assert hot.current.above
    raising = {cause.name for cause in load_causes().causes if "current" in cause.raises}
    told = [cause for cause in hot.causes if cause.name in raising]
    assert all(cause.withheld for cause in told)
    assert not any(re.search(r"[Rr]aise the run current", cause.remedy) for cause in hot.causes)


HEAT = [("nozzle-cools", None), ("stopped", None), (None, "190C")]


@wide
@every("word, reading", spread(HEAT, 1))
def test_heat_that_is_not_held_comes_first_and_alone(word: str | None, reading: str | None) -> None:
    """Heater off; no test, no remedy and no cause is told beside it."""
    words = () if word is None else (word,)
    found = _found(*words, nozzle_falls_to=reading)
    assert found.first_of_all is not None
    assert found.first_of_all.startswith("Heater off, let it cool")
    assert found.next_test is None
    assert found.shown == ()
    assert not found.settled
    assert not any(cause.remedy or cause.cautions for cause in found.causes)
    looked = _found(*words, nozzle_falls_to=reading, did=("sensor-seated=same",))
    assert looked.first_of_all is None
    assert looked.shown


def test_no_hotter_nozzle_above_lining_material_or_hotend() -> None:
    """PETG at 238 degC: 10 K more would be above 240, which a plastic lining stands.

    The lining's 240 degC: common practice, no source.
    """
    asked = {"sees": "thin@above-a-flow", "fields": {"filament.temperature": 238},
             "material": "petg", "did": ["half-speed=unsure"]}  # fmt: skip
    found = advisor.diagnose(HEALTHY, **asked)
    cold = next(cause for cause in found.causes if cause.name == "zone-too-cold")
    assert cold.withheld
    assert "leave the nozzle temperature" in cold.remedy
    assert found.next_test is None or found.next_test.name != "hotter"


def test_nothing_tells_anyone_to_switch_protection_off() -> None:
    """No remedy or test switches a protection off, or widens a limit before the move is known."""
    book = load_causes()
    texts = [cause.remedy for cause in book.causes] + [test.do for test in book.tests.values()]
    assert not any(re.search(r"min_|max_|protection|verify|cold.extru", text) for text in texts)
    limit = next(cause for cause in book.causes if cause.name == "limit-refuses")
    assert "leave the limit as it is until the move is explained" in limit.remedy


def test_a_test_that_came_out_settles_it() -> None:
    """The remedy is told, and no further test."""
    found = _found("clicks@first-layer", did=("nozzle-up=gone",), sees_not=("clicks@long-lines",))
    assert found.settled
    assert found.next_test is None
    assert found.causes[0].name == "nozzle-too-near"


@wide
@only_wide
def test_what_is_unsure_says_nothing() -> None:
    """'Could not tell' leaves the odds as they were."""
    plain = _found("clicks@long-lines")
    unsure = _found("clicks@long-lines", did=("loose-spool=unsure",))
    before = {cause.name: cause.odds for cause in plain.causes}
    after = {cause.name: cause.odds for cause in unsure.causes}
    assert max(abs(before[name] - after[name]) for name in before) < 0.03
    assert unsure.next_test is None or unsure.next_test.name != "loose-spool"


@wide
@only_wide
def test_everyday_words_are_taken() -> None:
    """Aliases, blanks and capitals; the answer is the same."""
    one = _found("Grinding@first layer")
    other = _found("slips@first-layer")
    assert [cause.odds for cause in one.causes] == [cause.odds for cause in other.causes]


@every(
    "given, said",
    [
        ({"sees": "clicsk"}, "did you mean 'click"),
        ({"sees": "clicks@retrakts"}, "did you mean 'retracts'"),
        ({"sees": "thin", "sees_not": "thin"}, "seen and as not seen"),
        ({"sees": "thin", "did": "loose-spol=gone"}, "did you mean 'loose-spool'"),
        ({"sees": "thin", "did": "loose-spool=gon"}, "did you mean 'gone'"),
        ({"sees": "thin", "fed": "100mm"}, "has no '='"),
        ({"sees": "thin", "fed": "100mm=98mm@air"}, "neither free nor nozzle"),
        ({"sees": "thin", "case": "hot"}, "case"),
        ({"sees": "thin", "after": 30}, "give"),
        ({}, "nothing is given"),
    ],
)
def test_what_cannot_be_is_refused(given: dict[str, str], said: str) -> None:
    """A sentence with a remedy, the near word named."""
    with pytest.raises(advisor.UsageError) as caught:
        advisor.diagnose(HEALTHY, **given)
    assert said in str(caught.value)


def test_a_fed_length_gives_the_rotation_distance_with_its_error() -> None:
    """Distance times what came over what was asked; a ruler's 0.8 mm twice 1.645 wide."""
    found = _found("too-much", fed=("100mm=110mm@free",)).fed
    assert found is not None
    assert found.rotation_distance is not None
    band = found.rotation_distance
    assert band.value == pytest.approx(45.2 * 1.10)
    assert band.high - band.low == pytest.approx(45.2 * 2 * 1.645 * 0.008, rel=1e-3)
    assert not found.slips


# --- families ---------------------------------------------------------------------------------


def test_three_of_a_family_are_told_by_its_title() -> None:
    """Too much comes out, always: one line, its causes below, its odds their sum."""
    found, families = _found("too-much@always"), load_causes().families
    first = found.shown[0]
    assert len(first.causes) >= 3
    assert {one.family for one in first.causes} == {"calibration"}
    assert first.together == families["calibration"]
    assert first.odds == pytest.approx(sum(one.odds for one in first.causes), rel=1e-12)
    many = [line for line in found.shown if line.together is not None]
    assert all(len(line.causes) >= 3 for line in many)
    assert not any(line.together for line in found.shown if len(line.causes) < 3)


@wide
@only_wide
def test_a_family_without_a_title_is_told_by_its_causes() -> None:
    """As many causes, but nothing to tell them by."""
    book = load_causes()
    untold = dataclasses.replace(book, families={})
    seen = read_seen(SeenTexts(sees=("too-much@always",)), book)
    first = diagnosed(_machine(), seen, untold).shown[0]
    assert len(first.causes) >= 3
    assert first.together is None
