"""Writes a commented starter hardware sheet: what is known filled in, what matters most first.

The text is a hardware sheet that our own reader takes as it stands. Nothing is assumed in it: a
value nobody stated is a comment, with what is taken meanwhile and how to find it out.
"""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Iterable, Iterator

from advisor.answers.asks import Asks
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.starter_brief import brief_lines, whole_lines
from advisor.answers.starter_values import (
    block_line,
    example,
    names_of,
    one_line,
    stated,
    value_text,
)
from advisor.base import Fact, UnreadableError, UsageError
from advisor.catalog import Catalog, load_catalog
from advisor.inputs import SheetField, load_fields
from advisor.machine import FactBook, band_of, measure_next

__all__ = ["starter_sheet"]

_WIDTH = 80
_INTRODUCTION = (
    "Save it as hardware.yaml beside the config. Take the '#' off a line and put in what you know; "
    "leave the rest. Numbers carry their unit; a figure you are not sure of may be a band, such as "
    "0.09..0.14 N m."
)


def starter_sheet(
    config: str, asks: Asks, *, extruder: str | None = None, full: bool = True
) -> str:
    """Return the text of a starter sheet.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        A sheet that exists already: what it states is filled in.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    full : bool
        Every field, each with the way to find it out; else what fits a screen: what matters most,
        and nothing that the answer does not hang on.

    Raises
    ------
    UnreadableError
        If the config or the sheet cannot be read.
    UsageError
        If the config has no extruder.
    """
    checked = check_config(config, dataclasses.replace(asks, use_tests=False))
    if checked.report.errors:
        raise UnreadableError("\n".join(checked.report.errors))
    name = chosen_extruder(checked, extruder)
    if name is None:
        raise UsageError("the config has no extruder section", "name the root config")
    book, catalog = checked.books[name], load_catalog()
    reports = {one.name: one for one in checked.report.extruders}
    others = [other for other in reports if other != name]
    whole = whole_lines(reports[name].called, others)
    if full:
        lines = [*_head(config, book, catalog), *_body(book, catalog), *whole]
    else:
        lines = brief_lines(config, book, catalog, whole)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(config: str, book: FactBook, catalog: Catalog) -> Iterator[str]:
    shown = config if config != "-" else "standard input"
    yield f"# Hardware sheet for {one_line(shown)}"
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
    groups: dict[str, list[SheetField]] = {}
    for path, field in fields.items():
        groups.setdefault(path.partition(".")[0] if "." in path else "", []).append(field)
    order = {entry.fact: i for i, entry in enumerate(measure_next(book.facts, catalog.facts))}
    for group in ("motor", "drive", "hotend", "filament", "supply", ""):
        rows = sorted(groups.get(group, ()), key=lambda x: order.get(x.fact, len(order)))
        yield ""
        yield from _group(group, rows, book, catalog)


def _group(
    group: str, rows: Iterable[SheetField], book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Yield the fields of a group; a measurement, which is a block of its own, comes last."""
    if group:
        yield f"{group}:"
    indent = "  " if group else ""
    blocks: dict[str, list[SheetField]] = {}
    for field in rows:
        name = field.path.removeprefix(f"{group}.") if group else field.path
        if "." in name:
            blocks.setdefault(name.partition(".")[0], []).append(field)
        else:
            yield from _lines(indent, name, field, book, catalog)
    for name, inner in blocks.items():
        yield from block_line(indent, name, inner, book, catalog)


def _lines(
    indent: str, name: str, field: SheetField, book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Yield a field, and below it what it means, what is taken meanwhile, how to find it out."""
    fact = stated(field, book)
    if fact is not None:
        yield f"{indent}{name}: {one_line(value_text(fact, field))}"
        return
    fact = book.facts.get(field.fact)
    yield f"{indent}# {name}: {example(fact, field, catalog)}"
    yield from _wrapped(_comment(fact, field, catalog), f"{indent}#     ")


def _wrapped(text: str, lead: str) -> Iterator[str]:
    return iter(textwrap.wrap(text, _WIDTH, initial_indent=lead, subsequent_indent=lead))


def _comment(fact: Fact | None, field: SheetField, catalog: Catalog) -> str:
    info = catalog.facts[field.fact]
    parts = [info.title]
    if field.catalogue is not None:
        parts.append(f"one of {', '.join(names_of(catalog.category(field.catalogue)))}")
    elif field.choices:
        parts.append(f"one of {', '.join(field.choices)}")
    band = band_of(fact)
    if band is not None and band.low != band.high and field.type == "number":
        parts.append(f"taken as {band.low:.3g} to {band.high:.3g}")
    if info.measure:
        parts.append(info.measure)
    return one_line("; ".join(parts))
