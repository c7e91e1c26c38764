"""The questions of the hardware sheet as a conversation: what is asked, what was answered.

The reader of sheets judges each answer, and the facts are worked out anew after each. It reads
no keyboard, writes nothing, and knows no words: see the report and the command.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Mapping

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.conversation import QuestionsInTurn, chosen_of
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.questions import ANSWER, CURRENT, Question, open_questions, stated_fields
from advisor.answers.session import SHEET_NAME, command_facts, read_given
from advisor.answers.sheet_text import sheet_text
from advisor.base import Band, InputError, Level, UnreadableError, UsageError
from advisor.catalog import Catalog, load_catalog
from advisor.inputs import Sheet, SheetField, SheetPart, read_sheet
from advisor.judge import load_rulebook
from advisor.machine import FactBook, band_of
from advisor.mend import Snapshot, real_path

__all__ = ["Interview"]

_BARE = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:\s*\.\.\s*(?:\d+(?:\.\d*)?|\.\d+)){0,2}")
_DOUBLE = 2.0  # a number without unit may be this far from the classes of the catalogue


class Interview(QuestionsInTurn[Question, Mapping[str, str]]):
    """The questions on one extruder.

    Parameters
    ----------
    config : str
        A config.
    asks : Asks
        What else is known: a sheet to begin with, profiles.
    extruder : str, optional
        The extruder's section name; the first one where not given. Where it is named, or has
        values of its own in the sheet, the answers are stated for it alone.

    Raises
    ------
    UnreadableError
        If the config or the sheet cannot be read.
    UsageError
        If the config has no such extruder.
    """

    def __init__(self, config: str, asks: Asks, *, extruder: str | None = None) -> None:
        super().__init__()
        self.config, self._asks = config, asks
        self.catalog: Catalog = load_catalog()
        self._files = Snapshot()
        given = read_given(
            config,
            Asks(sheet=asks.sheet, outside=asks.outside, fields=asks.fields, use_tests=False),
            self.catalog,
            self._files,
        )
        if given.errors:
            raise UnreadableError("\n".join(str(error) for error in given.errors))
        self.sheet_file = given.sheet.file if given.sheet is not None else None
        self._shared, self._extruders = _texts(given.sheet)
        self._allow = given.sheet.allow if given.sheet is not None else ()
        self._name = given.sheet.name if given.sheet is not None else None
        self.answers: dict[str, str] = _of_command(asks, self._shared, self.catalog)
        self.extruder, self._own = "", False
        books = self._begin(extruder)
        self._own = self.extruder in self._extruders or (extruder is not None and len(books) > 1)
        self._book = books[self.extruder]

    def left(self) -> list[Question]:
        """Return the questions that are left, what narrows the answer most first."""
        return open_questions(self._book, self.catalog, self.passed)

    @property
    def left_open(self) -> tuple[str, ...]:
        """The questions that were seen and not answered."""
        return tuple(p for p in self.passed if not any(_is_in(path, p) for path in self.answers))

    @property
    def capacity(self) -> Band | None:
        """The capacity as it stands, in mm3/s."""
        return band_of(self._book.facts.get(ANSWER))

    @property
    def current(self) -> Band | None:
        """The derated current as it stands, in A RMS."""
        return band_of(self._book.facts.get(CURRENT))

    def answer(self, text: str) -> tuple[str, ...]:
        """Take the answer to the present question and return it as the sheet states it.

        Raises
        ------
        InputError
            If it cannot be; the question stands.
        """
        question = self._asked()
        stated = _stated(question, text, self.catalog)
        before = dict(self.answers)
        self._check({**before, **stated})
        self._take(question, {**before, **stated})
        return tuple(stated.values())

    def text(self, heading: Iterable[str] = ()) -> str:
        """Return the sheet: what the old one states, and what was answered."""
        return self._text(self.answers, heading)

    def _known(self) -> Mapping[str, str]:
        return dict(self.answers)

    def _return_to(self, known: Mapping[str, str]) -> None:
        self.answers = dict(known)
        self._book = self._worked_out()

    def _take(self, question: Question, answers: Mapping[str, str]) -> None:
        """Take the answers, unless the config contradicts the class that is named."""
        before = dict(self.answers)
        self.answers = dict(answers)
        checked = self._checked()
        contradiction = _contradiction(question, checked) if question.is_class else None
        if contradiction is not None:
            self.answers = before
            raise InputError(contradiction, "name another class, or leave it open with Enter")
        self._pass(question, before)
        self._book = checked.books[self.extruder]

    def _check(self, answers: Mapping[str, str]) -> None:
        """Let the reader of sheets judge the sheet with these answers."""
        try:
            read_sheet(self._text(answers, ()), SHEET_NAME, catalog=self.catalog)
        except InputError as err:  # of several, the first
            raise InputError(err.problem, err.remedy) from None

    def _text(self, answers: Mapping[str, str], heading: Iterable[str]) -> str:
        scopes = {path: field.scope for path, field in _all_fields().items()}
        own = {p: text for p, text in answers.items() if self._own and scopes[p] != "machine"}
        shared = {p: text for p, text in answers.items() if p not in own}
        extruders = dict(self._extruders)
        if own:
            extruders[self.extruder] = {**extruders.get(self.extruder, {}), **own}
        kept = {**self._shared, **shared}
        return sheet_text(heading, kept, extruders, self._allow, name=self._name)

    def _begin(self, extruder: str | None) -> Mapping[str, FactBook]:
        """Choose the extruder, and return the facts of all."""
        checked = self._checked()
        name = chosen_extruder(checked, extruder)
        if name is None:
            raise UsageError("the config has no extruder section", "name the root config")
        self.extruder = name
        return checked.books

    def _worked_out(self) -> FactBook:
        return self._checked().books[self.extruder]

    def _checked(self) -> CheckedConfig:
        """Return the config worked out with the sheet as it stands, which is on no disk."""
        name = self.sheet_file or SHEET_NAME
        files = Snapshot(
            self._files.first, {real_path(name): self._text(self.answers, ()).encode()}
        )
        asks = dataclasses.replace(self._asks, sheet=name, use_tests=False)
        checked = check_config(self.config, asks, files=files)
        if checked.report.errors:
            raise UnreadableError("\n".join(checked.report.errors))
        return checked


def _all_fields() -> Mapping[str, SheetField]:
    from advisor.inputs import load_fields

    return load_fields().fields


def _of_command(asks: Asks, shared: Mapping[str, str], catalog: Catalog) -> dict[str, str]:
    """Return what the command line states for good; what the sheet says of it stays."""
    if asks.material is None or "filament.material" in shared:
        return {}
    facts = command_facts(Asks(material=asks.material), catalog)
    return {"filament.material": str(facts["filament.material"].text)}


def _texts(sheet: Sheet | None) -> tuple[dict[str, str], dict[str, dict[str, str]]]:
    """Return what a sheet and its bases state for all extruders, and for single ones."""
    if sheet is None:
        return {}, {}
    return _of_part(sheet.shared), {
        name: own
        for name, part in sheet.extruders.items()
        if (own := _of_part(part, but=sheet.shared))
    }


def _of_part(part: SheetPart, but: SheetPart | None = None) -> dict[str, str]:
    upper = but.facts if but is not None else {}
    return stated_fields(fact for name, fact in part.facts.items() if fact is not upper.get(name))


def _contradiction(question: Question, checked: CheckedConfig) -> str | None:
    """Return what the rules say against a class that the config contradicts; None where nothing."""
    rules = load_rulebook()
    for finding in checked.report.findings:
        rule = rules.find(finding.rule) if finding.level is Level.ERROR else None
        if rule is not None and rule.at[:1] == (question.fields[0].fact,):
            return finding.message.rstrip(".")
    return None


def _is_in(path: str, question: str) -> bool:
    return path == question or path.startswith(f"{question}.")


def _stated(question: Question, text: str, catalog: Catalog) -> dict[str, str]:
    """Return the values of an answer by field; a measurement has several, with commas."""
    if len(question.fields) == 1:
        return {question.fields[0].path: _value(question, question.fields[0], text, catalog)}
    parts = [part.strip() for part in re.split(r",(?!\d)|;", text)]
    names = ", ".join(field.path.rpartition(".")[2] for field in question.fields)
    if not question.needed <= len(parts) <= len(question.fields) or not all(parts):
        count = f"{question.needed} to {len(question.fields)} values"
        if question.needed == len(question.fields):
            count = f"{question.needed} values"
        raise InputError(f"{len(parts)} given, this takes {count}", f"write {names}, with commas")
    pairs = zip(question.fields, parts, strict=False)
    return {field.path: _value(question, field, part, catalog) for field, part in pairs}


def _value(question: Question, field: SheetField, text: str, catalog: Catalog) -> str:
    """Return the text of a value: a word from the list for its number, a number with its unit."""
    text = text.strip()
    if field.type != "number":
        return chosen_of(question.choices, text)
    if field.count or field.ratio or field.unit in ("", "-") or not _BARE.fullmatch(text):
        return text
    unit = field.unit.removesuffix(" rms")
    if not _is_plausible(field, text, catalog):
        problem = f"'{text}' has no unit, and {text} {unit} is not what is usual"
        raise InputError(problem, f"write it with its unit, such as '{text} {unit}'")
    return f"{text} {unit}"


def _is_plausible(field: SheetField, text: str, catalog: Catalog) -> bool:
    """Whether a bare number in the unit due is near what the catalogue has."""
    from advisor.base import parse_unit

    unit = parse_unit(field.unit)
    ends = [float(unit.from_si(end)) for end in _usual(field, catalog)]
    values = [float(part) for part in text.split("..")]
    if not ends:
        return True
    return min(ends) / _DOUBLE <= min(values) and max(values) <= max(ends) * _DOUBLE


def _usual(field: SheetField, catalog: Catalog) -> list[float]:
    from advisor.catalog import CATEGORIES

    entries = [entry for name in CATEGORIES for entry in catalog.category(name).values()]
    numbers = [e.numbers[field.fact] for e in (*entries, catalog.model) if field.fact in e.numbers]
    return [end for number in numbers for end in (number.low, number.high)]
