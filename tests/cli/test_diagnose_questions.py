"""`feedwright diagnose --interactive`: what is asked, in which order, and how it ends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.distance import jensenshannon
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.diagnosis.inquiry import Inquiry
from advisor.answers.diagnosis.sightings import SeenTexts
from advisor.answers.diagnosis.symptom_questions import shift_of
from advisor.base import InputError
from tests.studies.in_process import Run, run

HEALTHY = Path(__file__).resolve().parents[2] / "samples" / "healthy"
FEW = Asks(draws=256)


@pytest.fixture(scope="module")
def begun() -> Inquiry:
    """The questions on a sound machine; each test begins anew."""
    return Inquiry(str(HEALTHY / "printer.cfg"), FEW, SeenTexts())


@pytest.fixture
def talk(begun: Inquiry) -> Inquiry:
    while begun.back():
        pass
    return begun


def piped(answers: str, *options: str) -> Run:
    words = ["diagnose", "printer.cfg", "--draws", "256", *options]
    done = run(words, HEALTHY, answers.encode())
    assert done.faults == ()
    return done


class Fit:
    """A cause in which an answer has a given chance."""

    def __init__(self, chances: tuple[float, ...]) -> None:
        self.chances = chances

    def mean(self, place: int) -> float:
        return self.chances[place]


class Known:
    """Odds of two causes that nothing is left out of."""

    def __init__(self, shares: tuple[float, ...], fits: tuple[Fit, ...]) -> None:
        self.shares, self.fits, self.unexplained = shares, fits, 0.0


def test_what_a_question_tells() -> None:
    """By hand: one that parts two even causes moves half of the odds, one that cannot none.

    Between them it grows with the distance of the answers (Jensen-Shannon, by scipy).
    """
    shifts, distances = [], []
    for p in (0.5, 0.6, 0.8, 1.0):
        fits = (Fit((p, 1 - p)), Fit((1 - p, p)))
        shifts.append(shift_of(Known((0.5, 0.5), fits), (0, 1), None))  # type: ignore[arg-type]
        distances.append(float(jensenshannon(*np.array([fit.chances for fit in fits]))))
    assert shifts[0] == pytest.approx(0.0)
    assert shifts[-1] == pytest.approx(0.5)
    assert np.argsort(shifts).tolist() == np.argsort(distances).tolist()


def test_the_most_telling_comes_first(talk: Inquiry) -> None:
    """What is seen, what the word means, then by the shift for the effort, most first."""
    assert talk.question is not None
    assert talk.question.path == "sees"
    talk.answer("1")
    assert talk.question.path == "which clicks"
    assert "does the filament stand" in talk.question.text
    talk.answer("1")
    assert talk.question.path == "when clicks"
    effort = {"read clicks-at": 3.0, "read holds": 3.0}
    left = [one for one in talk.left() if one.path.startswith(("when", "read c", "read h"))]
    told = [(one.shift or 0.0) / effort.get(one.path, 1.0) for one in left]
    assert told == sorted(told, reverse=True)


def test_answers_are_what_the_command_line_says(talk: Inquiry) -> None:
    """Numbers, names and beginnings; a clicking that is a slipping is told as such."""
    talk.answer("clicks, 3")
    talk.answer("2")
    assert talk.texts.sees == ("slips", "thin")
    talk.back()
    talk.answer("both")
    assert talk.texts.sees == ("clicks", "slips", "thin")
    talk.back()
    talk.back()
    talk.answer("1")
    talk.answer("clicks")
    assert talk.texts.sees_not == ("slips",)
    talk.answer("retr, 1")
    assert talk.texts.sees == ("clicks@retracts", "clicks@first-layer")


def test_readings_carry_their_unit_and_bad_ones_are_refused(talk: Inquiry) -> None:
    """A bare number is in the unit asked for; what cannot be leaves the question."""
    talk.answer("too-much")
    while talk.question is not None and talk.question.path != "read fed-free":
        talk.leave_open()
    with pytest.raises(InputError, match="apples"):
        talk.answer("-3 apples")
    with pytest.raises(InputError, match="not what is usual"):
        talk.answer("2")
    talk.answer("108")
    assert talk.texts.fed == ("100mm=108@free",)


def test_heater_and_sensor_come_before_all(talk: Inquiry) -> None:
    """Nothing is ranked, and nothing else asked, until somebody looked."""
    talk.answer("stopped")
    assert talk.question is not None
    assert talk.question.text.startswith("Heater off, let it cool.")
    assert talk.leading() == ()
    talk.leave_open()
    assert talk.question is None
    talk.back()
    talk.answer("1")
    assert talk.texts.did == ("sensor-seated=same",)
    assert talk.leading()


def test_everyday_words_are_answers_too(talk: Inquiry) -> None:
    """As on the command line: grinding is slips, a blank is a hyphen, capitals do not count."""
    assert talk.answer("Grinding, under extrusion") == ("slips", "thin")
    assert talk.texts.sees == ("slips", "thin")
    talk.back()
    talk.answer("folds")
    assert talk.question is not None
    assert talk.question.path == "when folds"
    assert talk.answer("infill") == ("long-lines",)
    with pytest.raises(InputError, match="not in the list"):
        talk.answer("squeaks")


@wide
@only_wide
def test_the_end_is_the_normal_answer() -> None:
    """stdout: what the command without questions says, then that command; b, q and ? are keys."""
    asked = piped("?\n1\nb\n1\n1\n2\nq\nnever read\n", "--interactive")
    direct = piped("", "--sees", "clicks@retracts", "--sees-not", "slips")
    again = "--sees clicks@retracts --sees-not slips\n"

    assert asked.code == direct.code == 0
    assert asked.out.startswith(direct.out)
    assert asked.out.decode().replace(" \\\n    ", " ").endswith(again)  # one line for a shell
    assert asked.err.count("so far") == 4
    assert max(map(len, asked.err.splitlines())) <= 80


def test_an_end_of_the_input_is_an_answer() -> None:
    """Nothing said: wrong usage in a sentence; something said: what is known of it."""
    nothing = piped("", "--interactive")
    assert (nothing.code, nothing.out) == (2, b"")
    assert "nothing is given that was seen" in nothing.err
    ended = piped("no such thing\n14\n", "--interactive")
    assert ended.code == 0
    assert "is not in the list" in ended.err
    assert ended.out.startswith(b"first       Heater off")


def test_the_config_cannot_come_with_the_answers() -> None:
    """Both on standard input is wrong usage."""
    done = run(["diagnose", "-", "--interactive"], HEALTHY, b"[extruder]\n")
    assert (done.code, done.out) == (2, b"")
    assert "name the config file" in done.err
