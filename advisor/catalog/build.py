"""Reads and checks rules/sources.yaml, rules/facts.yaml and rules/catalogue/, into plain JSON.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since; it makes no records (see `load`).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from advisor.base import DataError, Span, near_miss, parse_unit
from advisor.catalog.records import CATEGORIES
from advisor.data import (
    STATUSES,
    Kind,
    Node,
    Row,
    checked,
    data_files,
    folder,
    listed,
    names,
    number,
    read_node,
    row,
    sourced,
    string,
    text,
    unit,
    word,
)

__all__ = ["build_catalog", "read_rules"]

STAGES = ("motor", "gears", "grip", "gap", "melt", "heater", "firmware", "slicer")
_LEVELS = ("low", "typical", "high")
_ABOUT = ("about", "suggest", "shares_with", "shares_when")  # what an entry may say of itself
_SOURCE = row({"what": text, "status": word(STATUSES), "used_for": text})
_FACT = row(
    {"unit": checked(string, lambda node, _: unit()(node)), "title": text, "stage": word(STAGES)},
    {"about": text, "scope": word(("extruder", "machine")), "sheet": text, "measure": text,
     "type": word(("number", "text", "flag")), "choices": names(listed(text))},
)  # fmt: skip


def read_rules() -> dict[str, str]:
    """Return the texts of the files the catalogue is made of, by path under rules/."""
    root = folder("rules")
    names = [root / "sources.yaml", root / "facts.yaml", *data_files("rules", "catalogue/*.yaml")]
    return {path.relative_to(root).as_posix(): path.read_text(encoding="utf-8") for path in names}


def build_catalog(texts: Mapping[str, str] | None = None) -> Row:
    """Return the catalogue as JSON types: the artifact ``catalog``.

    Parameters
    ----------
    texts : mapping of str to str, optional
        The files by path under rules/; the installed ones where not given.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    texts = read_rules() if texts is None else texts
    known = [f"catalogue/{name}.yaml" for name in (*CATEGORIES, "model")]
    for path in texts:
        if path.startswith("catalogue/") and path not in known:
            hint = near_miss(path, known) or f"known are {', '.join(known)}"
            problem = "no part of the catalogue is read from here"
            raise DataError(problem, hint, Span(f"rules/{path}", 1))
    sources = names(_SOURCE)(_document(texts, "sources.yaml"))
    facts = checked(names(_FACT), _whole_facts)(_document(texts, "facts.yaml"))
    entry = _entry_kind(facts, sources)
    entries = {
        name: names(entry)(_document(texts, f"catalogue/{name}.yaml")) for name in CATEGORIES
    }
    model = _document(texts, "catalogue/model.yaml")
    chain = row({"chain": entry}, remedy="put the numbers under 'chain:'")(model)["chain"]
    _check_assumed(model.into("chain"), chain, entries)
    return {"sources": sources, "facts": facts, "model": chain, **entries}


def _document(texts: Mapping[str, str], path: str) -> Node:
    file = f"rules/{path}"
    if path not in texts:
        raise DataError(f"the file {file} is missing", "install the package again", Span(file, 1))
    return read_node(texts[path], file)


def _whole_facts(node: Node, facts: Row) -> Row:
    """Check that a field of the sheet states one fact, and that choices need facts."""
    fields: dict[str, str] = {}
    for name, info in facts.items():
        field = info.get("sheet", name)
        if "sheet" in info and fields.setdefault(field, name) != name:
            problem = f"is '{field}', which states '{fields[field]}' already"
            raise node.into(name, "sheet").wrong(problem, "give each fact its own field")
        for choice, needed in info.get("choices", {}).items():
            place = node.into(name, "choices", choice)
            for index in range(len(needed)):
                word(facts, "fact", "add it")(place.into(index))
    return facts


def _entry_kind(facts: Row, sources: Row) -> Kind[Row]:
    """Return the schema of one entry: a title, and numbers and texts by the facts they feed."""
    feeds = {
        name: _number_kind(info["unit"], sources) if _is_number(info) else text
        for name, info in facts.items()
    }
    may = {**dict.fromkeys(_ABOUT, text), **feeds}
    return checked(row({"title": text}, may, remedy="add it to rules/facts.yaml"),
                   partial(_entry, facts))  # fmt: skip


def _is_number(info: Row) -> bool:
    return bool(info.get("type", "number") == "number")


def _entry(facts: Row, node: Node, given: Row) -> Row:
    at = node.placed.key_at(*node.path)
    entry: Row = {"file": at.file, "line": at.line, "numbers": {}, "texts": {}}
    for key, value in given.items():
        if key not in facts:
            entry[key] = value
        else:
            entry["numbers" if _is_number(facts[key]) else "texts"][key] = value
    for key, chosen in entry["texts"].items():
        choices = facts[key].get("choices")
        if choices is not None:
            lacking = [fact for fact in choices.get(word(choices)(node.into(key)), ())
                       if fact not in entry["numbers"]]  # fmt: skip
            if lacking:
                problem = f"is '{chosen}', which needs {lacking[0]}"
                raise node.into(key).wrong(problem, f"add '{lacking[0]}:'")
    return entry


def _number_kind(due: str, sources: Row) -> Kind[list[float | str]]:
    """Return the schema of a number with its spread, unit and source; it comes in SI."""
    levels = dict.fromkeys((*_LEVELS, "value"), number())
    kind = row({"unit": unit(due, "the fact"), **sourced(sources)}, {**levels, "about": text})

    def read(node: Node) -> list[float | str]:
        if not isinstance(node.data, dict):
            remedy = "write '{low, typical, high, unit, source, status}'"
            raise node.wrong("must be a number with its source", remedy)
        given = kind(node)
        in_si = [float(parse_unit(given["unit"]).to_si(level)) for level in _levels(node, given)]
        about = [given["about"]] if "about" in given else []
        return [*in_si, given["unit"], given["source"], given["status"], *about]

    return read


def _levels(node: Node, given: Row) -> list[float]:
    """Return low, typical and high; one exact `value` stands for all three."""
    stated = [key for key in _LEVELS if key in given]
    if "value" in given:
        if stated:
            raise node.wrong(f"has a value and a {stated[0]}", "keep one form")
        return [given["value"]] * 3
    for key in _LEVELS:
        if key not in stated:
            raise node.wrong(f"has no {key}", f"add '{key}:'")
    low, typical, high = (given[key] for key in _LEVELS)
    if not low <= typical <= high:
        problem = f"has low {low:g}, typical {typical:g}, high {high:g}, which do not rise"
        raise node.wrong(problem, "put them in order")
    return [low, typical, high]


_ASSUMED = {
    "filament.material": "materials",
    "hotend.class": "hotends",
    "hotend.insert": "inserts",
    "drive.class": "drives",
    "drive.mount": "mounts",
    "drive.path": "paths",
    "motor.class": "motors",
}


def _check_assumed(node: Node, model: Row, entries: Row) -> None:
    """Check that the classes the model assumes are entries of the catalogue."""
    for fact, category in _ASSUMED.items():
        if fact in model["texts"]:
            word(entries[category], CATEGORIES[category])(node.into(fact))
