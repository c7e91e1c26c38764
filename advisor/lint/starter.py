"""Writes a commented starter hardware sheet: what is known filled in, what matters most first.

The text is a hardware sheet that our own reader takes as it stands. Nothing is assumed in it: a
value nobody stated is a comment, with what is taken meanwhile and how to find it out.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from advisor.asks import Asks
from advisor.catalog import Catalog, Entry, load_catalog
from advisor.errors import UnreadableError, UsageError
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of, measure_next
from advisor.intake.sheet_fields import Field, load_fields
from advisor.lint.check import check_config
from advisor.lint.flow import chosen_extruder
from advisor.model import Fact, OriginKind

__all__ = ["starter_sheet"]

_WIDTH = 80
_STATED = (OriginKind.SHEET, OriginKind.COMMAND, OriginKind.PROFILE)
_INTRODUCTION = (
    "Save it as hardware.yaml beside the config. Take the '#' off a line and put in what you know; "
    "leave the rest. Numbers carry their unit; a figure you are not sure of may be a band, such as "
    "0.09..0.14 N m."
)
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
    "tube_length": "400",
    "asked": "10",
}
_EXAMPLES = {"ratio": "50:17", "text": "...", "number": "1"}


def starter_sheet(config: str, asks: Asks, *, extruder: str | None = None) -> str:
    """Return the text of a starter sheet.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        A sheet that exists already: what it states is filled in.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UnreadableError
        If the config or the sheet cannot be read.
    UsageError
        If the config has no extruder.
    """
    checked = check_config(config, asks)
    if checked.report.errors:
        raise UnreadableError("\n".join(checked.report.errors))
    name = chosen_extruder(checked, extruder)
    if name is None:
        raise UsageError("the config has no extruder section", "name the root config")
    book, catalog = checked.books[name], load_catalog()
    lines = [*_head(config, book, catalog), *_body(book, catalog)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(config: str, book: FactBook, catalog: Catalog) -> Iterator[str]:
    shown = config if config != "-" else "standard input"
    yield f"# Hardware sheet for {_plain(shown)}"
    yield from _wrapped(_INTRODUCTION, "# ")
    ranked = [x for x in measure_next(book.facts, catalog.facts) if x.sheet_field]
    if ranked:
        yield "#"
        yield "# What narrows the answer most, first:"
    for entry in ranked[:5]:
        yield f"#   {entry.sheet_field}: explains {100 * entry.share:.0f} % of what is still open"
        yield from _wrapped(entry.how, "#       ")


def _body(book: FactBook, catalog: Catalog) -> Iterator[str]:
    fields = load_fields().fields
    groups: dict[str, list[Field]] = {}
    for path, field in fields.items():
        groups.setdefault(path.partition(".")[0] if "." in path else "", []).append(field)
    order = {entry.fact: i for i, entry in enumerate(measure_next(book.facts, catalog.facts))}
    for group in ("motor", "drive", "hotend", "filament", "supply", ""):
        rows = sorted(groups.get(group, ()), key=lambda x: order.get(x.fact, len(order)))
        yield ""
        yield from _group(group, rows, book, catalog)


def _group(group: str, rows: Iterable[Field], book: FactBook, catalog: Catalog) -> Iterator[str]:
    """Yield the fields of a group; a measurement, which is a block of its own, comes last."""
    if group:
        yield f"{group}:"
    indent = "  " if group else ""
    blocks: dict[str, list[Field]] = {}
    for field in rows:
        name = field.path.removeprefix(f"{group}.") if group else field.path
        if "." in name:
            blocks.setdefault(name.partition(".")[0], []).append(field)
        else:
            yield from _lines(indent, name, field, book, catalog)
    for name, inner in blocks.items():
        yield from _block(indent, name, inner, book, catalog)


def _lines(indent: str, name: str, field: Field, book: FactBook, catalog: Catalog) -> Iterator[str]:
    """Yield a field, and below it what it means, what is taken meanwhile, how to find it out."""
    fact = book.facts.get(field.fact)
    if fact is not None and fact.known and fact.origin.kind in _STATED:
        yield f"{indent}{name}: {_plain(_value(fact, field))}"
        return
    yield f"{indent}# {name}: {_example(fact, field, catalog)}"
    yield from _wrapped(_comment(fact, field, catalog), f"{indent}#     ")


def _wrapped(text: str, lead: str) -> Iterator[str]:
    return iter(textwrap.wrap(text, _WIDTH, initial_indent=lead, subsequent_indent=lead))


def _value(fact: Fact, field: Field) -> str:
    """The user's own text where there is one, else the value with its unit."""
    if fact.origin.kind is OriginKind.SHEET and field.type == "number" and fact.origin.text:
        return fact.origin.text
    return _number(fact, field) if field.type == "number" else str(fact.word)


