"""The kinds of the JSON tables: the JSON that a kind makes keeps to the schema it makes.

jsonschema (JSON Schema 2020-12) is the judge.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest
from every import every
from jsonschema import Draft202012Validator

from advisor.base import Band
from advisor.report.json import json_schema, kinds as k


@dataclasses.dataclass
class Thing:
    name: str
    size: float | None
    part: Thing | None = None


PART = k.Record((k.Field("size", k.Maybe(k.NUMBER)),), "part", "A part.")
THING = k.Record((
    k.Field("title", k.WORDS, "name"),
    k.Field("inner", k.Maybe(k.TEXT), "part.name"),
    k.Field("part", k.Maybe(PART), about="What is in it."),
    k.Field("twice", k.NUMBER, lambda thing: 2 * thing.size),
    k.Field("rare", k.COUNT, lambda thing: 0, optional=True),
))  # fmt: skip


def schema_of(kind: k.FieldKind) -> dict[str, Any]:
    named: dict[str, Any] = {}
    return {**kind.schema(named), "$defs": named}


FITS: list[tuple[k.FieldKind, Any, Any]] = [
    (k.TEXT, "a\udcff", "a\\xff"),
    (k.TextKind(pattern="^[a-z]+$"), "abc", "abc"),
    (k.ChoiceKind(("yes", "no")), "no", "no"),
    (k.Maybe(k.ChoiceKind(("yes", "no"))), None, None),
    (k.FLAG, True, True),
    (k.COUNT, 0, 0),
    (k.NUMBER, 1 / 3, 0.333333333),
    (k.Maybe(k.NUMBER), math.inf, None),
    (k.Maybe(k.SHARE), None, None),
    (k.Several(k.LINE, least=1), (1, 2), [1, 2]),
    (k.Table(k.NUMBER), {"b": 1.0, "a": 2.0}, {"a": 2.0, "b": 1.0}),
    (k.Table(k.TEXT, ordered=False), {"b": "x", "a": "y"}, {"b": "x", "a": "y"}),
    (k.Quantity("mm"), 0.4, {"value": 0.4, "unit": "mm"}),
    (k.Estimate(None), Band(1.0, 0.5, math.inf),
     {"value": 1.0, "low": 0.5, "high": None, "unit": None}),
    (k.Maybe(k.Estimate("mm3/s")), None, None),
    (THING, Thing("x", 2.0, Thing("y", None)),
     {"title": "x", "inner": "y", "part": {"size": None}, "twice": 4.0}),
    (THING, Thing("x", 2.0), {"title": "x", "inner": None, "part": None, "twice": 4.0}),
]  # fmt: skip


@every("kind, value, due", FITS)
def test_a_kind_makes_what_its_schema_takes(kind: k.FieldKind, value: Any, due: Any) -> None:
    """In the order of its keys too."""
    made = kind.tree(value)
    assert made == due
    assert not isinstance(due, dict) or list(made) == list(due)
    Draft202012Validator.check_schema(schema_of(kind))
    Draft202012Validator(schema_of(kind)).validate(made)


BREAKS: list[tuple[k.FieldKind, Any]] = [
    (k.WORDS, ""), (k.TextKind(pattern="^[a-z]+$"), "A"), (k.ChoiceKind(("yes",)), "no"),
    (k.ChoiceKind(("yes",)), None), (k.FLAG, 1), (k.COUNT, -1), (k.LINE, 0), (k.COUNT, 1.5),
    (k.NUMBER, None), (k.SHARE, 1.01), (k.NumberKind(above=0), 0), (k.Several(k.TEXT, least=1), []),
    (k.Several(k.TEXT, most=1), ["a", "b"]), (k.Table(k.NUMBER), {"a": "b"}),
    (k.Quantity("mm"), {"value": 1.0, "unit": "m"}), (PART, {"size": 1.0, "more": 1}), (PART, {}),
    (k.Estimate("A"), {"value": 1.0, "low": 1.0, "high": 1.0, "unit": "degC"}),
]  # fmt: skip


@every("kind, wrong", BREAKS)
def test_a_schema_refuses_what_is_no_such_kind(kind: k.FieldKind, wrong: Any) -> None:
    """Too little, too much, another word, another unit, a key more or less."""
    assert not Draft202012Validator(schema_of(kind)).is_valid(wrong)


def objects(schema: Any) -> list[dict[str, Any]]:
    if isinstance(schema, list):
        return [one for part in schema for one in objects(part)]
    if not isinstance(schema, dict):
        return []
    own = [schema] if "properties" in schema and schema.get("type") == "object" else []
    return own + [one for part in schema.values() for one in objects(part)]


def test_every_object_of_the_schema_is_closed() -> None:
    """No key beside those named, and each is there unless it may be left out."""
    free = {"draws", "later_settings", "unread_macro_moves", "dated_copies"}
    found = objects(json_schema())
    assert len(found) > 50
    for one in found:
        assert one["additionalProperties"] is False
        assert set(one["properties"]) - set(one["required"]) <= free


def test_what_names_another_place_names_one_that_is_there() -> None:
    """Each ``$ref`` is found under ``$defs``, and each definition is used."""
    whole = json_schema()
    used = {ref.rpartition("/")[2] for ref in _refs(whole)}
    assert used == set(whole["$defs"])


def _refs(part: Any) -> list[str]:
    if isinstance(part, list):
        return [ref for one in part for ref in _refs(one)]
    if not isinstance(part, dict):
        return []
    own = [part["$ref"]] if isinstance(part.get("$ref"), str) else []
    return own + [ref for one in part.values() for ref in _refs(one)]


def test_an_answer_of_another_kind_is_refused() -> None:
    """A program that hands in what is no answer is told so."""
    from advisor.report.json import as_json

    with pytest.raises(TypeError, match="'Thing' is no answer"):
        as_json(Thing("x", 1.0))
