"""The hardware sheet: YAML with units in the values, read into facts with their places.

All mistakes of a sheet are gathered and reported together. It assumes nothing and joins
nothing with a config; base sheets are reached through a function the caller gives.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from advisor.base import Fact, InputError
from advisor.catalog import Catalog, load_catalog
from advisor.data import Placed
from advisor.inputs.sheet_fields import Fields, SheetValue, load_fields
from advisor.inputs.sheet_reader import SheetReader, Values
from advisor.inputs.sheet_records import Allowance, Measurement, Sheet, SheetMistakes, SheetPart

__all__ = [
    "Allowance",
    "Measurement",
    "Sheet",
    "SheetMistakes",
    "SheetPart",
    "SheetValue",
    "read_sheet",
    "sheet_of",
]

OpenText = Callable[[str], str]
_DEEPEST = 20  # base sheets of base sheets


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
