"""The words of the macros' G-code: rules/dialects/macros.yaml, checked; the artifact ``macros``."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping
from typing import Any

from advisor.catalog import load_catalog
from advisor.errors import DataError, InputError
from advisor.model import Span
from advisor.resources import artifact, read_text
from advisor.units import parse_unit
from advisor.yamlread import Placed, read_yaml

__all__ = ["ARTIFACTS", "NUMBER_WORDS", "macro_words"]

NUMBER_WORDS = ("extruder", "speed")  # those that have a range

_FILE = "dialects/macros.yaml"
_KEYS = ("sections", "keys", "moves", "extruder", "speed", "speed_per", "path", "absolute",
         "relative", "positions", "steps", "reset", "restore", "ranges", "templated", "commands",
         "kept")  # fmt: skip
_COMMAND = ("whose", "gives", "not_with")
_GIVEN = ("fact", "unit", "range")


@functools.cache
def macro_words() -> Mapping[str, Any]:
    """Return the words; they are read once.

    Raises
    ------
    DataError
        If the file has a mistake in it.
    """
    data: Mapping[str, Any] = artifact("macros", _build)
    return data


def _build() -> dict[str, Any]:
    at = Span(f"rules/{_FILE}", 1)
    try:
        placed = read_yaml(read_text("rules", _FILE), at.file)
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    data = placed.data if isinstance(placed.data, dict) else {}
    for key in _KEYS:
        if key not in data:
            raise DataError(f"'{key}' is missing", f"add '{key}:'", at)
    _known(placed, data, _KEYS)
    for word in NUMBER_WORDS:
        ends: list[float] = dict(data["ranges"] or {}).get(word) or []
        if len(ends) != 2 or not 0 < ends[0] < ends[1]:
            problem = f"ranges has no '{word}'"
            raise DataError(problem, f"add '{word}: [smallest, largest]'", placed.at("ranges"))
    if not re.fullmatch("min|s", str(data["speed_per"])):
        raise DataError("speed_per is min or s", "correct it", placed.at("speed_per"))
    for name, command in data["commands"].items():
        _known(placed, command, _COMMAND, "commands", name)
        for word, given in command["gives"].items():
            _given(placed, given, "commands", name, "gives", word)
    kept = data["kept"]
    _known(placed, kept, ("begins", "names", "gives"), "kept")
    _given(placed, kept["gives"], "kept", "gives")
    return dict(data)


def _known(placed: Placed, row: Mapping[str, Any], keys: tuple[str, ...], *path: str) -> None:
    for key in row:
        if key not in keys:
            known = f"known are {', '.join(keys)}"
            raise DataError(f"unknown key '{key}'", known, placed.key_at(*path, key))


def _given(placed: Placed, given: Any, *path: str) -> None:
    """Check what a word states: a fact, a unit of its dimension and a range."""
    if not isinstance(given, dict) or set(given) != set(_GIVEN):
        remedy = f"write {', '.join(_GIVEN)}"
        raise DataError(f"'{path[-1]}' does not say what it states", remedy, placed.at(*path))
    info = load_catalog().facts.get(given["fact"])
    if info is None:
        remedy = "name one of rules/facts.yaml"
        raise DataError(f"'{given['fact']}' is no fact", remedy, placed.at(*path))
    if parse_unit(given["unit"]).dimension != parse_unit(info.unit).dimension:
        raise DataError(f"'{given['unit']}' is no unit of it", f"as {info.unit}", placed.at(*path))
    low, high = given["range"]
    if not low < high:
        raise DataError("the range falls", "write the lower end first", placed.at(*path))


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"macros": _build}
