"""Compiles one checked rule of YAML into the row of the rulebook; runs when the rulebook is built.

Of the placeholders in its texts ``{motor.run_current}`` gives value, unit and band; ``{...:value}``
no band, ``{...:number}`` the number alone, ``{...:place}`` the file and line, ``{...:text}`` the
user's own text, ``{...:setting}`` the user's own key. ``{a / b | %}`` is an expression shown in a
unit. ``{word}`` is a field of the event.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from advisor.base import DataError, InputError, Span, frozen, near_miss, parse_unit
from advisor.catalog import FactInfo
from advisor.data import Node
from advisor.expression import Compiled, Place, Vocabulary, compile_expression
from advisor.judge.checks import RULE, EventKind, RuleText
from advisor.judge.examples import check_example
from advisor.judge.records import FixRow, Parts, RuleRow

__all__ = ["EXTRA_FIELDS", "GROUP_FIELDS", "TemplateWords", "compile_rule", "compile_template"]

_STYLES = ("band", "value", "number", "place", "text", "setting")
_HOLE = re.compile(r"\{([^{}]*)\}")
_PARTS = re.compile(r"(?P<what>[^|]*?)(?:\|(?P<unit>[^|:]*))?(?::\s*(?P<style>[a-z]+)\s*)?\Z")
_FACT = re.compile(r"[a-z_]+(?:\.[a-z0-9_]+)+\Z")
EXTRA_FIELDS = ("unknown_settings",)
"""What an event rule may name beside the event's fields: settings that are not known."""
GROUP_FIELDS = ("count",)
"""What a grouped rule may name beside them: how many events there are."""


@frozen
class TemplateWords:
    """What the placeholders of one rule may name.

    Attributes
    ----------
    vocabulary : mapping
        The facts, each with unit, type and title.
    fields : tuple of str
        The fields of the event the rule waits for.
    replacements : mapping
        For a field: what to write in place of its value.
    """

    vocabulary: Vocabulary
    fields: tuple[str, ...] = ()
    replacements: Mapping[str, Mapping[str, str]] | None = None


def compile_template(text: str, words: TemplateWords, *, at: Place) -> Parts:
    """Return the template as texts and placeholders of JSON types.

    Raises
    ------
    DataError
        If a placeholder names what there is not, or a brace stands alone.
    """
    parts: list[str | Sequence[object]] = []
    end = 0
    for hole in _HOLE.finditer(text):
        parts.append(_plain(text, end, hole.start(), at))
        parts.append(_placeholder(hole[1], words, at, hole.start() + 1))
        end = hole.end()
    parts.append(_plain(text, end, len(text), at))
    return [part for part in parts if part != ""]


def _plain(text: str, start: int, end: int, at: Place) -> str:
    part = text[start:end]
    brace = re.search(r"[{}]", part)
    if brace:
        raise DataError("a brace stands alone", "write '{name}'", _place(at, start + brace.start()))
    return part


def _placeholder(hole: str, words: TemplateWords, at: Place, offset: int) -> list[object]:
    found = _PARTS.match(hole)
    if found is None or not found["what"].strip():
        raise DataError(f"'{{{hole}}}' is no placeholder", "write '{name}'", _place(at, offset))
    what, style = found["what"].strip(), found["style"] or "band"
    if style not in _STYLES:
        hint = near_miss(style, _STYLES) or f"known are {', '.join(_STYLES)}"
        raise DataError(f"'{style}' is no way to show a value", hint, _place(at, offset))
    if found["unit"] is None and "." not in what and re.fullmatch(r"[a-z_]+", what):
        return _field(what, words, _place(at, offset))
    if style in ("place", "text", "setting"):
        return _fact(what, style, words, _place(at, offset))
    return _value(what, found["unit"], style, words, _shifted(at, offset))


def _field(name: str, words: TemplateWords, at: Span) -> list[object]:
    if name not in words.fields:
        known = (*words.fields, *words.vocabulary)
        hint = near_miss(name, known) or f"the event gives {', '.join(words.fields) or 'nothing'}"
        raise DataError(f"there is nothing named '{name}' here", hint, at)
    return ["field", name, dict((words.replacements or {}).get(name, {}))]


