"""Checks the dialect files of slicer profiles and puts them into one piece of JSON data.

It runs when the package is built, or on the fly in a checkout; `dialects` reads what it makes.
It knows the syntax of the files, explained in rules/dialects/profile_words.yaml, and no key.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from advisor.errors import DataError, InputError, near_miss
from advisor.resources import data_files, read_text
from advisor.units import parse_unit
from advisor.yamlread import Placed, read_yaml

__all__ = ["build_dialects", "check_dialect"]

_WORDS_FILE = "profile_words.yaml"
_KINDS = ("print", "filament", "printer")
_TOP = ("dialect", "title", "containers", "sections", "names", "parents", "kind", "abstract",
        "part", "absent_follows", "settings", "feature_defaults", "features", "facts",
        "advance_texts")  # fmt: skip
_SETTING = ("of", "unit", "range", "type", "unset", "percent_of", "negative", "modes", "also")
_PARTS = ("width", "height", "speed", "acceleration", "flow")


def build_dialects() -> dict[str, Any]:
    """Return ``{"words": ..., "facts": {name: ...}, "dialects": [...]}``, all JSON types.

    Raises
    ------
    DataError
        With the place, if a dialect file has a mistake in it.
    """
    vocabulary = _read("facts.yaml").data
    words = _read(f"dialects/{_WORDS_FILE}").data
    dialects = [
        check_dialect(_read(f"dialects/{path.name}"), vocabulary, words)
        for path in _dialect_files()
    ]
    names = {fact for dialect in dialects for fact in dialect["facts"]}
    facts = {name: {part: vocabulary[name][part] for part in ("unit", "title")} for name in names}
    return {"words": words, "facts": dict(sorted(facts.items())), "dialects": dialects}


def _dialect_files() -> Iterator[Path]:
    for path in data_files("rules", "dialects/profile_*.yaml"):
        if path.name != _WORDS_FILE:
            yield path


def _read(name: str) -> Placed:
    try:
        return read_yaml(read_text("rules", name), f"rules/{name}")
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None


def check_dialect(
    placed: Placed, vocabulary: Mapping[str, Any], words: Mapping[str, Any]
) -> dict[str, Any]:
    """Return one dialect in a uniform shape.

    Parameters
    ----------
    placed : Placed
        The YAML document.
    vocabulary : mapping
        The facts that may be named.
    words : mapping
        What all dialects share: ``features`` with their titles, ``ranges`` of the units.
    """
    data = placed.data
    _only(placed, (), data, _TOP)
    features = words["features"]
    settings = {key: _setting(placed, key, words["ranges"]) for key in data["settings"]}
    dialect = {
        "dialect": data["dialect"],
        "title": data["title"],
        "containers": data["containers"],
        "sections": data.get("sections", []),
        "names": data.get("names", []),
        "parents": data.get("parents", []),
        "kind": data.get("kind"),
        "abstract": data.get("abstract"),
        "part": data.get("part"),
        "absent_follows": bool(data.get("absent_follows", False)),
        "settings": settings,
        "features": [_feature(placed, name, settings, features) for name in data["features"]],
        "facts": {name: _fact(placed, name, settings, vocabulary) for name in data["facts"]},
        "advance_texts": data.get("advance_texts"),
    }
    _check_bases(placed, settings)
    advance = data.get("advance_texts") or {"keys": []}
    _known(placed, ("advance_texts", "keys"), advance["keys"], settings)
    return dialect


def _only(placed: Placed, path: tuple[str, ...], data: Any, known: Collection[str]) -> None:
    """Refuse what is no mapping, or a field that is not `known`."""
    if not isinstance(data, dict):
        raise DataError("this must be a mapping", "write `name: value` lines", placed.at(*path))
    for field in data:
        if field not in known:
            hint = near_miss(field, known) or f"known are {', '.join(known)}"
            raise DataError(f"unknown field '{field}'", hint, placed.key_at(*path, field))


def _setting(placed: Placed, key: str, ranges: Mapping[str, Any]) -> dict[str, Any]:
    path = ("settings", key)
    data = placed.data["settings"][key]
    _only(placed, path, data, _SETTING)
    if data.get("of") not in _KINDS:
        raise DataError(f"'{key}' needs of: {' | '.join(_KINDS)}", "add it", placed.at(*path))
    kind = data.get("type", "number")
    if kind not in ("number", "text", "switch") or (kind == "number" and "unit" not in data):
        raise DataError(f"'{key}' needs a unit, or type: text | switch", None, placed.at(*path))
    try:
        parse_unit(data.get("unit", ""))
    except InputError as err:
        raise DataError(err.problem, err.remedy, placed.at(*path, "unit")) from None
    base = data.get("percent_of", [])
    largest = isinstance(base, dict)
    if largest:
        _only(placed, (*path, "percent_of"), base, ("largest",))
        base = base["largest"]
    return {
        "of": data["of"],
        "unit": data.get("unit", ""),
        "range": _range(placed, path, kind, data, ranges),
        "type": kind,
        "unset": [float(number) for number in data.get("unset", [])],
        "percent_of": [base] if isinstance(base, str) else base,
        "percent_of_largest": largest,
        "negative_percent": data.get("negative") == "percent",
        "modes": bool(data.get("modes", False)),
        "also": data.get("also", []),
    }


def _range(
    placed: Placed, path: tuple[str, ...], kind: str, data: Any, ranges: Mapping[str, Any]
) -> list[float] | None:
    """Return what a number could be: its own range, else that of its unit."""
    if kind != "number":
        return None
    ends = data.get("range", ranges.get(data["unit"], []))
    numbers = [float(end) for end in ends if type(end) in (int, float)]
    if len(numbers) != 2 or not numbers[0] < numbers[1]:
        remedy = f"write '{data['unit']}: [lowest, highest]' under ranges of {_WORDS_FILE}"
        raise DataError(f"'{path[-1]}' has no range", remedy, placed.at(*path))
    return numbers


def _check_bases(placed: Placed, settings: Mapping[str, Any]) -> None:
    for key, setting in settings.items():
        _known(placed, ("settings", key, "percent_of"), setting["percent_of"], settings)


def _known(placed: Placed, path: tuple[str, ...], keys: Any, settings: Mapping[str, Any]) -> None:
    """Refuse keys that are no settings of this dialect."""
    for key in keys:
        if key not in settings:
            hint = near_miss(key, settings) or "declare it under settings"
            raise DataError(f"'{key}' is no setting of this dialect", hint, placed.at(*path))


def _feature(
    placed: Placed, name: str, settings: Mapping[str, Any], titles: Mapping[str, str]
) -> dict[str, Any]:
    path = ("features", name)
    data = placed.data["features"][name]
    _only(placed, path, data, (*_PARTS, "round"))
    if name not in titles:
        hint = near_miss(name, titles) or f"add it to {_WORDS_FILE}"
        raise DataError(f"'{name}' is no feature we know", hint, placed.key_at(*path))
    defaults = placed.data.get("feature_defaults", {})
    _only(placed, ("feature_defaults",), defaults, _PARTS)
    feature = {part: data.get(part, defaults.get(part, [])) for part in _PARTS}
    for part, keys in feature.items():
        _known(placed, (*path, part), keys, settings)
    return {"name": name, "title": titles[name], "round": bool(data.get("round")), **feature}


def _fact(
    placed: Placed, name: str, settings: Mapping[str, Any], vocabulary: Mapping[str, Any]
) -> dict[str, Any]:
    path = ("facts", name)
    data = placed.data["facts"][name]
    if isinstance(data, list):
        data = {"keys": data}
    _only(placed, path, data, ("keys", "pick", "switch"))
    if name not in vocabulary:
        hint = near_miss(name, vocabulary) or "add it to rules/facts.yaml"
        raise DataError(f"'{name}' is no fact we know", hint, placed.key_at(*path))
    switch = data.get("switch")
    _known(placed, path, [*data["keys"], *([switch] if switch else [])], settings)
    _same_dimension(placed, name, data["keys"], settings, vocabulary)
    pick = data.get("pick", "first")
    if pick not in ("first", "smallest", "largest"):
        raise DataError(f"pick '{pick}' is not first, smallest or largest", None, placed.at(*path))
    return {"keys": data["keys"], "pick": pick, "switch": switch}


def _same_dimension(
    placed: Placed,
    name: str,
    keys: Collection[str],
    settings: Mapping[str, Any],
    vocabulary: Mapping[str, Any],
) -> None:
    """Refuse a key whose unit cannot be turned into the unit of the fact."""
    wanted = parse_unit(vocabulary[name]["unit"])
    for key in keys:
        unit = settings[key]["unit"]
        if parse_unit(unit).dimension != wanted.dimension:
            problem = f"'{key}' is in '{unit}', the fact {name} in '{wanted.symbol}'"
            raise DataError(problem, "give a key with the same dimension", placed.at("facts", name))
