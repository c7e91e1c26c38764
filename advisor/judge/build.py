"""Reads rules/*.yaml, checks every rule and makes the rows of the compiled rulebook.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since; it makes no records (see `load`).
"""

from __future__ import annotations

import functools
from collections.abc import Mapping

from advisor.base import DataError, Span, near_miss
from advisor.catalog import FactInfo, load_catalog
from advisor.data import folder, listed, raw, read_node
from advisor.judge.checks import EVENTS, EventKind
from advisor.judge.records import RuleRow
from advisor.judge.rule_row import compile_rule

__all__ = ["build_rulebook", "event_kinds", "event_words", "read_rules"]

_OTHERS = ("facts.yaml", "events.yaml", "levels.yaml", "sources.yaml")  # not rules


def read_rules() -> dict[str, str]:
    """Return the texts of the rule files and of events.yaml, by name under rules/."""
    names = sorted(path.name for path in folder("rules").glob("*.yaml"))
    kept = [name for name in names if name not in _OTHERS or name == "events.yaml"]
    return {name: (folder("rules") / name).read_text(encoding="utf-8") for name in kept}


def build_rulebook(
    texts: Mapping[str, str] | None = None, vocabulary: Mapping[str, FactInfo] | None = None
) -> list[RuleRow]:
    """Return the rules as rows of JSON types: the artifact ``rulebook``.

    Parameters
    ----------
    texts : mapping of str to str, optional
        The files by name; the installed ones where not given.
    vocabulary : mapping, optional
        The facts with unit, type, scope and title; the installed ones where not given.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    texts = read_rules() if texts is None else texts
    vocabulary = load_catalog().facts if vocabulary is None else vocabulary
    events = event_kinds(texts.get("events.yaml", ""))
    rows: list[RuleRow] = []
    for name, text in texts.items():
        if name not in _OTHERS:
            rules = read_node(text, f"rules/{name}")
            count = len(listed(raw, first="name", what="rules")(rules))
            rows += [
                compile_rule(
                    rules.into(index), text.splitlines(), vocabulary=vocabulary, events=events
                )
                for index in range(count)
            ]
    _check_names(rows)
    return rows


def event_kinds(text: str) -> dict[str, EventKind]:
    """Return the kinds of events of events.yaml with the fields each brings."""
    node = read_node(text, "rules/events.yaml")
    rows = {} if node.data is None else EVENTS(node)
    return {name: EventKind(name, tuple(row["fields"])) for name, row in rows.items()}


def event_words(kind: str) -> str:
    """Return what was noticed where an event of a kind is raised, as events.yaml says it."""
    return _all_event_words()[kind]


@functools.cache
def _all_event_words() -> dict[str, str]:
    rows = EVENTS(read_node(read_rules().get("events.yaml", ""), "rules/events.yaml"))
    return {kind: " ".join(row["what"].split()) for kind, row in rows.items()}


def _check_names(rows: list[RuleRow]) -> None:
    """Check that names are unique and that `supersedes` names rules."""
    places: dict[str, Span] = {}
    for row in rows:
        at = Span(*row["place"])
        first = places.setdefault(row["name"], at)
        if first is not at:
            problem = f"the rule '{row['name']}' is there already, in {first.file}:{first.line}"
            raise DataError(problem, "give one of them another name", at)
    supersedes = {row["name"]: row["supersedes"] for row in rows}
    for row in rows:
        for name in row["supersedes"]:
            _check_superseded(row["name"], name, supersedes, Span(*row["place"]))


def _check_superseded(rule: str, other: str, supersedes: Mapping[str, list[str]], at: Span) -> None:
    if other not in supersedes or other == rule:
        hint = near_miss(other, set(supersedes) - {rule}) or "name another rule"
        raise DataError(f"'{rule}' supersedes '{other}', which is no other rule", hint, at)
    if rule in supersedes[other]:
        raise DataError(f"'{rule}' and '{other}' supersede each other", "take one away", at)
