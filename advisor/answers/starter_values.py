"""The values of a starter sheet: what is stated, what is taken meanwhile, what shows the form.

It chooses no fields and lays out nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.base import Fact, OriginKind
from advisor.catalog import Catalog, Entry
from advisor.inputs import SheetField
from advisor.machine import FactBook, band_of

__all__ = ["block_line", "example", "names_of", "one_line", "stated", "value_text"]

_STATED = (OriginKind.SHEET, OriginKind.COMMAND, OriginKind.PROFILE)
_TYPICAL = {  # figures that show the form of a measurement; nothing is taken from them
    "drive.gear_diameter": "8",
    "drive.tooth_count": "30",
    "drive.measured_force.force": "60",
    "hotend.measured_flow.flow": "11",
    "hotend.measured_flow.nozzle": "0.4",
    "hotend.measured_flow.temperature": "220",
    "motor.measured_case.ambient": "25",
    "motor.measured_case.current": "0.5",
    "motor.measured_case.temperature": "60",
    "motor.measured_skip.current": "0.3",
    "motor.measured_skip.flow": "9",
    "motor.measured_skip.nozzle": "0.4",
    "motor.measured_skip.temperature": "220",
    "tube_length": "400",
    "asked": "10",
}
_EXAMPLES = {"ratio": "50:17", "text": "...", "number": "1"}


def stated(field: SheetField, book: FactBook) -> Fact | None:
    """Return the fact of a field that its owner states; None where nobody does."""
    fact = book.facts.get(field.fact)
    own = fact is not None and fact.known and fact.origin.kind in _STATED
    return fact if own else None


def value_text(fact: Fact, field: SheetField) -> str:
    """The user's own text where there is one, else the value with its unit."""
    if fact.origin.kind is OriginKind.SHEET and field.type == "number" and fact.origin.text:
        return fact.origin.text
    return _number(fact, field) if field.type == "number" else str(fact.word)


def _number(fact: Fact, field: SheetField) -> str:
    band = band_of(fact)
    if band is None:
        return _EXAMPLES["number"]
    if field.count:
        return f"{band.value:.0f}"
    unit = field.unit if field.unit not in ("", "-") else ""
    return f"{band.value:.4g} {unit.removesuffix(' rms')}".strip()


def example(fact: Fact | None, field: SheetField, catalog: Catalog) -> str:
    """Return what stands in a commented line: what is taken meanwhile, or the form."""
    if field.ratio:
        own = fact is not None and fact.known and fact.origin.kind is OriginKind.CONFIG
        return one_line(fact.origin.text or "") if fact and own else _EXAMPLES["ratio"]
    if field.catalogue is not None:
        names = names_of(catalog.category(field.catalogue))
        taken = (fact.text if fact is not None else None) or ""
        return taken if taken in names else names[0]
    if fact is not None and fact.known and not _refused(fact, field):
        return _number(fact, field) if field.type == "number" else str(fact.word)
    if field.type != "number":
        return field.choices[0] if field.choices else _EXAMPLES["text"]
    unit = field.unit if field.unit not in ("", "-") else ""
    value = _TYPICAL.get(field.path, _EXAMPLES["number"])
    return f"{value} {unit.removesuffix(' rms')}".strip()


def _refused(fact: Fact, field: SheetField) -> bool:
    """Whether what is taken meanwhile means "there is none", such as no tube: no value to state."""
    taken = fact.nominal if field.type == "number" else None
    return taken is not None and field.above is not None and taken <= field.above[0]


def names_of(entries: Iterable[str] | dict[str, Entry]) -> list[str]:
    """Return the names of classes that can be stated."""
    return [name for name in entries if name != "unstated"]


def block_line(
    indent: str, name: str, fields: Iterable[SheetField], book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Yield a measurement: filled in as a whole, or as one commented example."""
    inner = list(fields)
    known = [x for x in inner if stated(x, book) is not None]
    shown = known or inner
    parts = []
    for field in shown:
        fact = book.facts.get(field.fact)
        value = value_text(fact, field) if known and fact else example(None, field, catalog)
        parts.append(f"{field.path.rpartition('.')[2]}: {one_line(value)}")
    mark = "" if known else "# "
    yield f"{indent}{mark}{name}: {{{', '.join(parts)}}}"


def one_line(text: str) -> str:
    """Return `text` on one line."""
    return " ".join(text.split())
