"""Finds what to ask the owner next: the open fields of the sheet, what narrows most first.

It asks nothing itself and changes nothing: see `interview`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping

from advisor.base import Band, Fact, OriginKind, frozen
from advisor.catalog import Catalog, FactInfo
from advisor.inputs import Fields, SheetField, load_fields
from advisor.machine import FactBook, band_of, measure_next

__all__ = ["ANSWER", "CURRENT", "Question", "open_questions", "stated_fields"]

ANSWER, CURRENT = "flow.capacity", "motor.borne_current"
LITTLE = 0.02  # a share of the spread below which a question explains little
_OPEN = (OriginKind.CATALOGUE, OriginKind.DERIVED)
_LARGE, _MIDDLE, _SMALL = 0.1, 0.05, 0.1
"""Ranks: large shares of the capacity as they are; then words it hangs on, at `_LARGE`; then what
the current hangs on, from `_MIDDLE` on; then small shares, times `_SMALL`; then the rest."""


@frozen
class Question:
    """One thing to ask.

    ``fields`` is one field, or those of a measurement, ``needed`` of which it cannot do without.
    ``choices`` are the words it takes, each with its title (empty where it has none).
    ``share`` is the part of the answer's spread that it explains; None where none can be told.
    ``weighty`` says whether it narrows one of the two answers, as far as can be told.
    What is taken meanwhile is ``taken``, a band in the field's unit, or the word ``taken_word``.
    """

    path: str
    title: str
    find: str
    fields: tuple[SheetField, ...]
    needed: int = 1
    more: str | None = None
    choices: tuple[tuple[str, str], ...] = ()
    share: float | None = None
    for_current: bool = False
    taken: Band | None = None
    taken_word: str | None = None
    weighty: bool = False

    @property
    def is_class(self) -> bool:
        """Whether it settles other facts through a class of the catalogue."""
        return self.fields[0].catalogue is not None


def open_questions(book: FactBook, catalog: Catalog, passed: Iterable[str]) -> list[Question]:
    """Return what may still be asked, what narrows the answer most first.

    Parameters
    ----------
    book : FactBook
        The facts of the extruder as they stand.
    catalog : Catalog
        The classes and the vocabulary.
    passed : iterable of str
        Questions that were answered or left open.
    """
    fields, skipped = load_fields(), set(passed)
    ranking = _Ranking(book, catalog)
    found = []
    for path, find in fields.questions.items():
        if path not in skipped and (rank := ranking.rank(path, fields)) is not None:
            question = _question(path, find, fields, ranking)
            found.append((rank, dataclasses.replace(question, weighty=rank > 0.0)))
    lead = next(iter(fields.questions), "")  # the first of the list goes before all others
    return [
        question for _, question in sorted(found, key=lambda pair: (pair[1].path != lead, -pair[0]))
    ]


def stated_fields(facts: Iterable[Fact]) -> dict[str, str]:
    """Return the text of each field that facts of a sheet state, as its owner wrote it."""
    texts = {}
    for fact in facts:
        path, text = fact.origin.setting, fact.origin.text
        if path is not None and text is not None:
            word = fact.text is not None and text.strip().lower() != fact.text
            texts[path] = str(fact.text) if word else text  # 'rms' is read off '1.0 A rms'
    return texts


class _Ranking:
    """What the two answers hang on, and how much of their spread each input explains."""

    def __init__(self, book: FactBook, catalog: Catalog) -> None:
        self.book = book
        self.catalog = catalog
        self.shares = {
            target: {row.fact: row.share for row in measure_next(book.facts, catalog.facts, target)}
            for target in (ANSWER, CURRENT)
        }
        self.below = {target: _ancestors(book.facts, target) for target in (ANSWER, CURRENT)}

    def rank(self, path: str, fields: Fields) -> float | None:
        """Return the rank of a question, the largest first; None where nothing is to be asked."""
        field = fields.fields.get(path)
        if field is None:
            return self._rank_of_block(path, fields)
        if not self._is_open(field):
            return None
        share, current = self.share(field.path, ANSWER), self.share(field.path, CURRENT)
        word = field.type != "number"
        hangs = {target: self._hangs(field, target) for target in (ANSWER, CURRENT)}
        ranks = (
            share if share >= _LARGE else 0.0,
            _LARGE if word and hangs[ANSWER] else 0.0,
            _MIDDLE + 0.9 * (_LARGE - _MIDDLE) * current
            if current >= LITTLE or (word and hangs[CURRENT])
            else 0.0,
            share * _SMALL if share >= LITTLE else 0.0,
        )
        rank = next((rank for rank in ranks if rank), 0.0)
        return rank if rank or any(hangs.values()) else None

    def _rank_of_block(self, path: str, fields: Fields) -> float | None:
        facts = [self.book.facts.get(f.fact) for f in _inner(path, fields)]
        if any(fact is not None and fact.known for fact in facts):
            return None
        share = max(self.share(path, ANSWER), self.share(path, CURRENT))
        return share * _SMALL if share >= LITTLE else -1.0

    def share(self, path: str, target: str) -> float:
        """Return the largest share of what the field states; 0.0 where none can be told."""
        shares = self.shares[target]
        return max((shares.get(fact, 0.0) for fact in self._states(path)), default=0.0)

    def _states(self, path: str) -> Iterator[str]:
        """Yield the facts a field settles: its own, those of a class, those of a measurement."""
        infos: Mapping[str, FactInfo] = self.catalog.facts
        yield from (name for name, info in infos.items() if info.sheet == path)
        field = load_fields().fields.get(path)
        if field is not None and field.catalogue is not None:
            yield from self._fed(field.catalogue)

    def _fed(self, category: str) -> Iterator[str]:
        """Yield the open facts on which the classes of a category differ."""
        entries = [e for name, e in self.catalog.category(category).items() if name != "unstated"]
        names = dict.fromkeys(name for entry in entries for name in entry.numbers)
        for name in names:
            fact = self.book.facts.get(name)
            numbers = [entry.numbers.get(name) for entry in entries]
            ends = {(n.low, n.typical, n.high) if n is not None else None for n in numbers}
            if fact is not None and fact.origin.kind in _OPEN and len(ends) > 1:
                yield name

    def _is_open(self, field: SheetField) -> bool:
        fact = self.book.facts.get(field.fact)
        return fact is None or not fact.known or fact.origin.kind in _OPEN

    def _hangs(self, field: SheetField, target: str) -> bool:
        return any(fact in self.below[target] for fact in self._states(field.path))


def _ancestors(facts: Mapping[str, Fact], target: str) -> set[str]:
    """Return the facts that a fact follows from, near and far."""
    found: set[str] = set()
    waiting = [target]
    while waiting:
        fact = facts.get(waiting.pop())
        for name in fact.trace.inputs if fact is not None else ():
            if name not in found:
                found.add(name)
                waiting.append(name)
    return found


def _inner(path: str, fields: Fields) -> tuple[SheetField, ...]:
    return tuple(f for name, f in fields.fields.items() if name.startswith(f"{path}."))


def _question(path: str, find: str, fields: Fields, ranking: _Ranking) -> Question:
    field = fields.fields.get(path)
    inner = _inner(path, fields) if field is None else (field,)
    info = ranking.catalog.facts[inner[0].fact]
    shares = {target: ranking.share(path, target) for target in (ANSWER, CURRENT)}
    current = shares[ANSWER] < LITTLE and shares[CURRENT] > 0.0
    share = shares[CURRENT if current else ANSWER]
    own = ranking.book.facts.get(inner[0].fact) if field is not None else None
    return Question(
        path=path,
        title=info.title,
        find=find,
        fields=inner,
        needed=len(fields.blocks.get(path, ())) or 1,
        more=_more(path, info, ranking.catalog),
        choices=_choices(inner[0], ranking.catalog) if field is not None else (),
        share=share or None,
        for_current=current,
        taken=band_of(own),
        taken_word=None if own is None else own.text,
    )


def _more(path: str, info: FactInfo, catalog: Catalog) -> str | None:
    """Return the longer words on what it is and how it is measured."""
    whole = next((i for i in catalog.facts.values() if i.sheet == path and i.measure), info)
    parts = [part for part in (info.about, whole.measure) if part]
    return "; ".join(parts) or None


def _choices(field: SheetField, catalog: Catalog) -> tuple[tuple[str, str], ...]:
    if field.catalogue is None:
        return tuple((word, "") for word in field.choices)
    entries = catalog.category(field.catalogue)
    return tuple((name, entry.title) for name, entry in entries.items() if name != "unstated")
