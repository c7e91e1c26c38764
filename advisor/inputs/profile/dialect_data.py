"""Checks the dialect files of slicer profiles and puts them into one piece of JSON data.

It runs when the package is built, or on the fly in a checkout; `dialects` reads what it makes.
It knows the syntax of the files, explained in rules/dialects/profile_words.yaml, and no key.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path

from advisor.base import parse_unit
from advisor.catalog import load_catalog
from advisor.data import (
    Kind,
    Node,
    Row,
    checked,
    data_files,
    either,
    ends,
    flag,
    listed,
    names,
    number,
    raw,
    read_data,
    read_node,
    read_text,
    row,
    text,
    unit,
    word,
)

__all__ = ["build_dialects", "check_dialect"]

_WORDS_FILE = "profile_words.yaml"
_KINDS = ("print", "filament", "printer")
_PARTS = ("width", "height", "speed", "acceleration", "flow")
_TEXTS = listed(text)
_LISTS = dict.fromkeys(_PARTS, _TEXTS)
_LARGEST = row({"largest": _TEXTS})
_FACT = row({"keys": _TEXTS}, {"pick": word(("first", "smallest", "largest")), "switch": text})
_SETTING = row(
    {"of": word(_KINDS)},
    {
        "unit": unit(),
        "range": ends(),
        "type": word(("number", "text", "switch")),
        "unset": listed(number()),
        "percent_of": either((str, text), (dict, _LARGEST), (list, _TEXTS)),
        "negative": word(("percent",)),
        "modes": flag,
        "also": _TEXTS,
    },
)


def build_dialects() -> Row:
    """Return ``{"words": ..., "facts": {name: ...}, "dialects": [...]}``, all JSON types.

    Raises
    ------
    DataError
        With the place, if a dialect file has a mistake in it.
    """
    known = load_catalog().facts
    vocabulary = {name: {"unit": info.unit, "title": info.title} for name, info in known.items()}
    words = read_data(f"dialects/{_WORDS_FILE}", _words_kind())
    dialects = [
        check_dialect(
            read_node(read_text("rules", f"dialects/{path.name}"), f"rules/dialects/{path.name}"),
            vocabulary,
            words,
        )
        for path in _dialect_files()
    ]
    facts = {fact for dialect in dialects for fact in dialect["facts"]}
    return {
        "words": words,
        "facts": {name: vocabulary[name] for name in sorted(facts)},
        "dialects": dialects,
    }


def _words_kind() -> Kind[Row]:
    filament = row({"material": word(load_catalog().materials, "material")}, {"sure": flag})
    return row(
        {
            "features": names(text),
            "ranges": names(ends()),
            "preset_sections": names(word(_KINDS)),
            "active_section": text,
            "materials": names(filament),
        }
    )


def _dialect_files() -> Iterator[Path]:
    for path in data_files("rules", "dialects/profile_*.yaml"):
        if path.name != _WORDS_FILE:
            yield path


def check_dialect(node: Node, vocabulary: Row, words: Row) -> Row:
    """Return one dialect in a uniform shape.

    Parameters
    ----------
    node : Node
        The YAML document.
    vocabulary : mapping
        The facts that may be named.
    words : mapping
        What all dialects share: ``features`` with their titles, ``ranges`` of the units.
    """
    given = _dialect_kind(vocabulary, words)(node)
    _hold_known(node, given)
    settings, defaults = given["settings"], given.get("feature_defaults", {})
    return {
        **{part: given.get(part) for part in ("dialect", "title", "containers")},
        **{part: given.get(part, []) for part in ("sections", "names", "parents")},
        **{part: given.get(part) for part in ("kind", "abstract", "part", "start_code")},
        "absent_follows": given.get("absent_follows", False),
        "settings": settings,
        "features": [
            {"name": name, "title": words["features"][name], "round": parts.get("round", False)}
            | {part: parts.get(part, defaults.get(part, [])) for part in _PARTS}
            for name, parts in given["features"].items()
        ],
        "facts": {
            name: _fact(node.into("facts", name), settings, vocabulary) for name in given["facts"]
        },
    }


def _hold_known(node: Node, given: Row) -> None:
    """Hold the settings that others name to those of the file."""
    settings, defaults = given["settings"], given.get("feature_defaults", {})
    for name, parts in given["features"].items():
        for part in parts.keys() - {"round"}:
            _known(node.into("features", name, part), settings)
    for part in defaults:
        _known(node.into("feature_defaults", part), settings)
    if "start_code" in given:
        _known(node.into("start_code", "keys"), settings)
    for key, setting in settings.items():
        if setting["percent_of"]:
            base = node.into("settings", key, "percent_of")
            _known(base.into("largest") if setting["percent_of_largest"] else base, settings)


def _dialect_kind(vocabulary: Row, words: Row) -> Kind[Row]:
    setting = checked(_SETTING, partial(_setting, words["ranges"]))
    feature, hint = row({}, {**_LISTS, "round": flag}), f"add it to {_WORDS_FILE}"
    return row(
        {
            "dialect": text,
            "title": text,
            "containers": _TEXTS,
            "settings": names(setting),
            "features": names(feature, words["features"], "feature we know", hint),
            "facts": names(raw, vocabulary, "fact we know", "add it to rules/facts.yaml"),
        },
        {
            **dict.fromkeys(("sections", "names", "parents"), _TEXTS),
            "kind": row({"key": text, "words": names(word(_KINDS))}),
            "abstract": row({"key": text, "words": _TEXTS}),
            "part": row({"key": text}),
            "absent_follows": flag,
            "feature_defaults": row({}, _LISTS),
            "start_code": row({"keys": _TEXTS, "advance": _TEXTS}),
        },
    )


def _setting(ranges: Row, node: Node, given: Row) -> Row:
    """Return a setting in a uniform shape; a number has its own range, else that of its unit."""
    kind = given.get("type", "number")
    if kind == "number" and "unit" not in given:
        raise node.wrong("needs a unit, or type: text | switch", "add it", key=True)
    within = given.get("range", ranges.get(given.get("unit", ""))) if kind == "number" else None
    if kind == "number" and within is None:
        remedy = f"write '{given['unit']}: [lowest, highest]' under ranges of {_WORDS_FILE}"
        raise node.wrong("has no range", remedy, key=True)
    base = given.get("percent_of", [])
    largest = isinstance(base, dict)
    base = base["largest"] if largest else base
    return {
        "of": given["of"],
        "unit": given.get("unit", ""),
        "range": within,
        "type": kind,
        "unset": given.get("unset", []),
        "percent_of": [base] if isinstance(base, str) else base,
        "percent_of_largest": largest,
        "negative_percent": "negative" in given,
        "modes": given.get("modes", False),
        "also": given.get("also", []),
    }


def _known(node: Node, settings: Row) -> None:
    """Refuse a key, or one of a list, that is no setting of this dialect."""
    key = word(settings, "setting of this dialect", "declare it under settings")
    either((list, listed(key)), (object, key))(node)


def _fact(node: Node, settings: Row, vocabulary: Row) -> Row:
    """Return where a fact stands; each key's unit can be turned into that of the fact."""
    listed_only = isinstance(node.data, list)
    given = {"keys": _TEXTS(node)} if listed_only else _FACT(node)
    keys = node if listed_only else node.into("keys")
    _known(keys, settings)
    if "switch" in given:
        _known(node.into("switch"), settings)
    name = str(node.path[-1])
    wanted = parse_unit(vocabulary[name]["unit"])
    for place, key in enumerate(given["keys"]):
        found = settings[key]["unit"]
        if parse_unit(found).dimension != wanted.dimension:
            problem = f"is in '{found}', the fact {name} in '{wanted.symbol}'"
            raise keys.into(place).wrong(problem, "give a key with the same dimension")
    pick, switch = given.get("pick", "first"), given.get("switch")
    return {"keys": given["keys"], "pick": pick, "switch": switch}
