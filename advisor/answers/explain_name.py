"""Answers `explain`: what a name means; with a config, how its value came about."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.condition_words import (
    condition_parts,
    condition_words,
    in_numbers,
    in_words,
    template_words,
    title,
)
from advisor.answers.lint import check_config
from advisor.answers.machine_records import CatalogueFigure, Derivation, Explanation
from advisor.base import LIMITS, Fact, Figure, UnreadableError, UsageError, near_miss, parse_unit
from advisor.catalog import CATEGORIES, Catalog, Entry, FactInfo, load_catalog
from advisor.inputs import Key, load_dialect, load_dialects, load_glossary
from advisor.judge import Rule, event_words, load_rulebook
from advisor.machine import FactBook

__all__ = ["explain"]

_DEEPEST = 12
_BANDED = re.compile(r"\{([a-z_]+\.[a-z0-9_.]+)\}")  # a figure of a message, with its range


def explain(
    name: str | None, *, config: str | None = None, asks: Asks | None = None
) -> Explanation:
    """Return what `name` means.

    Parameters
    ----------
    name : str or None
        A rule, a fact, a flow limit (``torque``), a key of the config, an entry of the catalogue
        or a word of the trade. None lists the names by kind.
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
    if name is None:
        return _names(catalog)
    plain = " ".join(name.strip().lower().split())
    for find in (_found_rule, _found_fact, _found_setting, _found_entry, _found_word,
                 _found_slicer_key):  # fmt: skip
        found = find(plain, catalog, lambda: _checked(config, asks))
        if found is not None:
            return found
    raise _unknown(name, catalog)


_Check = Callable[[], "CheckedConfig | None"]


def _found_rule(name: str, catalog: Catalog, checked: _Check) -> Explanation | None:
    rule = load_rulebook().find(name)
    return None if rule is None else _rule(rule, catalog, checked())


def _found_fact(name: str, catalog: Catalog, checked: _Check) -> Explanation | None:
    fact = f"flow.{name}" if name in LIMITS else name
    return _fact(catalog.facts[fact], catalog, checked()) if fact in catalog.facts else None


def _found_setting(name: str, catalog: Catalog, checked: _Check) -> Explanation | None:
    key = _keys().get(name.replace(" ", "_"))
    if key is None:
        return None
    words = load_glossary().settings.get(key.name)
    lines = [("Governs", words.governs), ("Not", words.not_this)] if words is not None else []
    return _setting(key.name, catalog.facts[key.fact], lines, catalog, checked())


def _setting(
    name: str,
    info: FactInfo,
    lines: list[tuple[str, str]],
    catalog: Catalog,
    checked: CheckedConfig | None,
) -> Explanation:
    rules = sorted(rule.name for rule in load_rulebook().rules if info.name in _facts_of(rule))
    of_fact = _fact(info, catalog, checked)
    lines += [("Unit", info.unit), ("Fact", info.name), ("Rules", ", ".join(rules))]
    return Explanation(
        kind="setting",
        name=name,
        title=info.title,
        lines=tuple((label, text) for label, text in lines if text and text != "-"),
        numbers=of_fact.numbers,
        extruder=of_fact.extruder,
        derivation=of_fact.derivation,
    )


def _found_slicer_key(name: str, catalog: Catalog, checked: _Check) -> Explanation | None:
    """Find a key of a slicer profile: one that states a fact, or a part of a feature."""
    written = {key.lower(): key for key in _slicer_keys()}
    key = written.get(name) or written.get(name.replace(" ", "_"))
    if key is None:
        return None
    read = [one for one in load_dialects().all if key in one.spellings]
    own = {one.spellings[key] for one in read}
    lines = [("Slicer", f"key of a profile ({', '.join(one.title for one in read)})")]
    stated = (fact.name for one in read for fact in one.facts if own & set(fact.keys))
    name_of = next((fact for fact in stated if fact in catalog.facts), None)
    if name_of is not None:
        return _setting(key, catalog.facts[name_of], lines, catalog, checked())
    uses = dict.fromkeys(
        f"{part} of the {feature.title}"
        for one in read
        for feature in one.features
        for part, keys in feature.parts.items()
        if own & set(keys)
    )
    lines += [("Sets", ", ".join(uses))] if uses else []
    return Explanation(kind="setting", name=key, title="setting of the slicer profile",
                       lines=tuple(lines))  # fmt: skip


