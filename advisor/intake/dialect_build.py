"""Reads and checks the dialect files and the sheet's fields, into plain JSON.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from advisor.catalog import Catalog, load_catalog
from advisor.errors import DataError, InputError, near_miss
from advisor.intake.rule_reader import RuleReader
from advisor.intake.sheet_build import SheetBuilder
from advisor.model import Span
from advisor.resources import read_text
from advisor.units import Unit
from advisor.yamlread import Placed, read_yaml

__all__ = ["build_dialects"]

_FIRMWARE, _SHEET = "dialects/ini_firmware.yaml", "dialects/sheet.yaml"
_TOP = ("title", "chip", "roles", "keys")
_MAY = ("others", "retuned")
_ROLE = ("sections", "scope", "keys", "partner")
_NUMBERS = ("above", "at_least", "at_most", "lone_pair")
_KEY = ("fact", "unit", "type", "own", *_NUMBERS, "range", "default", "missing", "stages",
        "replaces", "gives", "source", "status")  # fmt: skip
_DEFAULT = ("value", "expression", "catalogue", "source", "status")
_RETUNED = ("names", "keys")
_GIVES = ("fact", "expression", "source", "status")


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
        "sheet": SheetBuilder(_document(texts, _SHEET), catalog).data(),
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


class _Dialect(RuleReader):
    def data(self) -> dict[str, Any]:
        top = self.mapping((), (*_TOP, *_MAY))
        for part in _TOP:
            if part not in top:
                raise self.mistake((part,), "is missing", f"add '{part}:'")
        try:
            re.compile(str(top["chip"]))
        except re.error as err:
            raise self.mistake(("chip",), f"is no expression: {err}", "mend it") from None
        for chip in self.catalog.drivers:
            if re.fullmatch(str(top["chip"]), chip) is None:
                problem = (
                    f"does not match '{chip}' of the catalogue, whose section is not read then"
                )
                raise self.mistake(("chip",), problem, f"write '...|{chip}'")
        keys = {
            role: {name: self.key(("keys", role, name)) for name in self.mapping(("keys", role))}
            for role in self.mapping(("keys",))
        }
        roles = {name: self.role(("roles", name), keys) for name in self.mapping(("roles",))}
        others = self.mapping(("others",), tuple(keys)) if "others" in top else {}
        return {
            "title": top["title"],
            "chip": top["chip"],
            "roles": roles,
            "keys": keys,
            "others": {role: self.words(("others", role)) for role in others},
            "retuned": self.retuned(("retuned",)) if "retuned" in top else None,
        }

    def words(self, path: tuple[str, ...]) -> list[str]:
        rows: Any = self.placed.data
        for step in path:
            rows = rows.get(step)
        if not isinstance(rows, list) or not all(isinstance(one, str) for one in rows):
            raise self.mistake(path, "is no list of words", "write '[one, two]'")
        return rows

    def retuned(self, path: tuple[str, ...]) -> dict[str, Any]:
        row = dict(self.mapping(path, _RETUNED))
        if not isinstance(row.get("names"), str):
            raise self.mistake(path, "names no setting", "add 'names:'")
        return {"names": row["names"], "keys": self.words((*path, "keys"))}

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
        if not flag:
            row["range"] = self.ends((*path, "range"), row.get("range"))
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
