"""The test to do next: what tells most for its minutes, at the lowest risk."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import CauseBook, TrialRow
from advisor.answers.diagnosis.odds import Odds
from advisor.answers.diagnosis.sightings import Complaint
from advisor.answers.diagnosis.trial_chances import outcome_chances
from advisor.answers.diagnosis.withhold import safe_test
from advisor.answers.diagnosis.worlds import World
from advisor.answers.diagnosis_records import NextTest, OutcomeMeaning
from advisor.base import frozen

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Gain", "chosen", "gain_of", "is_settled", "next_test"]

_MEANS = {
    "better": "partly that; something else may add to it",
    "worse": "something else; set it back as it was",
    "unsure": "nothing is ruled out; another test may tell",
}


@frozen
class Gain:
    """What a test is expected to tell: the rise of the leading odds for its minutes."""

    name: str
    risk: int
    rise: float
    per_minute: float


def gain_of(
    name: str,
    odds: Array,
    outcomes: Mapping[str, Array],
    *,
    risk: int,
    minutes: float,
    groups: Array | None = None,
) -> Gain:
    """Return what a test is expected to tell.

    What tells the family of the cause is half of it: where a family leads, the tests that part it
    from others count as much as those that part its own causes.

    Parameters
    ----------
    name : str
        The test's.
    odds : array, shape (causes,)
        Of each cause, unexplained with them.
    outcomes : mapping of str to array
        The chance of each outcome under each cause.
    risk : int
        Its class.
    minutes : float
        What it takes, with what any test takes.
    groups : array, shape (causes, groups), optional
        1 where a cause is of a group that counts as one; each cause by itself where not given.
    """

    def rise_of(each: Array) -> float:
        after = sum(float(np.max((odds * chance) @ each)) for chance in outcomes.values())
        return after - float(np.max(odds @ each))

    rise = rise_of(np.eye(len(odds)))
    if groups is not None:
        rise = 0.5 * (rise + rise_of(groups))
    return Gain(name, risk, rise, rise / minutes)


def chosen(gains: list[Gain], share: float, least: float) -> Gain | None:
    """Return the test of the lowest risk that gives a share of the best one's gain.

    Of several of one risk the one that gives most.
    """
    worth = [gain for gain in gains if gain.rise >= least]
    if not worth:
        return None
    best = max(gain.per_minute for gain in worth)
    near = [gain for gain in worth if gain.per_minute >= share * best]
    return min(near, key=lambda gain: (gain.risk, -gain.per_minute, gain.name))


def is_settled(odds: Odds, book: CauseBook) -> bool:
    """Whether the causes that remain share one remedy."""
    pairs = list(zip(odds.fits, odds.shares, strict=True))
    remain = [(fit.causes[0], share) for fit, share in pairs if share >= book.numbers["remaining"]]
    remedies = {cause.shares for cause, _ in remain}
    total = sum(share for _, share in remain)
    return len(remedies) == 1 and total >= book.numbers["settled"]


def next_test(odds: Odds, seen: Complaint, book: CauseBook) -> NextTest | None:
    """Return the test to do next; None where there is none, or no further one is needed.

    Where none raises the odds, it is one that settles a cause, of the likeliest that has one; where
    none raises them much, the leading cause's own if that is no riskier and takes no longer.
    """
    if is_settled(odds, book):
        return None
    told: dict[str, tuple[Gain, Mapping[str, Array]]] = {}
    shares, groups = np.array([*odds.shares, odds.unexplained]), _families(odds)
    for test in book.tests.values():
        if _asks(test, odds.fits[0].worlds[0], seen) and safe_test(test, odds, seen, book):
            outcomes = _outcomes(test, odds, seen, book)
            minutes = test.minutes + book.numbers["test_minutes"]
            gain = gain_of(test.name, shares, outcomes, risk=test.risk, minutes=minutes,
                           groups=groups)  # fmt: skip
            told[test.name] = gain, outcomes
    numbers = book.numbers
    gains = [gain for gain, _ in told.values()]
    best = chosen(gains, numbers["test_share"], numbers["test_gain"])
    settles = [fit.causes[0].confirm for fit in odds.fits]
    name = next((one for one in settles if one in told), None) if best is None else best.name
    if name is None:
        return None
    if best is not None and settles[0] in told and _gives_way(best, settles[0], book):
        name = settles[0]
    return _record(book.tests[name], shares, told[name][1], book)


def _gives_way(best: Gain, own: str, book: CauseBook) -> bool:
    """Whether what tells little gives way to the leading cause's own test.

    That one tries the remedy itself; it goes first where it is no riskier and takes no longer.
    """
    one, other = book.tests[own], book.tests[best.name]
    cheaper = (one.risk, one.minutes) <= (other.risk, other.minutes)
    return best.rise < book.numbers["test_clear"] and cheaper


def _families(odds: Odds) -> Array:
    """Return which family each cause is of, shape (causes, families); unexplained is its own."""
    names = [*(fit.causes[0].family for fit in odds.fits), ""]
    return np.array([[name == one for one in dict.fromkeys(names)] for name in names], dtype=float)


def _asks(test: TrialRow, world: World, seen: Complaint) -> bool:
    """Whether a test is about what was seen, can be done on the machine, and was not done."""
    if any(done.test == test.name for done in seen.did) or _measured(test, seen):
        return False
    if seen.words & set(test.not_words):
        return False
    whens = {one.when or "" for one in seen.sightings if one.seen} or {""}
    about = (not test.words or not seen.words or bool(seen.words & set(test.words))) and (
        not test.whens or bool(whens & set(test.whens))
    )
    stock = (world.root or world).machine
    if about and test.applies is not None:
        from advisor.expression import evaluate

        return evaluate(test.applies, stock.facts).nominal is True
    return about


def _measured(test: TrialRow, seen: Complaint) -> bool:
    """Whether its reading is there already."""
    fed = {one.where or "free" for one in seen.fed}
    done = {
        "feed-free": "free" in fed, "feed-nozzle": "nozzle" in fed,
        "case": seen.case is not None, "pull": seen.pull is not None,
    }  # fmt: skip
    return done.get(test.name, False)


def _outcomes(test: TrialRow, odds: Odds, seen: Complaint, book: CauseBook) -> Mapping[str, Array]:
    """Return the chance of each outcome under each cause; those next to excluded as on average."""
    columns: list[Mapping[str, float] | None] = []
    for fit, share in zip(odds.fits, odds.shares, strict=True):
        if share < book.numbers["unsafe"] / 2.0:
            columns.append(None)
            continue
        each = outcome_chances(fit.worlds[0], test, seen)
        chosen_, total = fit.chosen[0], max(float(fit.chosen[0].sum()), 1e-300)
        columns.append({word: float(np.sum(x * chosen_)) / total for word, x in each.items()})
    known = [(one, share) for one, share in zip(columns, odds.shares, strict=True) if one]
    total = sum(share for _, share in known)
    mean = {word: sum(one[word] * share for one, share in known) / total for word in known[0][0]}
    whole = [one or mean for one in columns] + [mean]
    return {word: np.array([one[word] for one in whole]) for word in mean}


def _record(
    test: TrialRow, shares: Array, outcomes: Mapping[str, Array], book: CauseBook
) -> NextTest:
    means = {**_MEANS, **test.means, **{one.word: one.means for one in test.readings}}
    total = max(float(shares.sum()), 1e-300)
    return NextTest(
        name=test.name,
        title=test.title,
        do=test.do,
        risk=test.risk,
        minutes=test.minutes,
        reads=test.reads,
        look=test.look,
        outcomes=tuple(
            OutcomeMeaning(word, means[word], float(np.sum(shares * chance)) / total)
            for word, chance in outcomes.items()
        ),
        cautions=book.cautions_of(test.hazards),
    )
