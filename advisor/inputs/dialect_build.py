"""The schemas of the firmware's dialect and of the sheet's fields, read into plain JSON.

Every mistake names its file and line. Runs when the package is built, or where a file was
edited since.
The sheet's fields that facts.yaml names are joined with what dialects/sheet.yaml asks of them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from advisor.base import near_miss, parse_unit
from advisor.catalog import CATEGORIES, Catalog, load_catalog
from advisor.data import (
    Kind,
    Node,
    Row,
    checked,
    ends,
    flag,
    listed,
    names,
    number,
    pattern,
    quantity,
    raw,
    read_node,
    read_text,
    row,
    sourced,
    string,
    text,
    unit,
    word,
)

__all__ = ["build_dialects", "sheet_kind"]

_FIRMWARE, _SHEET = "dialects/ini_firmware.yaml", "dialects/sheet.yaml"
_NUMBERS = ("above", "at_least", "at_most", "lone_pair")
_FORMS = ("value", "expression", "catalogue")
_MARKS = {"n", "name", "chip", "extruder"}  # what a section's name may hold in <>
_LONGEST_LINE = 70  # characters; a question is read over slow lines


def build_dialects(texts: Mapping[str, str] | None = None, catalog: Catalog | None = None) -> Row:
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
    kinds = {"ini_firmware": (_FIRMWARE, _dialect_kind), "sheet": (_SHEET, sheet_kind)}
    return {
        name: kind(catalog)(read_node(texts[path], f"rules/{path}"))
        for name, (path, kind) in kinds.items()
    }


def _dialect_kind(catalog: Catalog) -> Kind[Row]:
    texts = listed(text)
    role = row(
        {"sections": listed(checked(text, _section), least=1),
         "scope": word(("extruder", "machine"))},
        {"keys": text, "partner": text},
    )  # fmt: skip
    dialect = row(
        {
            "title": text,
            "chip": checked(pattern(), partial(_chip, catalog)),
            "roles": names(role),
            "keys": names(names(_key_kind(catalog))),
        },
        {"others": names(texts), "retuned": row({"names": text, "keys": texts})},
    )
    return checked(dialect, _roles_have_keys)


def _chip(catalog: Catalog, node: Node, form: str) -> str:
    for chip in catalog.drivers:
        if re.fullmatch(form, chip) is None:
            problem = f"does not match '{chip}' of the catalogue, whose section is not read then"
            raise node.wrong(problem, f"write '...|{chip}'")
    return form


def _section(node: Node, name: str) -> str:
    odd = set(re.findall(r"<(\w*)>", name)) - _MARKS
    if odd:
        raise node.wrong(f"has an unknown <{min(odd)}>", f"use {', '.join(sorted(_MARKS))}")
    return name


def _roles_have_keys(node: Node, data: Row) -> Row:
    for name, role in data["roles"].items():
        keys = role.get("keys", name)
        if keys not in data["keys"]:
            hint = near_miss(keys, data["keys"]) or f"add '{keys}:' there"
            raise node.into("roles", name).wrong("has no keys under 'keys:'", hint)
    others = data.get("others", {})
    if others:
        names(raw, data["keys"], "role with keys")(node.into("others"))
    return {**data, "others": others, "retuned": data.get("retuned")}


def _key_kind(catalog: Catalog) -> Kind[Row]:
    fact = word(catalog.facts, "fact", "add it to rules/facts.yaml")
    where = sourced(catalog.sources)
    default = row({}, {"value": raw, "expression": text, "catalogue": text, **where}, one=_FORMS)
    key = row(
        {"fact": fact, **where},
        {
            "unit": string,
            "type": word(("number", "integer", "ratio", "flag")),
            "own": flag,
            **dict.fromkeys(_NUMBERS, number()),
            "range": ends(),
            "default": checked(default, _has_source),
            "missing": text,
            "stages": fact,
            "replaces": listed(text),
            "gives": row({"fact": fact, "expression": text, **where}),
        },
    )
    return checked(key, partial(_whole_key, catalog))


def _has_source(node: Node, default: Row) -> Row:
    """A default of the catalogue has its source there."""
    for part in ("source", "status"):
        if "catalogue" not in default and part not in default:
            raise node.wrong(f"has no {part}", f"add '{part}:'", key=True)
    return default


def _whole_key(catalog: Catalog, node: Node, key: Row) -> Row:
    """Check what hangs on the fact and on the type of a key; its default comes in SI."""
    is_flag, fact = key.get("type") == "flag", key["fact"]
    key["unit"] = "" if is_flag else key.get("unit", "")
    place = replace(node, data=key["unit"], path=(*node.path, "unit"))
    unit(catalog.fact(fact).unit, fact)(place)
    if not is_flag and "range" not in key:
        remedy = "add 'range: [lowest, highest]' that any machine could have"
        raise node.wrong("has no range", remedy, key=True)
    if "default" not in key and "missing" not in key:
        raise node.wrong("has no default", "say under 'missing:' what that means", key=True)
    if "value" in key.get("default", {}):
        value = node.into("default", "value")
        key["default"]["value"] = (
            flag(value) if is_flag else float(parse_unit(key["unit"]).to_si(number()(value)))
        )
    return key


def sheet_kind(catalog: Catalog) -> Kind[Row]:
    """Return the schema of the sheet's fields: by path, with blocks, questions and what renews."""
    sheet = row(
        {
            "fields": raw,
            "blocks": names(listed(text)),
            "renews": names(listed(text)),
            "questions": names(checked(text, _short)),
        },
        {"bare": listed(unit()), "lists": listed(text)},
    )
    return checked(sheet, partial(_joined, catalog))


