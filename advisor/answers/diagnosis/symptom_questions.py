"""What to ask somebody who has a symptom: the questions that are left, what tells most first.

A question is worth what its answers are expected to shift the odds by: half the sum of all changes,
each answer as likely as the causes make it, by the same likelihoods that count it afterwards.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import CauseBook, ReadingQuestion
from advisor.answers.diagnosis.evidence import evidence_of
from advisor.answers.diagnosis.odds import Odds
from advisor.answers.diagnosis.sightings import Complaint, SeenTexts, Sighting, read_seen
from advisor.answers.diagnosis.withhold import first_of_all
from advisor.answers.diagnosis.worlds import World
from advisor.base import frozen, parse_unit
from advisor.expression import evaluate

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["YES", "SymptomQuestion", "asked_first", "shift_of", "symptom_questions",
           "with_reading"]  # fmt: skip

_LITTLE = 0.03  # an expected shift below which nothing hangs on a question
_COUNTS = 0.01  # odds from which a cause counts in what a question would tell
_QUANTILES = (0.1, 0.3, 0.5, 0.7, 0.9)
_TOLD = 2.0  # a word tells so much less where one of the same event was said
_SELDOM = 0.05  # a circumstance in which no cause shows a word more often is not offered
YES, NO = "yes", "no"
_YES_NO = ((YES, ""), (NO, "surely not, I looked"))

Likelihood = Callable[[World], "Array"]


@frozen(kw_only=True)
class SymptomQuestion:
    """One thing to ask.

    ``find`` says how to tell, ``ask`` what to look at. ``choices`` are the words it takes, each
    with its title; empty for a reading. ``several``: more than one may be chosen. ``shift`` is by
    how much the answer is expected to shift the odds, from 0 to 1; None where it is asked whatever
    it tells.
    """

    path: str
    text: str
    find: str = ""
    ask: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    several: bool = False
    unit: str = ""
    such: str = ""
    shift: float | None = None
    weighty: bool = True


def asked_first(texts: SeenTexts, book: CauseBook, passed: Sequence[str]) -> SymptomQuestion | None:
    """Return what is asked before anything that has to be weighed; None where nothing is.

    What is seen; whether heater and sensor sit tight, where that comes first of all; what a word
    means that is often said of another thing; when a case was read.
    """
    seen = read_seen(texts, book)
    return next((one for one in _fixed(seen, book) if one.path not in passed), None)


def symptom_questions(
    odds: Odds, seen: Complaint, book: CauseBook, passed: Sequence[str]
) -> list[SymptomQuestion]:
    """Return what may be asked yet, what shifts the odds most for its effort first."""
    made = [
        *_circumstances(odds, seen, book, passed),
        *_words(odds, seen, book, passed),
        *_readings(odds, seen, book, passed),
    ]
    order = sorted(made, key=lambda pair: -pair[1])
    return [one for one, _ in order]


def shift_of(odds: Odds, answers: Sequence[Likelihood], weights: Sequence[float] | None) -> float:
    """Return by how much a question is expected to shift the odds, from 0 to 1.

    Parameters
    ----------
    odds : Odds
        As they are.
    answers : sequence of callable
        The likelihood of each answer, machine by machine.
    weights : sequence of float, optional
        The chance of each answer; by the causes where not given. One of the answers is given.
    """
    pairs = [pair for pair in zip(odds.fits, odds.shares, strict=True) if pair[1] >= _COUNTS]
    known = np.array([share for _, share in pairs])
    shares = np.append(known, 1.0 - known.sum())  # what is left: as on average
    total, shift = 0.0, 0.0
    for place, likelihood in enumerate(answers):
        column = np.array([fit.mean(likelihood) for fit, _ in pairs])
        mean = float(column @ known) / max(float(known.sum()), 1e-12)
        joint = shares * np.append(column, mean)
        chance = max(float(joint.sum()), 1e-300)
        weight = chance if weights is None else weights[place]
        shift += weight * 0.5 * float(np.abs(joint / chance - shares).sum())
        total += weight
    return shift / max(total, 1e-12)


# --- what is asked whatever it tells --------------------------------------------------------


def _fixed(seen: Complaint, book: CauseBook) -> Iterator[SymptomQuestion]:
    if not any(one.seen for one in seen.sightings):
        yield SymptomQuestion(
            path="sees",
            text="What do you see?",
            find="Several may be named, with commas.",
            choices=tuple((name, word.title) for name, word in book.words.items()),
            several=True,
        )
    first = first_of_all(seen, book)
    if first is not None:
        test = book.tests["sensor-seated"]
        choices = (("same", "both sit tight"), ("gone", "one was loose; it is well now"))
        yield SymptomQuestion(path="first", text=first, find=test.do, choices=choices)
    for word, (ask, other) in book.questions.which.items():
        known = {one.word for one in seen.sightings}
        if word in seen.words and other not in known:
            names = ((word, book.words[word].title), (other, book.words[other].title))
            yield SymptomQuestion(
                path=f"which {word}", text=ask, ask=book.words[other].ask,
                choices=(*names, ("both", "it does both")),
            )  # fmt: skip
    if seen.case is not None and seen.after is None:
        yield SymptomQuestion(
            path="after", text="How long after the start was the case read?", unit="min", such="30"
        )


# --- what is weighed ------------------------------------------------------------------------

_Weighed = tuple[SymptomQuestion, float]


def _circumstances(
    odds: Odds, seen: Complaint, book: CauseBook, passed: Sequence[str]
) -> Iterator[_Weighed]:
    """Yield when it is that each word is seen; by yes or no beside what was named."""
    effort = book.questions.effort
    for word in sorted(seen.words, key=tuple(book.words).index):
        named = {one.when for one in seen.sightings if one.word == word}
        whens = [when for when in book.whens if _is_shown(odds, word, when, book)]
        title = book.words[word].title
        if named == {None} and f"when {word}" not in passed and len(whens) > 1:
            answers = [_instead(Sighting(word, None), Sighting(word, x), book) for x in whens]
            yield _weighed(
                odds, answers, effort, path=f"when {word}", several=True,
                text=f"When is it that {title}?", find="Several may be named, with commas.",
                choices=tuple((when, book.whens[when].title) for when in whens),
            )  # fmt: skip
        for when, ask in book.questions.also.items():
            path = f"when {word}@{when}"
            if not named & {None, when} and path not in passed and when in whens:
                text = f"{_begun(title)}. {ask}"
                yield _yes_no(odds, (word, when), book, path, text, effort=effort)


def _words(
    odds: Odds, seen: Complaint, book: CauseBook, passed: Sequence[str]
) -> Iterator[_Weighed]:
    known = {one.word for one in seen.sightings}
    for name, word in book.words.items():
        if name in known or f"word {name}" in passed or word.first is not None:
            continue
        text = f"Do you see this too: {word.title}?"
        told = any(book.words[one].event == word.event for one in known)
        effort = book.questions.effort * (_TOLD if told else 1.0)
        yield _yes_no(odds, (name, None), book, f"word {name}", text, effort=effort,
                      ask=word.ask)  # fmt: skip


def _yes_no(
    odds: Odds, what: tuple[str, str | None], book: CauseBook, path: str, text: str, *,
    effort: float, ask: str = "",
) -> _Weighed:  # fmt: skip
    answers = [_of(Sighting(*what, seen), book) for seen in (True, False)]
    return _weighed(odds, answers, effort, path=path, text=text, ask=ask, choices=_YES_NO)


def _readings(
    odds: Odds, seen: Complaint, book: CauseBook, passed: Sequence[str]
) -> Iterator[_Weighed]:
    for one in book.questions.readings:
        path = f"read {one.name}"
        about = not one.words or not seen.words or bool(seen.words & set(one.words))
        if path in passed or not about or _is_read(one, seen):
            continue
        values = _predicted(odds, one)
        if not values:
            continue
        answers = [_reading(one, value, book) for value in values]
        even = [1.0 / len(answers)] * len(answers)
        yield _weighed(
            odds, answers, one.effort, even, path=path, text=one.ask, find=one.find,
            unit=one.unit, such=one.such,
        )  # fmt: skip


def _is_read(one: ReadingQuestion, seen: Complaint) -> bool:
    if one.gives == "fed":
        where = one.form.rpartition("@")[2]
        return any((fed.where or "free") == where for fed in seen.fed)
    return getattr(seen, one.gives) is not None


def _weighed(
    odds: Odds, answers: Sequence[Likelihood], effort: float,
    weights: Sequence[float] | None = None, *, path: str, text: str, find: str = "", ask: str = "",
    choices: tuple[tuple[str, str], ...] = (), several: bool = False, unit: str = "",
    such: str = "",
) -> _Weighed:  # fmt: skip
    shift = shift_of(odds, answers, weights)
    question = SymptomQuestion(
        path=path, text=text, find=find, ask=ask, choices=choices, several=several, unit=unit,
        such=such, shift=shift, weighty=shift / effort >= _LITTLE,
    )  # fmt: skip
    return question, shift / effort


# --- likelihoods ----------------------------------------------------------------------------


def _of(sighting: Sighting, book: CauseBook) -> Likelihood:
    return evidence_of(_only(sighting), book)[0].likelihood


def _instead(before: Sighting, after: Sighting, book: CauseBook) -> Likelihood:
    """Return the likelihood of a sighting where another one of the same event counted so far."""
    old, new = _of(before, book), _of(after, book)
    return lambda world: np.asarray(new(world) / np.maximum(old(world), 1e-12))


def _only(sighting: Sighting) -> Complaint:
    return Complaint(
        sightings=(sighting,), clicks_at=None, holds=None, case=None, after=None, fed=(),
        nozzle_falls_to=None, pull=None, did=(),
    )  # fmt: skip


def _reading(one: ReadingQuestion, value: float, book: CauseBook) -> Likelihood:
    texts = with_reading(SeenTexts(), one, f"{value:.4g}")
    return evidence_of(read_seen(texts, book), book)[0].likelihood


def with_reading(texts: SeenTexts, one: ReadingQuestion, text: str) -> SeenTexts:
    """Return what is known with a reading, as the command line says it."""
    told = one.form.replace("{}", text)
    if one.gives == "fed":
        return dataclasses.replace(texts, fed=(*texts.fed, told))
    return SeenTexts(**{**dataclasses.asdict(texts), one.gives: told})


def _predicted(odds: Odds, one: ReadingQuestion) -> tuple[float, ...]:
    """Return readings that machines with the causes would give, in its unit, evenly likely."""
    values, weights = [], []
    for fit, share in zip(odds.fits, odds.shares, strict=True):
        world, chosen = fit.worlds[0], fit.chosen[0]
        value = evaluate(one.predicts, world.facts).value
        if value is not None:
            values.append(np.broadcast_to(np.asarray(value, dtype=np.float64), (world.size,)))
            weights.append(share * chosen / max(float(chosen.sum()), 1e-300))
    if not values:
        return ()
    whole, weight = np.concatenate(values), np.concatenate(weights)
    order = np.argsort(whole, kind="stable")
    reached = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-300)
    places = np.minimum(np.searchsorted(reached, _QUANTILES), whole.size - 1)
    unit = parse_unit(one.unit)
    found = [max(float(unit.from_si(whole[order[place]])), 1e-3) for place in places]
    return tuple(found) if np.isfinite(found).all() else ()


def _is_shown(odds: Odds, word: str, when: str, book: CauseBook) -> bool:
    """Whether any cause shows a word in a circumstance often enough to offer it."""
    row = tuple(book.whens).index(when)
    worlds = (fit.worlds[0] for fit in odds.fits)
    return any(float(world.chances(word)[row].mean()) >= _SELDOM for world in worlds)


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]
