"""Joins the sheet's fields that facts.yaml names with what dialects/sheet.yaml asks of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.catalog import CATEGORIES
from advisor.errors import InputError, near_miss
from advisor.intake.rule_reader import RuleReader
from advisor.units import parse_unit
from advisor.values import parse_quantity

__all__ = ["SheetBuilder"]

_FIELD = ("above", "at_least", "at_most", "choices", "catalogue", "count", "basis", "ratio",
          "within")  # fmt: skip
_LONGEST_LINE = 70  # characters; a question is read over slow lines


class SheetBuilder(RuleReader):
    """Checks the fields of the sheet."""

    def data(self) -> dict[str, Any]:
        """Return the fields by path, the blocks and what a field renews."""
        self.mapping((), ("fields", "blocks", "renews", "questions"))
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
        asked = {"questions": self.questions(fields)}
        return {"fields": fields, "blocks": self.blocks(fields), "renews": renews} | asked

    def field(self, path: tuple[str, ...], known: Mapping[str, Any]) -> dict[str, Any]:
        """Return what is asked of one field; bounds in SI."""
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

    def questions(self, fields: Mapping[str, Any]) -> dict[str, str]:
        """Return what is asked and how to find it out, in this order."""
        questions: dict[str, str] = self.mapping(("questions",))
        known = {*fields, *self.mapping(("blocks",))}
        for name, words in questions.items():
            if name not in known:
                hint = near_miss(name, known) or "name a field or a block"
                raise self.mistake(("questions", name), "is no field of the sheet", hint, key=True)
            if not isinstance(words, str) or len(words) > _LONGEST_LINE:
                remedy = f"say in {_LONGEST_LINE} characters how to find it out"
                raise self.mistake(("questions", name), "is no short line", remedy)
        return questions

    def renewed(self, path: tuple[str, ...], fields: Mapping[str, Any]) -> list[str]:
        """Return the fields that hang on the field at the end of `path`."""
        starts: list[str] = self.placed.data["renews"][path[-1]]
        found = [name for name in fields for start in starts if f"{name}.".startswith(f"{start}.")]
        if path[-1] not in fields or len(found) < len(starts):
            raise self.mistake(path, "names what is no field of the sheet", "mend it")
        return [name for name in found if name != path[-1]]