def _short(node: Node, line: str) -> str:
    if len(line) > _LONGEST_LINE:
        raise node.wrong(
            "is no short line", f"say in {_LONGEST_LINE} characters how to find it out"
        )
    return line


def _joined(catalog: Catalog, node: Node, data: Row) -> Row:
    fields = _fields(catalog, node.into("fields"))
    _blocks(node.into("blocks"), fields)
    names(raw, {*fields, *data["blocks"]}, "field of the sheet", "name a field or a block")(
        node.into("questions")
    )
    renews = {name: _renewed(node.into("renews", name), fields) for name in data["renews"]}
    asked = {"blocks": data["blocks"], "renews": renews, "questions": data["questions"]}
    lists = data.get("lists", [])
    for name in lists:
        if name not in data["blocks"]:
            raise node.into("lists").wrong(f"names '{name}', which is no block", "name a block")
    return {"fields": fields, "bare": data.get("bare", []), "lists": lists, **asked}


def _fields(catalog: Catalog, node: Node) -> Row:
    """Return the fields that state a fact, with what is asked of each; bounds in SI."""
    stated = {info.sheet: info for info in catalog.facts.values() if info.sheet}
    inner = {path for path in stated if any(p.startswith(f"{path}.") for p in stated)}
    fields: Row = {
        path: {"fact": info.name, "unit": info.unit, "type": info.type, "scope": info.scope}
        for path, info in stated.items()
        if path not in inner
    }
    remedy = "name it in facts.yaml under 'sheet:'"
    for name in names(raw, fields, "field of the sheet", remedy)(node):
        fields[name] |= _field(fields[name]["unit"])(node.into(name))
    bare = [path for path, row in fields.items() if row["type"] == "number" and
            not {"above", "at_least"} & set(row)]  # fmt: skip
    if bare:
        raise node.wrong(f"say no lower end for '{bare[0]}'", "add 'above:'")
    return fields


def _field(due: str) -> Kind[Row]:
    def bound(node: Node) -> list[float | str]:
        return [quantity(due)(node), str(node.data)]

    may = {
        **dict.fromkeys(("above", "at_least", "at_most"), bound),
        "choices": listed(text, least=1),
        "catalogue": word(CATEGORIES, "part of the catalogue"),
        "count": flag,
        "basis": text,
        "ratio": flag,
        "within": text,
    }
    return row({}, may)


def _blocks(node: Node, fields: Row) -> None:
    """Check that a block needs fields of its own."""
    for block, needs in names(listed(text))(node).items():
        for name in needs:
            if f"{block}.{name}" not in fields:
                hint = near_miss(f"{block}.{name}", fields)
                raise node.into(block).wrong(f"needs unknown '{name}'", hint)


def _renewed(node: Node, fields: Row) -> list[str]:
    """Return the fields that hang on the field at the end of the path."""
    field, starts = node.path[-1], listed(text)(node)
    found = [name for name in fields for start in starts if f"{name}.".startswith(f"{start}.")]
    if field not in fields or len(found) < len(starts):
        raise node.wrong("names what is no field of the sheet", "mend it")
    return [name for name in found if name != field]
