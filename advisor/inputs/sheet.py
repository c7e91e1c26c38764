"""The hardware sheet: YAML with units in the values, read into facts with their places.

All mistakes of a sheet are gathered and reported together. It assumes nothing and joins
nothing with a config; base sheets are reached through a function the caller gives.

Fields that the command line states (``hotend.class=long``) are read by the same reader, so that the
same slips are told in the same words.
"""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from advisor.base import Fact, InputError, Origin, OriginKind, UsageError, near_miss
from advisor.catalog import Catalog, load_catalog
from advisor.data import Placed, Plain
from advisor.inputs.sheet_fields import Fields, SheetValue, load_fields
from advisor.inputs.sheet_reader import (
    Allowance,
    Measurement,
    Sheet,
    SheetMistakes,
    SheetPart,
    SheetReader,
    Values,
)

__all__ = [
    "Allowance",
    "Measurement",
    "Sheet",
    "SheetMistakes",
    "SheetPart",
    "SheetValue",
    "read_sheet",
    "sheet_of",
    "stated_by_option",
]

OpenText = Callable[[str], str]
_DEEPEST = 20  # base sheets of base sheets
_OPTION = "--with"


def read_sheet(
    text: str,
    file: str,
    *,
    open_text: OpenText | None = None,
    catalog: Catalog | None = None,
    over: Mapping[str, Fact] | None = None,
) -> Sheet:
    """Return the hardware sheet written in `text`.

    Parameters
    ----------
    text : str
        YAML.
    file : str
        The path to show.
    open_text : callable, optional
        Returns the text of a base sheet by its path, or raises OSError, ValueError (no text)
        or InputError. Without it a base is refused.
    catalog : Catalog, optional
        Where class names are looked up.
    over : mapping of str to Fact, optional
        What goes before the sheet, by the path of the field.

    Raises
    ------
    SheetError
        With place and remedy; `SheetMistakes` where there are several.
    """
    fields = load_fields()
    reader = SheetReader(fields, catalog or load_catalog())
    stated = _read(reader, text, file, (), open_text)
    _lay_over(fields, stated, over or {})
    return _sheet(reader, stated, file)


def sheet_of(stated: Mapping[str, Fact], catalog: Catalog) -> Sheet:
    """Return a sheet that no file holds, from what is stated by the path of the field.

    Raises
    ------
    SheetError
        If it cannot be true together.
    """
    reader = SheetReader(load_fields(), catalog)
    return _sheet(reader, _SheetFacts(dict(stated)), None)


def _sheet(reader: SheetReader, stated: _SheetFacts, file: str | None) -> Sheet:
    _check(reader, stated)
    if reader.mistakes:
        raise SheetMistakes.of(reader.mistakes)
    fields = reader.fields
    extruders = {name: _part(fields, values) for name, values in _each(fields, stated)}
    shared = extruders.pop("")
    return Sheet(file, shared, extruders, tuple(stated.allow), tuple(stated.files), stated.name)


@dataclass(slots=True)
class _SheetFacts:
    """What a sheet and its bases state."""

    shared: Values = field(default_factory=dict)
    extruders: dict[str, Values] = field(default_factory=dict)
    allow: list[Allowance] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    name: str | None = None  # of the sheet itself: a base describes something else


def _lay_over(fields: Fields, stated: _SheetFacts, over: Mapping[str, Fact]) -> None:
    """Let what goes before the sheet hold for every extruder."""
    if over:
        stated.shared = _over(fields, over, stated.shared)
        for name, values in stated.extruders.items():
            stated.extruders[name] = _over(fields, over, values)


def _read(
    reader: SheetReader, text: str, file: str, chain: tuple[str, ...], open_text: OpenText | None
) -> _SheetFacts:
    """Return what one sheet states over what its base states."""
    placed = reader.document(text, file)
    below = _base(reader, placed, (*chain, os.path.normpath(file)), open_text)
    own = reader.extruders(placed)
    over = reader.fields
    return _SheetFacts(
        shared=_over(over, reader.shared(placed), below.shared),
        extruders={
            name: _over(over, own.get(name, {}), below.extruders.get(name, {}))
            for name in {**below.extruders, **own}
        },
        allow=[*reader.allowed(placed), *below.allow],
        files=[file, *below.files],
        name=reader.named(placed),
    )