def _number(fact: Fact, field: Field) -> str:
    band = band_of(fact)
    if band is None:
        return _EXAMPLES["number"]
    if field.count:
        return f"{band.value:.0f}"
    unit = field.unit if field.unit not in ("", "-") else ""
    return f"{band.value:.4g} {unit.removesuffix(' rms')}".strip()


def _example(fact: Fact | None, field: Field, catalog: Catalog) -> str:
    if field.ratio:
        own = fact is not None and fact.known and fact.origin.kind is OriginKind.CONFIG
        return _plain(fact.origin.text or "") if fact and own else _EXAMPLES["ratio"]
    if field.catalogue is not None:
        names = _names(catalog.category(field.catalogue))
        taken = (fact.text if fact is not None else None) or ""
        return taken if taken in names else names[0]
    if fact is not None and fact.known and not _refused(fact, field):
        return _number(fact, field) if field.type == "number" else str(fact.word)
    if field.type != "number":
        return field.choices[0] if field.choices else _EXAMPLES["text"]
    unit = field.unit if field.unit not in ("", "-") else ""
    value = _TYPICAL.get(field.path, _EXAMPLES["number"])
    return f"{value} {unit.removesuffix(' rms')}".strip()


def _refused(fact: Fact, field: Field) -> bool:
    """Whether what is taken meanwhile means "there is none", such as no tube: no value to state."""
    taken = fact.nominal if field.type == "number" else None
    return taken is not None and field.above is not None and taken <= field.above[0]


def _comment(fact: Fact | None, field: Field, catalog: Catalog) -> str:
    info = catalog.facts[field.fact]
    parts = [info.title]
    if field.catalogue is not None:
        parts.append(f"one of {', '.join(_names(catalog.category(field.catalogue)))}")
    elif field.choices:
        parts.append(f"one of {', '.join(field.choices)}")
    band = band_of(fact)
    if band is not None and band.low != band.high and field.type == "number":
        parts.append(f"taken as {band.low:.3g} to {band.high:.3g}")
    if info.measure:
        parts.append(info.measure)
    return _plain("; ".join(parts))


def _names(entries: Iterable[str] | dict[str, Entry]) -> list[str]:
    return [name for name in entries if name != "unstated"]


def _block(
    indent: str, name: str, fields: Iterable[Field], book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Yield a measurement: filled in as a whole, or as one commented example."""
    inner = list(fields)
    stated = [x for x in inner if (f := book.facts.get(x.fact)) is not None and f.known
              and f.origin.kind in _STATED]  # fmt: skip
    shown = stated or inner
    parts = []
    for field in shown:
        fact = book.facts.get(field.fact)
        value = _value(fact, field) if stated and fact else _example(None, field, catalog)
        parts.append(f"{field.path.rpartition('.')[2]}: {_plain(value)}")
    mark = "" if stated else "# "
    yield f"{indent}{mark}{name}: {{{', '.join(parts)}}}"


def _plain(text: str) -> str:
    """Return `text` on one line."""
    return " ".join(text.split())