def _fact(name: str, style: str, words: TemplateWords, at: Span) -> list[object]:
    if not _FACT.match(name):
        raise DataError(f"'{name}' is no fact", f"':{style}' goes with the name of one fact", at)
    fact = words.vocabulary.get(name)
    if fact is None:
        hint = near_miss(name, words.vocabulary) or "the facts are listed in rules/facts.yaml"
        raise DataError(f"there is no fact '{name}'", hint, at)
    return [style, name, getattr(fact, "title", name)] if style == "setting" else [style, name]


def _value(
    what: str, unit: str | None, style: str, words: TemplateWords, at: Place
) -> list[object]:
    compiled = compile_expression(what, words.vocabulary, at=at)
    start = _place(at, 0)
    if compiled.kind.type != "number":
        return ["value", compiled.to_json(), "", style]
    if unit is None:
        fact = words.vocabulary.get(what)
        if fact is None and not compiled.kind.plain:
            raise DataError(f"'{what}' has no unit to be shown in", "write '{... | mm}'", start)
        return ["value", compiled.to_json(), getattr(fact, "unit", ""), style]
    try:
        parse_unit(unit.strip())
    except InputError as err:
        raise DataError(err.problem, err.remedy, start) from None
    checked = compile_expression(what, words.vocabulary, expected=unit.strip() or "-", at=at)
    return ["value", checked.to_json(), unit.strip(), style]


def _place(at: Place, offset: int) -> Span:
    if callable(at):
        return at(offset)
    start = at or Span("template", 1)
    return Span(start.file, start.line, start.column + offset)


def _shifted(at: Place, offset: int) -> Place:
    return lambda inner: _place(at, offset + inner)


