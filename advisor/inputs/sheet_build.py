"""Joins the sheet's fields that facts.yaml names with what dialects/sheet.yaml asks of them."""

from __future__ import annotations

from functools import partial

from advisor.base import near_miss
from advisor.catalog import CATEGORIES, Catalog
from advisor.data import (
    Kind,
    Node,
    Row,
    checked,
    flag,
    listed,
    names,
    quantity,
    raw,
    row,
    text,
    unit,
    word,
)

__all__ = ["sheet_kind"]

_LONGEST_LINE = 70  # characters; a question is read over slow lines


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
