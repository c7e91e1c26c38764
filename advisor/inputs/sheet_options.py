"""Fields of the hardware sheet that the command line states: ``hotend.class=long``.

They are read by the reader of the sheet, so that the same slips are told in the same words.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping

from advisor.base import Origin, OriginKind, UsageError, near_miss
from advisor.catalog import Catalog
from advisor.data import Placed, Plain
from advisor.inputs.sheet_fields import Fields, load_fields
from advisor.inputs.sheet_reader import SheetReader, Values

__all__ = ["stated_by_option"]

_OPTION = "--with"


def stated_by_option(texts: Iterable[str], catalog: Catalog) -> Values:
    """Return what options ``field=value`` state, by the path of the field.

    Parameters
    ----------
    texts : iterable of str
        As typed.
    catalog : Catalog
        Where class names are looked up.

    Raises
    ------
    UsageError
        For a text that is no ``field=value``, an unknown field (names the closest one), a value
        the field cannot hold, or a field that is stated twice.
    """
    fields = load_fields()
    tree: dict[str, Plain] = {}
    for text in texts:
        path, value = _split(text, fields, catalog)
        *groups, name = path.split(".")
        inner = tree
        for group in groups:
            inner = _inner(inner, group)
        if inner.setdefault(name, value) != value:
            raise UsageError(f"{_OPTION} states {path} twice", "keep one")
    reader = SheetReader(fields, catalog)
    stated = reader.shared(Placed(tree, _OPTION))
    if reader.mistakes:
        first = reader.mistakes[0]
        raise UsageError(f"{_OPTION} {first.problem}", first.remedy)
    return {
        path: dataclasses.replace(
            fact, origin=Origin(OriginKind.COMMAND, setting=path, text=fact.origin.text)
        )
        for path, fact in stated.items()
    }


def _inner(tree: dict[str, Plain], group: str) -> dict[str, Plain]:
    """Return what stands below a group, which is put there where it is not."""
    below = tree.setdefault(group, {})
    assert isinstance(below, dict), group  # a group is no field
    return below


def _split(text: str, fields: Fields, catalog: Catalog) -> tuple[str, str]:
    """Return path and value of an option; a fact's name stands for the field that states it."""
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not value:
        raise UsageError(f"{_OPTION} '{text}' states nothing", "write it as hotend.class=long")
    by_fact = {field.fact: path for path, field in fields.fields.items()}
    path = name if name in fields.fields else by_fact.get(name)
    if path is None:
        raise UsageError(f"{_OPTION}: unknown field '{name}'", _hint(name, by_fact, catalog))
    return path, value


def _hint(name: str, by_fact: Mapping[str, str], catalog: Catalog) -> str:
    """Say which field may be meant: one that ends so, one of the group, one that reads alike."""
    if name in catalog.facts:
        return (
            f"it is no field of the sheet; `feedwright compare CONFIG --vary {name}=...` tries it"
        )
    paths = tuple(by_fact.values())
    inside = [path.removeprefix(f"{name}.") for path in paths if path.startswith(f"{name}.")]
    if inside:
        return f"name one of its fields: {', '.join(inside)}"
    ends = [path for path in paths if path.endswith(f".{name}")]
    if ends:
        return f"did you mean '{ends[0]}'?"
    return near_miss(name, paths) or "`feedwright sheet CONFIG` lists all fields"