def _slicer_keys() -> Iterator[str]:
    for one in load_dialects().all:
        yield from one.spellings


def _keys() -> dict[str, Key]:
    return {key.name: key for role in load_dialect().roles.values() for key in role.keys.values()}


def _facts_of(rule: Rule) -> frozenset[str]:
    """Return the facts that a rule looks at or points to."""
    return frozenset((*(rule.when.facts if rule.when is not None else ()), *rule.at))


def _found_entry(name: str, catalog: Catalog, _: _Check) -> Explanation | None:
    for category, word in CATEGORIES.items():
        entry = catalog.category(category).get(name)
        if entry is not None:
            return _entry(word, entry, catalog)
    return None


def _found_word(name: str, catalog: Catalog, _: _Check) -> Explanation | None:
    word = load_glossary().word(name) or load_glossary().word(name.replace("_", " "))
    if word is None:
        return None
    lines = [("Meaning", word.text), ("Also", ", ".join(word.also))]
    lines.append(("Go on with", ", ".join(f"feedwright explain {name}" for name in word.see)))
    told = tuple((label, text) for label, text in lines if text)
    return Explanation(kind="word", name=word.name, title="", lines=told)


def _names(catalog: Catalog) -> Explanation:
    """Return what can be asked for, by kind."""
    glossary = load_glossary()
    by_stage: dict[str, list[str]] = {}
    for rule in load_rulebook().rules:
        by_stage.setdefault(rule.stage, []).append(rule.name)
    by_part: dict[str, list[str]] = {}
    for fact in catalog.facts:
        by_part.setdefault(fact.partition(".")[0], []).append(fact)
    lines = [("Words", ", ".join(glossary.words)), ("Limits", ", ".join(LIMITS)),
             ("Settings", ", ".join(sorted(_keys())))]  # fmt: skip
    lines += [(name.capitalize(), ", ".join(catalog.category(name))) for name in CATEGORIES]
    rules = [(f"Rules: {stage}", ", ".join(names)) for stage, names in by_stage.items()]
    facts = [(f"Facts: {part}", ", ".join(names)) for part, names in by_part.items()]
    count = sum(map(len, by_stage.values()))
    named = len(catalog.facts)
    short = [
        ("Rules", f"{count}, by the name at the end of a finding; --full lists them"),
        ("Facts", f"{named}, such as flow.capacity; --full lists them"),
    ]
    return Explanation(
        kind="names",
        name="what can be explained",
        title="",
        lines=(*lines, *rules, *facts),
        spoken=(*lines, *short),
    )


def _unknown(name: str, catalog: Catalog) -> UsageError:
    glossary = load_glossary()
    known = [rule.name for rule in load_rulebook().rules]
    known += [*catalog.facts, *LIMITS, *_keys(), *_slicer_keys(), *glossary.words]
    known += [other for word in glossary.words.values() for other in word.also]
    known += [entry for category in CATEGORIES for entry in catalog.category(category)]
    hint = near_miss(name, known) or "'feedwright explain' alone lists the names"
    problem = f"'{name}' is no rule, fact, setting, catalogue name or word of the trade"
    return UsageError(problem, hint)


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
    steps, extruder = _main_figure(rule, catalog, checked)
    return Explanation(
        kind="rule",
        name=rule.name,
        title=rule.title,
        lines=tuple((label, text) for label, text in lines if text),
        spoken=tuple((label, text) for label, text in _spoken(rule, catalog) if text),
        at=rule.place,
        findings=tuple(finding for finding in findings if finding.rule == rule.name),
        extruder=extruder,
        derivation=steps,
    )


