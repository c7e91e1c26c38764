"""Answers `explain`: what a name means; with a config, how its value came about."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.asks import Asks
from advisor.catalog import CATEGORIES, Catalog, Entry, FactInfo, load_catalog
from advisor.errors import UnreadableError, UsageError, near_miss
from advisor.facts.graph import FactBook
from advisor.facts.summary import LIMITS
from advisor.lint.check import CheckedConfig, check_config
from advisor.lint.formula_words import in_numbers, in_words
from advisor.model import Fact, Figure
from advisor.records import Derivation, Explanation
from advisor.rulebook import Rule, load_rulebook
from advisor.units import parse_unit

__all__ = ["explain"]

_DEEPEST = 12


def explain(name: str, *, config: str | None = None, asks: Asks | None = None) -> Explanation:
    """Return what `name` means.

    Parameters
    ----------
    name : str
        A rule, a fact, a flow limit (``torque``), or an entry of the catalogue.
    config : str, optional
        A config: a fact then comes with its whole derivation, a rule with its findings.
    asks : Asks, optional
        Sheet, profiles and what else the command line states.

    Raises
    ------
    UsageError
        For a name that is none of these; names the closest one.
    UnreadableError
        If the config cannot be read.
    """
    catalog = load_catalog()
    plain = name.strip().lower()
    rule = load_rulebook().find(plain)
    if rule is not None:
        return _rule(rule, catalog, _checked(config, asks))
    fact = f"flow.{plain}" if plain in LIMITS else plain
    if fact in catalog.facts:
        return _fact(catalog.facts[fact], catalog, _checked(config, asks))
    for category, word in CATEGORIES.items():
        entry = catalog.category(category).get(plain)
        if entry is not None:
            return _entry(word, entry, catalog)
    raise _unknown(name, catalog)


def _unknown(name: str, catalog: Catalog) -> UsageError:
    known = [rule.name for rule in load_rulebook().rules]
    known += [*catalog.facts, *LIMITS]
    known += [entry for category in CATEGORIES for entry in catalog.category(category)]
    hint = near_miss(name, known) or "name a rule, a fact such as flow.capacity, or a material"
    return UsageError(f"'{name}' is no rule, fact or catalogue name", hint)


def _checked(config: str | None, asks: Asks | None) -> CheckedConfig | None:
    if config is None:
        return None
    checked = check_config(config, asks or Asks())
    if checked.report.errors:
        raise UnreadableError("\n".join(checked.report.errors))
    return checked


def _rule(rule: Rule, catalog: Catalog, checked: CheckedConfig | None) -> Explanation:
    lines: list[tuple[str, str | None]] = [
        ("Level", rule.level.value),
        ("Stage", rule.stage),
        ("Holds when", rule.condition),
        ("Says", rule.message_text),
        ("Why", rule.why),
        ("Fix", rule.fix_text),
        ("Advice", rule.advice_text),
        ("Caution", rule.caution),
        ("Replaces", ", ".join(rule.supersedes)),
        *(("Source", _source(source, catalog)) for source in rule.sources),
    ]
    findings = checked.report.findings if checked is not None else ()
    return Explanation(
        kind="rule",
        name=rule.name,
        title=rule.title,
        lines=tuple((label, text) for label, text in lines if text),
        at=rule.place,
        findings=tuple(finding for finding in findings if finding.rule == rule.name),
    )


def _source(name: str | None, catalog: Catalog) -> str:
    source = catalog.sources.get(name or "")
    return f"{source.what} ({source.status})" if source else (name or "")


def _fact(info: FactInfo, catalog: Catalog, checked: CheckedConfig | None) -> Explanation:
    lines = [("What", info.about), ("Unit", info.unit), ("Stage", info.stage)]
    if info.sheet:
        lines.append(("Sheet", info.sheet))
    lines.append(("To measure", info.measure or ""))
    steps, extruder = _derivation(info, catalog, checked)
    return Explanation(
        kind="fact",
        name=info.name,
        title=info.title,
        lines=tuple((label, text) for label, text in lines if text and text != "-"),
        numbers=tuple(_numbers_for(info, catalog)) if checked is None else (),
        extruder=extruder,
        derivation=steps,
    )


def _derivation(
    info: FactInfo, catalog: Catalog, checked: CheckedConfig | None
) -> tuple[tuple[Derivation, ...], str | None]:
    if checked is None or not checked.books:
        return (), None
    steps: list[Derivation] = []
    for book in checked.books.values():
        steps += _walk(info.name, book, catalog, 0, set())
    return tuple(steps), ", ".join(checked.books)


def _walk(
    name: str, book: FactBook, catalog: Catalog, depth: int, seen: set[str]
) -> Iterator[Derivation]:
    """Yield a fact, then what it was made of, deepest last; a fact is shown in full once."""
    fact = book.facts.get(name)
    if fact is None:
        return
    repeated = name in seen and bool(fact.trace.inputs)
    info = catalog.facts.get(name)
    title, unit = (info.title, info.unit) if info is not None else (name, "")
    yield Derivation(
        Figure(fact, title, unit), title, _formula(fact, book, catalog), depth, repeated
    )
    if repeated or depth >= _DEEPEST:
        return
    seen.add(name)
    for part in fact.trace.inputs:
        yield from _walk(part, book, catalog, depth + 1, seen)


def _formula(fact: Fact, book: FactBook, catalog: Catalog) -> str | None:
    if fact.trace.formula is None:
        return None
    words = in_words(fact.trace.formula, catalog.facts)
    numbers = in_numbers(fact.trace.formula, book.facts) if fact.known else None
    return f"{words} = {numbers}" if numbers else words


def _entry(word: str, entry: Entry, catalog: Catalog) -> Explanation:
    lines = [("About", entry.about), ("Taken when", entry.suggest or "")]
    lines += [(catalog.facts[name].title, text) for name, text in entry.texts.items()]
    return Explanation(
        kind=word,
        name=entry.name,
        title=entry.title,
        lines=tuple((label, text) for label, text in lines if text),
        numbers=tuple(_numbers(entry, catalog)),
        at=entry.at,
    )


def _numbers(entry: Entry, catalog: Catalog) -> Iterator[Mapping[str, Any]]:
    for name in entry.numbers:
        yield _number(name, entry, catalog)


def _number(name: str, entry: Entry, catalog: Catalog, prefix: str = "") -> Mapping[str, Any]:
    number, info = entry.numbers[name], catalog.facts[name]
    unit = parse_unit(info.unit)
    return {
        "fact": f"{prefix}{info.title}",
        "low": float(unit.from_si(number.low)),
        "typical": float(unit.from_si(number.typical)),
        "high": float(unit.from_si(number.high)),
        "unit": info.unit,
        "source": _source(number.source, catalog),
        "status": number.status,
    }


def _numbers_for(info: FactInfo, catalog: Catalog) -> Iterator[Mapping[str, Any]]:
    """Yield what the catalogue's entries hold for a fact."""
    for category in CATEGORIES:
        for entry in catalog.category(category).values():
            if info.name in entry.numbers:
                yield _number(info.name, entry, catalog, f"{entry.name}: ")
    if info.name in catalog.model.numbers:
        yield _number(info.name, catalog.model, catalog, "model: ")
