"""Reads and checks the dialect files and the sheet's fields, into plain JSON.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.catalog import CATEGORIES, Catalog, load_catalog
from advisor.errors import DataError, InputError, near_miss
from advisor.model import Span
from advisor.resources import read_text
from advisor.units import Unit, parse_unit
from advisor.values import parse_quantity
from advisor.yamlread import Placed, read_yaml

__all__ = ["build_dialects"]

_FIRMWARE, _SHEET = "dialects/ini_firmware.yaml", "dialects/sheet.yaml"
_TOP = ("title", "chip", "roles", "keys")
_ROLE = ("sections", "scope", "keys", "partner")
_NUMBERS = ("above", "at_least", "at_most", "lone_pair")
_KEY = ("fact", "unit", "type", "own", *_NUMBERS, "default", "missing", "stages", "replaces",
        "gives", "source", "status")  # fmt: skip
_DEFAULT = ("value", "expression", "catalogue", "source", "status")
_GIVES = ("fact", "expression", "source", "status")
_FIELD = ("above", "at_least", "at_most", "choices", "catalogue", "count", "basis", "ratio",
          "within")  # fmt: skip
_CHOICES = {
    "type": ("number", "integer", "ratio", "flag"),
    "scope": ("extruder", "machine"),
    "status": ("found", "memory", "common-practice", "derived"),
}


def build_dialects(
    texts: Mapping[str, str] | None = None, catalog: Catalog | None = None
) -> dict[str, Any]:
    """Return the dialects and the sheet's fields as JSON types: the artifact ``dialects``.

    Parameters
    ----------
    texts : mapping of str to str, optional
        The two files by path under rules/; the installed ones where not given.
    catalog : Catalog, optional
        The vocabulary and the sources to check against.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    texts = texts or {path: read_text("rules", path) for path in (_FIRMWARE, _SHEET)}
    catalog = catalog or load_catalog()
    return {
        "ini_firmware": _Dialect(_document(texts, _FIRMWARE), catalog).data(),
        "sheet": _Sheet(_document(texts, _SHEET), catalog).data(),
    }


def _document(texts: Mapping[str, str], path: str) -> Placed:
    file = f"rules/{path}"
    try:
        placed = read_yaml(texts[path], file)
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    if not isinstance(placed.data, dict):
        raise DataError("this file must be a mapping", "write 'name: ...'", Span(file, 1))
    return placed


class _Reader:
    """What the two readers share: places, known keys, words to choose from."""

    def __init__(self, placed: Placed, catalog: Catalog) -> None:
        self.placed = placed
        self.catalog = catalog

    def mapping(self, path: tuple[str, ...], known: Iterable[str] | None = None) -> dict[str, Any]:
        """Return the mapping at `path`, its keys and its words checked."""
        value: Any = self.placed.data
        for step in path:
            value = value.get(step)
        if not isinstance(value, dict):
            raise self.mistake(path, "must be a mapping", "write '{...}'")
        for key, choice in value.items():
            if known is not None and key not in known:
                hint = near_miss(key, known) or f"known are {', '.join(known)}"
                raise self.mistake((*path, key), "is no key of this", hint, key=True)
            if known is not None and key in _CHOICES and choice not in _CHOICES[key]:
                hint = near_miss(str(choice), _CHOICES[key]) or ", ".join(_CHOICES[key])
                raise self.mistake((*path, key), f"is '{choice}'", hint)
        return value

    def mistake(
        self, path: tuple[str, ...], problem: str, remedy: str, *, key: bool = False
    ) -> DataError:
        at = self.placed.key_at(*path) if key else self.placed.at(*path)
        return DataError(f"'{' '.join(path)}' {problem}", remedy or None, at)

    def source(self, path: tuple[str, ...], row: Mapping[str, Any]) -> None:
        for part in ("source", "status"):
            if row.get(part) is None:
                raise self.mistake(path, f"has no {part}", f"add '{part}:'")
        if row["source"] not in self.catalog.sources:
            hint = near_miss(str(row["source"]), self.catalog.sources) or "add it to sources.yaml"
            raise self.mistake((*path, "source"), f"is '{row['source']}', no source", hint)

    def unit(self, path: tuple[str, ...], fact: str, text: str) -> Unit:
        """Return the unit written at `path`; it must suit the fact."""
        try:
            unit, due = parse_unit(text), parse_unit(self.catalog.fact(fact).unit)
        except InputError as err:
            raise self.mistake(path, f"cannot be: {err.problem}", err.remedy or "") from None
        if unit.dimension != due.dimension or unit.kind != due.kind:
            due_text = self.catalog.facts[fact].unit
            raise self.mistake(path, f"is in '{text}', {fact} in '{due_text}'", "change the unit")
        return unit