def _main_figure(
    rule: Rule, catalog: Catalog, checked: CheckedConfig | None
) -> tuple[tuple[Derivation, ...], str | None]:
    """Return how the figure came about that the rule tells with its range, else judges."""
    if checked is None or not checked.books:
        return (), None
    told = _BANDED.findall(rule.message_text)
    judged = rule.when.facts if rule.when is not None else ()
    for name in (*told, *judged):
        facts = (book.facts.get(name) for book in checked.books.values())
        if any(fact is not None and fact.known and fact.trace.inputs for fact in facts):
            return _derivation(catalog.facts[name], catalog, checked)
    return (), None


def _spoken(rule: Rule, catalog: Catalog) -> Iterator[tuple[str, str | None]]:
    """Yield what a rule is about for people: no text with places to fill in, no condition."""
    infos = catalog.facts
    yield "Level", rule.level.value
    for number, part in enumerate(_conditions(rule, catalog)):
        yield "and" if number else "Told when", part
    yield "Milder", "; ".join(_milder(rule, catalog))
    yield "Says", template_words(rule.message_text, infos)
    yield "Why", rule.why
    if rule.fix is not None:
        to = condition_words(rule.fix.to.text, infos)
        yield "Change", f"{title(rule.fix.fact, infos)}: to {to}{rule.fix.rounding}"
    yield "Fix", template_words(rule.advice_text or "", infos)
    yield "Caution", rule.caution
    yield "Instead of", ", ".join(rule.supersedes)
    yield "Source", "; ".join(_source(source, catalog) for source in rule.sources)


def _conditions(rule: Rule, catalog: Catalog) -> Iterator[str]:
    if rule.event:
        yield event_words(rule.event).rstrip(".")
    if rule.when is not None:
        yield from condition_parts(rule.when.text, catalog.facts)


def _milder(rule: Rule, catalog: Catalog) -> Iterator[str]:
    for level, condition in rule.milder:
        yield f"where {condition_words(condition.text, catalog.facts)}, a {level.value} at most"


def _source(name: str | None, catalog: Catalog) -> str:
    source = catalog.sources.get(name or "")
    return f"{source.what} ({source.status})" if source else (name or "")


def _fact(info: FactInfo, catalog: Catalog, checked: CheckedConfig | None) -> Explanation:
    limit = load_glossary().limits.get(info.name.removeprefix("flow."), "")
    lines = [("What", info.about), ("Unit", info.unit), ("Stage", info.stage)]
    if info.sheet:
        lines.append(("Sheet", info.sheet))
    lines.append(("To measure", info.measure or ""))
    spoken = [("What", limit or info.about), *lines[1:]] if limit else []
    steps, extruder = _derivation(info, catalog, checked)
    return Explanation(
        kind="fact",
        name=info.name,
        title=info.title,
        lines=tuple((label, text) for label, text in lines if text and text != "-"),
        spoken=tuple((label, text) for label, text in spoken if text and text != "-"),
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


def _numbers(entry: Entry, catalog: Catalog) -> Iterator[CatalogueFigure]:
    for name in entry.numbers:
        yield _number(name, entry, catalog)


def _number(name: str, entry: Entry, catalog: Catalog, prefix: str = "") -> CatalogueFigure:
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


def _numbers_for(info: FactInfo, catalog: Catalog) -> Iterator[CatalogueFigure]:
    """Yield what the catalogue's entries hold for a fact."""
    for category in CATEGORIES:
        for entry in catalog.category(category).values():
            if info.name in entry.numbers:
                yield _number(info.name, entry, catalog, f"{entry.name}: ")
    if info.name in catalog.model.numbers:
        yield _number(info.name, catalog.model, catalog, "model: ")
