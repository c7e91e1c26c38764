"""The questions on a symptom as a conversation: what is asked, what was answered, what it may be.

Each answer becomes what the command line would say for it, and the odds are worked out anew. It
reads no keyboard and knows no layout: see the report and the command.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence

from advisor.answers.asks import Asks
from advisor.answers.conversation import QuestionsInTurn, chosen_of
from advisor.answers.diagnosis.answer import diagnose, lines_of, odds_for, worlds_of
from advisor.answers.diagnosis.cause_book import load_causes
from advisor.answers.diagnosis.evidence import evidence_of
from advisor.answers.diagnosis.next_trial import is_settled
from advisor.answers.diagnosis.odds import Odds
from advisor.answers.diagnosis.sightings import SeenTexts, everyday_words, plain_word, read_seen
from advisor.answers.diagnosis.symptom_questions import (
    YES,
    SymptomQuestion,
    asked_first,
    symptom_questions,
    with_reading,
)
from advisor.answers.diagnosis.withhold import first_of_all
from advisor.answers.diagnosis_records import CauseLine, DiagnoseReport
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.base import InputError, UnreadableError, UsageError

__all__ = ["Inquiry"]

_LEADING = 3  # causes that are told after each answer
_BARE = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)", re.ASCII)
_OPTION = re.compile(r"^--[\w-]+( [\w-]+)?: ")


class Inquiry(QuestionsInTurn[SymptomQuestion, SeenTexts]):
    """The questions on one machine.

    Parameters
    ----------
    config : str
        A config.
    asks : Asks
        The profiles, the sheet, weighed tests and what else the command line states.
    texts : SeenTexts
        What is said to begin with.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UnreadableError
        If the config or what goes with it cannot be read.
    UsageError
        For an extruder the config does not have, or a word or reading that cannot be.
    """

    def __init__(
        self, config: str, asks: Asks, texts: SeenTexts, *, extruder: str | None = None
    ) -> None:
        super().__init__()
        self.config, self.texts = config, texts
        self._asks, self._extruder = asks, extruder
        self._book = load_causes()
        read_seen(texts, self._book)
        draws = asks.draws or int(self._book.numbers["machines"])
        checked = check_config(config, dataclasses.replace(asks, draws=draws))
        if checked.report.errors:
            raise UnreadableError("\n".join(checked.report.errors))
        name = chosen_extruder(checked, extruder)
        if name is None:
            raise UsageError("the config has no extruder section", "name the root config")
        self._machine = checked.machines[name]
        self._worlds = worlds_of(self._machine, self._book)
        self._worked: tuple[SeenTexts, Odds] | None = None
        self._listed: tuple[tuple[SeenTexts, tuple[str, ...]], list[SymptomQuestion]] | None = None

    @property
    def anything(self) -> bool:
        """Whether something was said to go by."""
        return read_seen(self.texts, self._book).anything

    def left(self) -> list[SymptomQuestion]:
        """Return the questions that are left, what tells most first."""
        asked = self.texts, self.passed
        if self._listed is None or self._listed[0] != asked:
            self._listed = asked, self._left()
        return list(self._listed[1])

    def _left(self) -> list[SymptomQuestion]:
        first = asked_first(self.texts, self._book, self.passed)
        if first is not None:
            return [first]
        seen = read_seen(self.texts, self._book)
        if first_of_all(seen, self._book) is not None:
            return []
        odds = self._odds()
        if seen.anything and is_settled(odds, self._book):
            return []
        return symptom_questions(odds, seen, self._book, self.passed)

    def leading(self) -> tuple[CauseLine, ...]:
        """Return the likeliest causes as it stands; none where something comes first of all."""
        seen = read_seen(self.texts, self._book)
        if not seen.anything or first_of_all(seen, self._book) is not None:
            return ()
        return lines_of(seen, self._odds(), self._book)[:_LEADING]

    def answer(self, text: str) -> tuple[str, ...]:
        """Take the answer to the present question and return it as the command line says it.

        Raises
        ------
        InputError
            If it cannot be; the question stands.
        """
        question = self._asked()
        texts, said = self._told(question, text.strip())
        try:
            read_seen(texts, self._book)
        except UsageError as err:
            raise InputError(_OPTION.sub("", err.problem), err.remedy) from None
        self._pass(question, self.texts)
        self.texts = texts
        return said

    def _known(self) -> SeenTexts:
        return self.texts

    def _return_to(self, known: SeenTexts) -> None:
        self.texts = known

    def report(self) -> DiagnoseReport:
        """Return what `diagnose` answers to all that was said."""
        return diagnose(self.config, self._asks, self.texts, extruder=self._extruder)

    def _odds(self) -> Odds:
        if self._worked is None or self._worked[0] != self.texts:
            evidence = evidence_of(read_seen(self.texts, self._book), self._book)
            odds, _ = odds_for(self._machine, evidence, self._book, self._worlds)
            self._worked = self.texts, odds
        return self._worked[1]

    def _told(self, question: SymptomQuestion, text: str) -> tuple[SeenTexts, tuple[str, ...]]:
        """Return what is known with an answer, and the answer's words."""
        kind, _, what = question.path.partition(" ")
        if not question.choices:
            return self._read(kind, what, text)
        named = _chosen(question, text, self._meant(kind))
        return self._with_choice(kind, what, named), named

    def _meant(self, kind: str) -> Mapping[str, str]:
        """Return what everyday words stand for in a question."""
        known = {
            "sees": {one.name: one.aliases for one in self._book.words.values()},
            "when": {one.name: one.aliases for one in self._book.whens.values()},
        }.get(kind, {})
        return everyday_words(known)

    def _with_choice(self, kind: str, what: str, named: tuple[str, ...]) -> SeenTexts:
        """Return what is known where something was chosen from a list."""
        if kind == "which":
            return self._which(what, named[0])
        if kind == "when" and "@" not in what:
            return self._when(what, named)
        sees, did, sees_not = self.texts.sees, self.texts.did, self.texts.sees_not
        if kind == "first":
            did = (*did, f"sensor-seated={named[0]}")
        elif kind == "sees":
            sees = (*sees, *named)
        elif named[0] == YES:
            sees = (*sees, what)
        else:
            sees_not = (*sees_not, what)
        return dataclasses.replace(self.texts, sees=sees, sees_not=sees_not, did=did)

    def _which(self, word: str, named: str) -> SeenTexts:
        """Return what is known where a word is told from another that it is often said for."""
        _, other = self._book.questions.which[word]
        if named == word:
            return dataclasses.replace(self.texts, sees_not=(*self.texts.sees_not, other))
        swapped = []
        for text in self.texts.sees:
            swapped += [text] if self._word(text) != word or named == "both" else []
            swapped += [_put(other, text)] if self._word(text) == word else []
        return dataclasses.replace(self.texts, sees=tuple(swapped))

    def _when(self, word: str, named: Sequence[str]) -> SeenTexts:
        sees = [text for text in self.texts.sees if self._word(text) != word or "@" in text]
        sees += [f"{word}@{when}" for when in named]
        return dataclasses.replace(self.texts, sees=tuple(sees))

    def _word(self, text: str) -> str:
        """Return the word of a text, whichever alias it is written with."""
        return read_seen(SeenTexts(sees=(text,)), self._book).sightings[0].word

    def _read(self, kind: str, what: str, text: str) -> tuple[SeenTexts, tuple[str, ...]]:
        if kind == "after":
            return dataclasses.replace(self.texts, after=text), (text,)
        one = next(one for one in self._book.questions.readings if one.name == what)
        if _BARE.fullmatch(text) and not one.usual[0] <= float(text) <= one.usual[1]:
            problem = f"'{text}' has no unit, and {text} {one.unit} is not what is usual"
            raise InputError(problem, f"write it with its unit, such as '{text} {one.unit}'")
        return with_reading(self.texts, one, text), (one.form.replace("{}", text),)


def _put(word: str, text: str) -> str:
    """Return a text with another word in its circumstance."""
    _, at, when = text.partition("@")
    return f"{word}{at}{when}"


def _chosen(question: SymptomQuestion, text: str, meant: Mapping[str, str]) -> tuple[str, ...]:
    """Return the choices that an answer names: by number, name or its beginning, everyday word."""
    parts = [part.strip() for part in text.split(",")] if question.several else [text]
    names = [meant.get(plain_word(part), part) for part in parts if part]
    return tuple(dict.fromkeys(chosen_of(question.choices, name) for name in names))
