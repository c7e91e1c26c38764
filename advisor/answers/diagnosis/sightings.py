"""Reads what somebody saw and measured: words with circumstances, and readings with their units."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from advisor.answers.diagnosis.cause_book import CauseBook, TrialRow
from advisor.base import InputError, UsageError, frozen, near_miss, parse_unit
from advisor.data import parse_quantity

__all__ = [
    "Complaint", "Fed", "Outcome", "SeenTexts", "Sighting", "everyday_words", "plain_word",
    "read_seen",
]  # fmt: skip


@frozen(kw_only=True)
class SeenTexts:
    """What was seen and measured, as typed; None or empty where not given."""

    sees: tuple[str, ...] = ()
    sees_not: tuple[str, ...] = ()
    clicks_at: str | None = None
    holds: str | None = None
    case: str | None = None
    after: str | None = None
    fed: tuple[str, ...] = ()
    nozzle_falls_to: str | None = None
    pull: str | None = None
    did: tuple[str, ...] = ()


@frozen
class Sighting:
    """A word, and the circumstance if one is named; `seen`: or surely not."""

    word: str
    when: str | None
    seen: bool = True


@frozen
class Fed:
    """Length that was commanded and that came, [m]; `where` free or nozzle."""

    asked: float
    came: float
    where: str | None


@frozen
class Outcome:
    """How a test came out."""

    test: str
    word: str


@frozen(kw_only=True)
class Complaint:
    """The same as `SeenTexts`, in SI units."""

    sightings: tuple[Sighting, ...]
    clicks_at: float | None
    holds: float | None
    case: float | None
    after: float | None
    fed: tuple[Fed, ...]
    nozzle_falls_to: float | None
    pull: float | None
    did: tuple[Outcome, ...]

    @property
    def anything(self) -> bool:
        """Whether there is something to go by."""
        numbers = (self.clicks_at, self.holds, self.case, self.nozzle_falls_to, self.pull)
        measured = any(one is not None for one in numbers)
        return bool(self.sightings or self.fed or self.did) or measured

    @property
    def words(self) -> frozenset[str]:
        """The words that were seen."""
        return frozenset(one.word for one in self.sightings if one.seen)


def read_seen(texts: SeenTexts, book: CauseBook) -> Complaint:
    """Return what was seen and measured.

    Raises
    ------
    UsageError
        For a word, a circumstance, a test or a reading that cannot be; names the closest one.
    """
    seen = [_sighting("--sees", text, book, seen=True) for text in texts.sees]
    seen += [_sighting("--sees-not", text, book, seen=False) for text in texts.sees_not]
    if texts.after is not None and texts.case is None:
        raise UsageError("--after says when --case was read", "give --case too")
    return Complaint(
        sightings=_without_both(seen),
        clicks_at=_flow("--clicks-at", texts.clicks_at),
        holds=_flow("--holds", texts.holds),
        case=_reading("--case", texts.case, "degC", 253.15, 523.15),
        after=_reading("--after", texts.after, "min", 1.0, 1e6),
        fed=tuple(_fed(text) for text in texts.fed),
        nozzle_falls_to=_reading(
            "--nozzle-falls-to", texts.nozzle_falls_to, "degC", 273.15, 773.15
        ),
        pull=_reading("--pull", texts.pull, "N", 0.1, 1000.0),
        did=tuple(_outcome(text, book) for text in texts.did),
    )


def _without_both(seen: Sequence[Sighting]) -> tuple[Sighting, ...]:
    """Drop repeats, and refuse what was seen and not seen."""
    kept = tuple(dict.fromkeys(seen))
    for one in kept:
        if Sighting(one.word, one.when, not one.seen) in kept:
            told = one.word if one.when is None else f"{one.word}@{one.when}"
            raise UsageError(f"'{told}' is given as seen and as not seen", "keep one of them")
    return kept


def _sighting(option: str, text: str, book: CauseBook, *, seen: bool) -> Sighting:
    word, at, when = text.partition("@")
    words = {name: one.aliases for name, one in book.words.items()}
    whens = {name: one.aliases for name, one in book.whens.items()}
    named = _named(option, word, words, "word for what is seen")
    where = _named(option, when, whens, "circumstance") if at else None
    return Sighting(named, where, seen)


def _named(option: str, text: str, known: Mapping[str, Iterable[str]], what: str) -> str:
    plain, meant = plain_word(text), everyday_words(known)
    if plain in meant:
        return meant[plain]
    hint = near_miss(plain, meant)
    remedy = f"{hint} ({option} list shows them all)" if hint else f"known are {', '.join(known)}"
    raise UsageError(f"{option}: '{text.strip()}' is no {what}", remedy)


def everyday_words(known: Mapping[str, Iterable[str]]) -> Mapping[str, str]:
    """Return what each word stands for, plain as `plain_word` gives it: names and their aliases."""
    return {plain_word(one): name for name, aliases in known.items() for one in (name, *aliases)}


def plain_word(text: str) -> str:
    """Return a word as it is compared: blanks and capitals do not count."""
    return re.sub(r"[\s_-]+", "-", text.strip().lower())


def _flow(option: str, text: str | None) -> float | None:
    return _reading(option, text, "mm3/s", 1e-11, 1e-6)


def _reading(option: str, text: str | None, unit: str, low: float, high: float) -> float | None:
    """Return a reading in SI; a bare number is in the unit that is due."""
    if text is None:
        return None
    bare = re.fullmatch(r"\s*[-+]?[\d.]+\s*", text)
    try:
        value = parse_quantity(f"{text} {unit}" if bare else text, parse_unit(unit)).typical
    except InputError as err:
        raise UsageError(f"{option}: {err.problem}", err.remedy) from None
    if not low <= value <= high:
        raise UsageError(f"{option}: {text.strip()} cannot be", f"give a reading in {unit}")
    return float(value)


_FED_REMEDY = "write what was commanded and what came: --fed 100mm=98mm@free (or @nozzle)"


def _fed(text: str) -> Fed:
    lengths, at, where = text.partition("@")
    asked, equal, came = lengths.partition("=")
    if not equal:
        raise UsageError(f"--fed: '{text}' has no '='", _FED_REMEDY)
    place = where.strip().lower() if at else None
    if place not in (None, "free", "nozzle"):
        raise UsageError(f"--fed: '{where}' is neither free nor nozzle", _FED_REMEDY)
    first = _reading("--fed", asked, "mm", 5e-3, 10.0)
    second = _reading("--fed", came, "mm", 0.0, 30.0)
    assert first is not None
    assert second is not None
    return Fed(first, second, place)


_SAME = {"found": "gone", "yes": "gone", "not-found": "same", "no": "same", "unclear": "unsure"}
_WORDS = ("gone", "better", "same", "worse", "unsure")


def _outcome(text: str, book: CauseBook) -> Outcome:
    name, equal, said = text.partition("=")
    test = _named("--did", name, dict.fromkeys(book.tests, ()), "test")
    row = book.tests[test]
    if not equal:
        raise UsageError(f"--did: '{text}' does not say how it came out",
                         f"write {test}={_of(row)[0]}")  # fmt: skip
    plain = plain_word(said)
    word = plain if plain in _of(row) else _SAME.get(plain, plain)
    if word not in _of(row):
        hint = near_miss(plain, (*_of(row), *_SAME)) or f"write one of {', '.join(_of(row))}"
        raise UsageError(f"--did {test}: '{said.strip()}' is no outcome", hint)
    return Outcome(test, word)


def _of(row: TrialRow) -> tuple[str, ...]:
    if row.reads is not None:
        return (*(one.word for one in row.readings), "unsure")
    return _WORDS