def _base(
    reader: SheetReader, placed: Placed, chain: tuple[str, ...], open_text: OpenText | None
) -> _SheetFacts:
    name, at = placed.get("base"), placed.at("base")
    if name is None:
        return _SheetFacts()
    if not isinstance(name, str):
        reader.note("base: this is no file name", "write 'base: other.yaml'", at)
        return _SheetFacts()
    path = os.path.join(os.path.dirname(placed.file), name)
    if os.path.normpath(path) in chain or len(chain) > _DEEPEST:
        reader.note(f"base: '{name}' leads back to this sheet", "break the circle", at)
        return _SheetFacts()
    try:
        if open_text is None:
            raise InputError("no other sheet can be opened here")
        text = open_text(path)
    except (OSError, ValueError, InputError) as err:
        problem = f"base: '{name}' cannot be read: {_reason(err)}"
        reader.note(problem, "check the path", at)
        return _SheetFacts()
    return _read(reader, text, path, chain, open_text)


def _reason(err: Exception) -> str:
    if isinstance(err, InputError):
        return err.problem
    if isinstance(err, OSError):
        return (err.strerror or "it cannot be opened").lower()
    return "it is no text"


def _over(fields: Fields, upper: Mapping[str, Fact], lower: Mapping[str, Fact]) -> Values:
    """Return `upper` over `lower`; what `upper` renews is dropped from `lower`.

    A motor of another class has another resistance; a measurement is replaced as a whole.
    """
    dropped = {
        path
        for name, renewed in fields.renews.items()
        if name in upper and (name not in lower or upper[name].value != lower[name].value)
        for path in renewed
    }
    for block in fields.blocks:
        if any(path.startswith(f"{block}.") for path in upper):
            dropped |= {path for path in lower if path.startswith(f"{block}.")}
    return {path: fact for path, fact in lower.items() if path not in dropped} | dict(upper)


def _each(fields: Fields, stated: _SheetFacts) -> Iterator[tuple[str, Values]]:
    """Yield what holds for all (without a name), then for each extruder that is named."""
    yield "", stated.shared
    for name, own in stated.extruders.items():
        yield name, _over(fields, own, stated.shared)


def _check(reader: SheetReader, stated: _SheetFacts) -> None:
    """Note what cannot be true together."""
    seen: set[int] = set()
    for _, values in _each(reader.fields, stated):
        for path, fact in values.items():
            field = reader.fields.fields.get(path)  # none: of one of several measurements
            outer = values.get((field.within if field is not None else None) or "")
            if outer is not None and id(fact) not in seen and _above(fact, outer):
                seen.add(id(fact))
                limit = f"{outer.origin.setting}, '{outer.origin.text}'"
                problem = f"{path}: '{fact.origin.text}' is more than {limit}"
                reader.note(problem, "check the two", fact.origin.at)


def _above(inner: Fact, outer: Fact) -> bool:
    if inner.number is None or outer.number is None:
        return False
    (lowest, _, _), (_, _, most) = inner.number.stated, outer.number.stated
    return lowest > most


def _part(fields: Fields, values: Mapping[str, Fact]) -> SheetPart:
    facts = {fact.name: fact for path, fact in values.items() if " " not in path}
    measured: dict[str, Measurement] = {}
    for block in fields.blocks:
        each: dict[str, dict[str, Fact]] = {}
        for path, fact in values.items():
            if path.startswith(f"{block}."):
                name, _, number = path.rpartition(".")[2].partition(" ")
                each.setdefault(f"{block.rpartition('.')[2]} {number}".rstrip(), {})[name] = fact
        for called, inner in each.items():
            stated = {name: fact.value for name, fact in inner.items() if fact.value is not None}
            at = next(iter(inner.values())).origin.at
            measured[called] = Measurement(stated, at)
    return SheetPart(facts, measured)


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
