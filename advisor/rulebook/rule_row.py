"""Compiles one checked rule of YAML into the row of the rulebook."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.errors import DataError, near_miss
from advisor.expression import Compiled, compile_expression
from advisor.rulebook.checks import EventKind, RuleFile, RuleText
from advisor.rulebook.examples import check_example
from advisor.rulebook.template import Words, compile_template

__all__ = ["EXTRA_FIELDS", "GROUP_FIELDS", "compile_rule"]

EXTRA_FIELDS = ("unknown_settings",)
"""What an event rule may name beside the event's fields: settings that are not known."""

GROUP_FIELDS = ("count",)
"""What a grouped rule may name beside them: how many events there are."""


def compile_rule(
    file: RuleFile, index: int, *, vocabulary: Mapping[str, Any], events: Mapping[str, EventKind]
) -> dict[str, Any]:
    """Return the row of one rule.

    Parameters
    ----------
    file : RuleFile
        Where it stands.
    index : int
        Which rule of the file it is.
    vocabulary : mapping
        The facts it may name.
    events : mapping
        The kinds of events it may wait for.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    rule = RuleText(file, index)
    event = _event(rule, events)
    scope = rule.choice("scope", default="extruder")
    seen = _facts_in_view(rule, scope, event, vocabulary)
    words = _words(rule, event, seen)
    when = _when(rule, seen)
    if when is None and event is None:
        rule.fail(f"'{rule.name}' has neither when nor event", "add 'when:' or 'event:'")
    return {
        "name": rule.name,
        "title": rule.text("title"),
        "level": rule.choice("level"),
        "stage": rule.choice("stage"),
        "scope": scope,
        "when": None if when is None else when.to_json(),
        "event": None if event is None else event.name,
        "grouped": _grouped(rule, event),
        "words": words.replacements,
        "at": _at(rule, event, seen),
        "message": _template(rule, "message", words),
        "message_text": rule.text("message"),
        "advice": _template(rule, "advice", words) if rule.has("advice") else None,
        "advice_text": rule.text("advice") if rule.has("advice") else None,
        "why": rule.text("why"),
        "caution": rule.text("caution") if rule.has("caution") else None,
        "fix": _fix(rule, vocabulary),
        "source": rule.words("source"),
        "supersedes": rule.words("supersedes"),
        "examples": _examples(rule, event, vocabulary),
        "place": [rule.place.file, rule.place.line],
    }


def _event(rule: RuleText, events: Mapping[str, EventKind]) -> EventKind | None:
    if not rule.has("event"):
        return None
    kind = events.get(rule.word("event"))
    if kind is None:
        word = rule.word("event")
        hint = near_miss(word, events) or "the kinds are listed in rules/events.yaml"
        rule.fail(f"'{rule.name}': there is no event '{word}'", hint, "event")
    return kind


def _facts_in_view(
    rule: RuleText, scope: str, event: EventKind | None, vocabulary: Mapping[str, Any]
) -> Mapping[str, Any]:
    """Return the facts the condition may name: a machine's rule sees the machine's facts only."""
    fields = {f"event.{field}": "" for field in (event.fields if event else ())}
    if scope == "machine" and event is None:
        machine = {name: fact for name, fact in vocabulary.items() if fact.scope == "machine"}
        return {**machine, **fields}
    return {**vocabulary, **fields}


def _words(rule: RuleText, event: EventKind | None, vocabulary: Mapping[str, Any]) -> Words:
    fields = (*event.fields, *EXTRA_FIELDS) if event else ()
    if rule.row.get("grouped"):
        fields = (*fields, *GROUP_FIELDS)
    replacements = rule.row.get("words", {})
    for field, texts in replacements.items() if isinstance(replacements, dict) else ():
        if field not in fields or not isinstance(texts, dict):
            hint = near_miss(field, fields) or f"known are {', '.join(fields) or 'none'}"
            rule.fail(f"'{rule.name}': words of '{field}', which is no field", hint, "words")
    return Words(vocabulary, fields, replacements)


def _when(rule: RuleText, vocabulary: Mapping[str, Any]) -> Compiled | None:
    if not rule.has("when"):
        return None
    text, at = rule.text("when"), rule.locate("when")
    return compile_expression(text, vocabulary, expected="condition", at=at)


def _grouped(rule: RuleText, event: EventKind | None) -> bool:
    grouped = rule.row.get("grouped", False)
    if not isinstance(grouped, bool) or (grouped and event is None):
        rule.fail(f"'{rule.name}': grouped is '{grouped}'", "events can be grouped", "grouped")
    return grouped


def _at(rule: RuleText, event: EventKind | None, vocabulary: Mapping[str, Any]) -> list[str]:
    names = rule.listed("at")
    if event is not None and names:
        rule.fail(f"'{rule.name}' has an event, which has its place", "take 'at:' away", "at")
    if event is None and not names:
        rule.fail(f"'{rule.name}' has no at", "add 'at:' with the fact it points to")
    for name in names:
        if name not in vocabulary:
            hint = near_miss(name, vocabulary) or "the facts are listed in rules/facts.yaml"
            rule.fail(f"'{rule.name}': there is no fact '{name}'", hint, "at")
    return names


def _template(rule: RuleText, key: str, words: Words) -> list[Any]:
    return compile_template(rule.text(key), words, at=rule.locate(key))


def _fix(rule: RuleText, vocabulary: Mapping[str, Any]) -> dict[str, Any] | None:
    if not rule.has("fix"):
        if not rule.has("advice"):
            rule.fail(f"'{rule.name}' says not what to do", "add 'fix:' or 'advice:'")
        return None
    rule.check_fix()
    name = rule.text("fix", "set")
    fact = vocabulary.get(name)
    if fact is None or fact.type != "number":
        hint = near_miss(name, vocabulary) or "the facts are listed in rules/facts.yaml"
        rule.fail(f"'{rule.name}': there is no number '{name}'", hint, "fix", "set")
    fix = rule.row["fix"]
    unit = str(fix.get("unit", fact.unit))
    text, at = " ".join(str(fix["to"]).split()), rule.locate("fix", "to")
    to = compile_expression(text, vocabulary, expected=fact.unit, at=at)
    _check_unit(rule, unit, fact.unit)
    return {
        "set": name,
        "to": to.to_json(),
        "round": rule.choice("fix", "round"),
        "step": float(fix["step"]),
        "unit": unit,
    }


def _check_unit(rule: RuleText, unit: str, due: str) -> None:
    try:
        compile_expression(f"1 {unit}".strip(" -"), {}, expected=due)
    except DataError as err:
        rule.fail(f"'{rule.name}': unit is '{unit}'", err.problem, "fix", "unit")


def _examples(
    rule: RuleText, event: EventKind | None, vocabulary: Mapping[str, Any]
) -> dict[str, Any]:
    examples = rule.row["examples"]
    if not isinstance(examples, dict) or set(examples) != {"holds", "fails"}:
        remedy = "write 'holds:' and 'fails:', each with a list"
        rule.fail(f"'{rule.name}': examples must hold and fail", remedy, "examples")
    for word, rows in examples.items():
        if not isinstance(rows, list) or not rows:
            problem = f"'{rule.name}' has no example that {word}"
            rule.fail(problem, "add one", "examples", word)
        for index, row in enumerate(rows):
            try:
                check_example(row, event=event, vocabulary=vocabulary)
            except DataError as err:
                problem = f"'{rule.name}': {err.problem}"
                rule.fail(problem, err.remedy or "mend it", "examples", word, index)
    return examples