class _Dialect(_Reader):
    def data(self) -> dict[str, Any]:
        top = self.mapping((), _TOP)
        for part in _TOP:
            if part not in top:
                raise self.mistake((part,), "is missing", f"add '{part}:'")
        try:
            re.compile(str(top["chip"]))
        except re.error as err:
            raise self.mistake(("chip",), f"is no expression: {err}", "mend it") from None
        keys = {
            role: {name: self.key(("keys", role, name)) for name in self.mapping(("keys", role))}
            for role in self.mapping(("keys",))
        }
        roles = {name: self.role(("roles", name), keys) for name in self.mapping(("roles",))}
        return {"title": top["title"], "chip": top["chip"], "roles": roles, "keys": keys}

    def role(self, path: tuple[str, ...], keys: Mapping[str, Any]) -> dict[str, Any]:
        row = self.mapping(path, _ROLE)
        if not isinstance(row.get("sections"), list) or not row.get("scope"):
            raise self.mistake(path, "needs sections (a list) and a scope", "add them")
        if row.get("keys", path[-1]) not in keys:
            hint = near_miss(str(row.get("keys", path[-1])), keys)
            raise self.mistake(path, "has no keys under 'keys:'", hint)
        for text in row["sections"]:
            odd = set(re.findall(r"<(\w*)>", text)) - {"n", "name", "chip", "extruder"}
            if odd:
                raise self.mistake(path, f"has an unknown <{min(odd)}>", "use n, name, chip")
        return row

    def key(self, path: tuple[str, ...]) -> dict[str, Any]:
        row = dict(self.mapping(path, _KEY))
        if row.get("fact") is None:
            raise self.mistake(path, "states no fact", "add 'fact:'")
        self.fact((*path, "fact"), row["fact"])
        if row.get("stages") is not None:
            self.fact((*path, "stages"), row["stages"])
        self.source(path, row)
        flag = row.get("type") == "flag"
        row["unit"] = "" if flag else str(row.get("unit", ""))
        unit = self.unit((*path, "unit"), row["fact"], row["unit"])
        for part in _NUMBERS:
            if part in row:
                row[part] = self.number((*path, part), row[part])
        if row.get("default") is None and not row.get("missing"):
            raise self.mistake(path, "has no default", "say under 'missing:' what that means")
        if row.get("default") is not None:
            row["default"] = self.default((*path, "default"), flag=flag, unit=unit)
        if row.get("gives") is not None:
            given = self.mapping((*path, "gives"), _GIVES)
            self.fact((*path, "gives", "fact"), str(given.get("fact")))
            self.source((*path, "gives"), given)
        return row

    def default(self, path: tuple[str, ...], *, flag: bool, unit: Unit) -> dict[str, Any]:
        row = dict(self.mapping(path, _DEFAULT))
        forms = [form for form in ("value", "expression", "catalogue") if form in row]
        if len(forms) != 1:
            raise self.mistake(path, "needs one of value, expression, catalogue", "give one")
        if forms != ["catalogue"]:
            self.source(path, row)
        if flag and not isinstance(row.get("value", True), bool):
            raise self.mistake((*path, "value"), "is no flag", "write true or false")
        if "value" in row and not flag:
            row["value"] = float(unit.to_si(self.number((*path, "value"), row["value"])))
        return row

    def fact(self, path: tuple[str, ...], name: str) -> None:
        if name not in self.catalog.facts:
            hint = near_miss(name, self.catalog.facts) or "add it to rules/facts.yaml"
            raise self.mistake(path, f"is '{name}', no fact", hint)

    def number(self, path: tuple[str, ...], value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.mistake(path, f"is '{value}', no number", "write a number")
        return float(value)


class _Sheet(_Reader):
    """Joins the fields that facts.yaml names with what dialects/sheet.yaml asks of them."""

    def data(self) -> dict[str, Any]:
        self.mapping((), ("fields", "blocks", "renews"))
        stated = {info.sheet: info for info in self.catalog.facts.values() if info.sheet}
        inner = {path for path in stated if any(p.startswith(f"{path}.") for p in stated)}
        fields: dict[str, Any] = {
            path: {"fact": info.name, "unit": info.unit, "type": info.type, "scope": info.scope}
            for path, info in stated.items()
            if path not in inner
        }
        for name in self.mapping(("fields",)):
            if name not in fields:
                hint = near_miss(name, fields) or "name it in facts.yaml under 'sheet:'"
                raise self.mistake(("fields", name), "is no field of the sheet", hint, key=True)
            fields[name] |= self.field(("fields", name), fields[name])
        bare = [path for path, row in fields.items() if row["type"] == "number" and
                not {"above", "at_least"} & set(row)]  # fmt: skip
        if bare:
            raise self.mistake(("fields",), f"say no lower end for '{bare[0]}'", "add 'above:'")
        names = self.mapping(("renews",))
        renews = {name: self.renewed(("renews", name), fields) for name in names}
        return {"fields": fields, "blocks": self.blocks(fields), "renews": renews}

    def field(self, path: tuple[str, ...], known: Mapping[str, Any]) -> dict[str, Any]:
        row = dict(self.mapping(path, _FIELD))
        for part in ("above", "at_least", "at_most"):
            if part in row:
                row[part] = self.bound((*path, part), str(row[part]), known)
        if "catalogue" in row and row["catalogue"] not in CATEGORIES:
            hint = near_miss(str(row["catalogue"]), CATEGORIES)
            raise self.mistake((*path, "catalogue"), "is no part of the catalogue", hint)
        return row

    def bound(self, path: tuple[str, ...], text: str, known: Mapping[str, Any]) -> list[Any]:
        """Return a bound as its SI value and its text."""
        try:
            quantity = parse_quantity(text, parse_unit(known["unit"]))
        except InputError as err:
            raise self.mistake(path, f"cannot be: {err.problem}", err.remedy or "") from None
        return [quantity.typical, text]

    def blocks(self, fields: Mapping[str, Any]) -> dict[str, list[str]]:
        """Return the blocks that need some of their fields."""
        blocks: dict[str, list[str]] = self.mapping(("blocks",))
        for block, needs in blocks.items():
            for name in needs:
                if f"{block}.{name}" not in fields:
                    hint = near_miss(f"{block}.{name}", fields)
                    raise self.mistake(("blocks", block), f"needs unknown '{name}'", hint)
        return blocks

    def renewed(self, path: tuple[str, ...], fields: Mapping[str, Any]) -> list[str]:
        """Return the fields that hang on the field at the end of `path`."""
        starts: list[str] = self.placed.data["renews"][path[-1]]
        found = [name for name in fields for start in starts if f"{name}.".startswith(f"{start}.")]
        if path[-1] not in fields or len(found) < len(starts):
            raise self.mistake(path, "names what is no field of the sheet", "mend it")
        return [name for name in found if name != path[-1]]
