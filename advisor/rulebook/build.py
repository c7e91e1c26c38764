"""Reads rules/*.yaml, checks every rule and makes the rows of the compiled rulebook.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since; it makes no records (see `load`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.catalog import load_catalog
from advisor.errors import DataError, InputError, near_miss
from advisor.model import Span
from advisor.resources import folder
from advisor.rulebook.checks import EventKind, RuleFile
from advisor.rulebook.rule_row import compile_rule
from advisor.yamlread import read_yaml

__all__ = ["build_rulebook", "event_kinds", "read_rules"]

_OTHERS = ("facts.yaml", "events.yaml", "levels.yaml", "sources.yaml")  # not rules


def read_rules() -> dict[str, str]:
    """Return the texts of the rule files and of events.yaml, by name under rules/."""
    names = sorted(path.name for path in folder("rules").glob("*.yaml"))
    kept = [name for name in names if name not in _OTHERS or name == "events.yaml"]
    return {name: (folder("rules") / name).read_text(encoding="utf-8") for name in kept}


def build_rulebook(
    texts: Mapping[str, str] | None = None, vocabulary: Mapping[str, Any] | None = None
) -> list[dict[str, Any]]:
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
    rows: list[dict[str, Any]] = []
    for name, text in texts.items():
        if name not in _OTHERS:
            file = _rule_file(name, text)
            rows += [
                compile_rule(file, index, vocabulary=vocabulary, events=events)
                for index in range(len(file.placed.data))
            ]
    _check_names(rows)
    return rows


def event_kinds(text: str) -> dict[str, EventKind]:
    """Return the kinds of events of events.yaml with the fields each brings."""
    placed = _read(text, "rules/events.yaml")
    kinds: dict[str, EventKind] = {}
    for name, row in (placed.data or {}).items():
        fields = row.get("fields") if isinstance(row, dict) else None
        if not isinstance(fields, list):
            at = placed.at(name)
            raise DataError(f"the event '{name}' has no fields", "add 'fields: [...]'", at)
        kinds[name] = EventKind(name, tuple(str(field) for field in fields))
    return kinds


def _read(text: str, file: str) -> Any:
    try:
        return read_yaml(text, file)
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None


def _rule_file(name: str, text: str) -> RuleFile:
    file = f"rules/{name}"
    placed = _read(text, file)
    if not isinstance(placed.data, list):
        at = Span(file, 1)
        raise DataError("this file must be a list of rules", "begin each with '- name:'", at)
    return RuleFile(placed, text.splitlines())


def _check_names(rows: list[dict[str, Any]]) -> None:
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