def compile_rule(
    node: Node,
    lines: list[str],
    *,
    vocabulary: Mapping[str, FactInfo],
    events: Mapping[str, EventKind],
) -> RuleRow:
    """Return the row of one rule.

    Parameters
    ----------
    node : Node
        The rule as it stands.
    lines : list of str
        The lines of its file.
    vocabulary : mapping
        The facts it may name.
    events : mapping
        The kinds of events it may wait for.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    rule = RuleText(node, lines, RULE(node))
    given = rule.row
    event = _event(rule, events)
    scope = given.get("scope", "extruder")
    seen = _facts_in_view(rule, scope, event, vocabulary)
    words, when = _words(rule, event, seen), _when(rule, event, seen)
    return {
        "name": given["name"],
        "title": given["title"],
        "level": given["level"],
        "stage": given["stage"],
        "scope": scope,
        "when": None if when is None else when.to_json(),
        "milder": _milder(rule, seen),
        "event": None if event is None else event.name,
        "grouped": _grouped(rule, event),
        "words": words.replacements or {},
        "at": _at(rule, event, seen),
        "message": _template(rule, "message", given["message"], words),
        "message_text": given["message"],
        "advice": _advice(rule, words),
        "advice_text": given.get("advice"),
        "why": given["why"],
        "caution": given.get("caution"),
        "fix": _fix(rule, vocabulary),
        "source": given["source"],
        "supersedes": given.get("supersedes", []),
        "examples": _examples(rule, event, vocabulary),
        "place": (rule.place.file, rule.place.line),
    }


def _event(rule: RuleText, events: Mapping[str, EventKind]) -> EventKind | None:
    if "event" not in rule.row:
        return None
    kind = events.get(rule.row["event"])
    if kind is None:
        hint = near_miss(rule.row["event"], events) or "the kinds are listed in rules/events.yaml"
        rule.fail(f"is '{rule.row['event']}', no event", hint, "event")
    return kind


def _facts_in_view(
    rule: RuleText, scope: str, event: EventKind | None, vocabulary: Mapping[str, FactInfo]
) -> Vocabulary:
    """Return the facts the condition may name: a machine's rule sees the machine's facts only."""
    fields = {f"event.{field}": "" for field in (event.fields if event else ())}
    if scope == "machine" and event is None:
        machine = {name: fact for name, fact in vocabulary.items() if fact.scope == "machine"}
        return {**machine, **fields}
    return {**vocabulary, **fields}


def _words(rule: RuleText, event: EventKind | None, vocabulary: Vocabulary) -> TemplateWords:
    fields = (*event.fields, *EXTRA_FIELDS) if event else ()
    if rule.row.get("grouped"):
        fields = (*fields, *GROUP_FIELDS)
    replacements = rule.row.get("words", {})
    for field in replacements:
        if field not in fields:
            hint = near_miss(field, fields) or f"known are {', '.join(fields) or 'none'}"
            rule.fail("is no field", hint, "words", field)
    return TemplateWords(vocabulary, fields, replacements)


def _when(rule: RuleText, event: EventKind | None, vocabulary: Vocabulary) -> Compiled | None:
    if "when" not in rule.row:
        if event is None:
            rule.fail("has neither when nor event", "add 'when:' or 'event:'")
        return None
    at = rule.locate("when")
    return compile_expression(rule.row["when"], vocabulary, expected="condition", at=at)


def _milder(rule: RuleText, vocabulary: Vocabulary) -> Mapping[str, Sequence[object]]:
    """Return the conditions that hold a finding at a milder level, the mildest first."""
    given: Mapping[str, str] = rule.row.get("milder", {})
    return {
        level: compile_expression(
            given[level], vocabulary, expected="condition", at=rule.locate("milder", level)
        ).to_json()
        for level in ("note", "warning")
        if level in given
    }


def _grouped(rule: RuleText, event: EventKind | None) -> bool:
    grouped = bool(rule.row.get("grouped", False))
    if grouped and event is None:
        rule.fail("is true without an event", "only events can be grouped", "grouped")
    return grouped


def _at(rule: RuleText, event: EventKind | None, vocabulary: Vocabulary) -> list[str]:
    names: list[str] = rule.row.get("at", [])
    if event is not None and names:
        rule.fail("is given beside an event, which has its place", "take 'at:' away", "at")
    if event is None and not names:
        rule.fail("has no at", "add 'at:' with the fact it points to")
    for name in names:
        if name not in vocabulary:
            hint = near_miss(name, vocabulary) or "the facts are listed in rules/facts.yaml"
            rule.fail(f"is '{name}', no fact", hint, "at")
    return names


def _template(rule: RuleText, key: str, text: str, words: TemplateWords) -> Parts:
    return compile_template(text, words, at=rule.locate(key))


def _advice(rule: RuleText, words: TemplateWords) -> Parts | None:
    text = rule.row.get("advice")
    return None if text is None else _template(rule, "advice", text, words)


def _fix(rule: RuleText, vocabulary: Mapping[str, FactInfo]) -> FixRow | None:
    if "fix" not in rule.row:
        if "advice" not in rule.row:
            rule.fail("says not what to do", "add 'fix:' or 'advice:'")
        return None
    fix = rule.row["fix"]
    name = fix["set"]
    fact = vocabulary.get(name)
    if fact is None or fact.type != "number":
        hint = near_miss(name, vocabulary) or "the facts are listed in rules/facts.yaml"
        rule.fail(f"is '{name}', no number", hint, "fix", "set")
    unit = fix.get("unit", fact.unit)
    text, at = " ".join(str(fix["to"]).split()), rule.locate("fix", "to")
    to = compile_expression(text, vocabulary, expected=fact.unit, at=at)
    _check_unit(rule, unit, fact.unit)
    return {
        "set": name,
        "to": to.to_json(),
        "round": fix["round"],
        "step": fix["step"],
        "unit": unit,
    }


def _check_unit(rule: RuleText, unit: str, due: str) -> None:
    try:
        compile_expression(f"1 {unit}".strip(" -"), {}, expected=due)
    except DataError as err:
        rule.fail(f"is '{unit}'", err.problem, "fix", "unit")


def _examples(
    rule: RuleText, event: EventKind | None, vocabulary: Mapping[str, FactInfo]
) -> Mapping[str, Sequence[Mapping[str, object]]]:
    examples: Mapping[str, Sequence[Mapping[str, object]]] = rule.row["examples"]
    for word, rows in examples.items():
        for index, row in enumerate(rows):
            try:
                check_example(row, event=event, vocabulary=vocabulary)
            except DataError as err:
                remedy = err.remedy or "mend it"
                rule.fail(f"cannot be: {err.problem}", remedy, "examples", word, index)
    return examples
