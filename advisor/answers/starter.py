"""Writes a commented starter hardware sheet: what is known filled in, what matters most first.

The text is a hardware sheet that our own reader takes as it stands. Nothing is assumed in it: a
value nobody stated is a comment, with what is taken meanwhile and how to find it out.

The short sheet fits a screen: what matters most first, a line a field; what the answer does not
hang on is left out. The long sheet has it all.
"""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Iterable, Iterator, Sequence

from advisor.answers.asks import Asks
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.questions import Question, open_questions
from advisor.answers.sheet_text import value_of
from advisor.base import Fact, OriginKind, UnreadableError, UsageError, frozen
from advisor.catalog import Catalog, Entry, load_catalog
from advisor.inputs import SheetField, load_fields
from advisor.machine import FactBook, band_of, measure_next

__all__ = [
    "SCREEN",
    "block_line",
    "brief_lines",
    "example",
    "names_of",
    "one_line",
    "starter_sheet",
    "stated",
    "value_text",
    "whole_lines",
]

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
SCREEN = 40
_WIDTH = 80
_HEAD = (
    "# Save as hardware.yaml beside the config. Take the first '#' off a line and put",
    "# in what you know, what matters most first. A band will do: 0.09..0.14 N m.",
)
_LEAST_COMMENT = 12  # columns below which a comment says nothing
_INTRODUCTION = (
    "Save it as hardware.yaml beside the config. Take the '#' off a line and put in what you know; "
    "leave the rest. Numbers carry their unit; a figure you are not sure of may be a band, such as "
    "0.09..0.14 N m."
)


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


@frozen
class _Line:
    """A line of the sheet: the group it stands under (empty: the top), its text."""

    group: str
    text: str


def whole_lines(called: str | None, others: Sequence[str]) -> list[str]:
    """Return the lines on the sheet as a whole: its name, and what only one extruder has.

    Parameters
    ----------
    called : str or None
        What the owner calls the machine already.
    others : sequence of str
        The sections of the config's other extruders.
    """
    name = "# name: Bench one  # shown instead of the file's name"
    lines = [name if called is None else f"name: {value_of(called)}"]
    if others:
        example = f"{{{value_of(others[0])}: {{hotend: {{class: long}}}}}}"
        lines.append(f"# extruders: {example}  # what only this one has")
    return lines


def brief_lines(
    config: str, book: FactBook, catalog: Catalog, whole: Sequence[str] = ()
) -> list[str]:
    """Return the lines of a sheet of at most `SCREEN` lines, where what is stated leaves room.

    Parameters
    ----------
    config : str
        How the config is called, for the first line.
    book : FactBook
        The facts of the extruder.
    catalog : Catalog
        Classes and vocabulary.
    whole : sequence of str
        Lines on the sheet as a whole.
    """
    shown = config if config != "-" else "standard input"
    head = [f"# Hardware sheet for {one_line(shown)}", *_HEAD]
    kept = list(_stated_lines(book, catalog))
    questions = [x for x in open_questions(book, catalog, ()) if x.weighty or not _absent(x)]
    asked = [_asked_line(question, book, catalog) for question in questions]
    room = SCREEN - len(head) - len(whole) - 1
    while asked and _height(kept, asked) > room:
        asked.pop()
    left = len(questions) - len(asked)
    more = f"{left} more that matter{'s' if left == 1 else ''} less" if left else "Every field"
    end = f"# {more}, and how to find each out: sheet CONFIG --full"
    return [*head, *_grouped(kept, asked), *whole, end]


def _absent(question: Question) -> bool:
    """Whether what is taken meanwhile is that there is none of it: no tube, no bend."""
    return question.taken is not None and question.taken.value == 0.0


def _height(kept: Sequence[_Line], asked: Sequence[_Line]) -> int:
    return len(_grouped(kept, asked))


def _grouped(kept: Sequence[_Line], asked: Sequence[_Line]) -> list[str]:
    """Return the lines under their groups, the group with the first question first."""
    groups = dict.fromkeys(line.group for line in (*asked, *kept))
    lines: list[str] = []
    for group in sorted(groups, key=lambda name: name == ""):  # the top comes last
        lines += [f"{group}:"] if group else []
        lines += [line.text for line in (*kept, *asked) if line.group == group]
    return lines


def _stated_lines(book: FactBook, catalog: Catalog) -> list[_Line]:
    """Return what the owner states already; a measurement is one line."""
    fields = load_fields()
    lines, blocks = [], {}
    for path, field in fields.fields.items():
        fact = stated(field, book)
        if fact is None:
            continue
        group, name = _placed(path)
        if "." in name:
            blocks[f"{group}.{name.partition('.')[0]}"] = (group, name.partition(".")[0])
            continue
        indent = "  " if group else ""
        lines.append(_Line(group, f"{indent}{name}: {one_line(value_text(fact, field))}"))
    for block, (group, name) in blocks.items():
        inner = [f for path, f in fields.fields.items() if path.startswith(f"{block}.")]
        lines += [_Line(group, text) for text in block_line("  ", name, inner, book, catalog)]
    return lines


def _placed(path: str) -> tuple[str, str]:
    """Return the group of a field and its name in it."""
    group, dot, name = path.partition(".")
    return (group, name) if dot else ("", path)


def _asked_line(question: Question, book: FactBook, catalog: Catalog) -> _Line:
    group, name = _placed(question.path)
    indent = "  " if group else ""
    if len(question.fields) > 1 or question.path not in load_fields().fields:
        (text,) = block_line(indent, name, question.fields[: question.needed], book, catalog)
        return _Line(group, text)
    field = question.fields[0]
    value = example(book.facts.get(field.fact), field, catalog)
    text = f"{indent}# {name}: {value}"
    return _Line(group, _with_comment(text, _comments(question, field, book, catalog)))


def _with_comment(text: str, parts: Sequence[str]) -> str:
    """Return a line with as many of the comments as fit behind it."""
    room = _WIDTH - len(text) - 4
    words = ""
    for part in parts:
        longer = f"{words}; {part}" if words else part
        if len(longer) <= room:
            words = longer
    return f"{text}  # {words}" if words and room >= _LEAST_COMMENT else text


def _comments(question: Question, field: SheetField, book: FactBook, catalog: Catalog) -> list[str]:
    """Return what is said of a field, what matters most first."""
    parts = []
    if field.catalogue is not None:
        parts.append(", ".join(names_of(catalog.category(field.catalogue))))
    elif field.choices:
        parts.append(", ".join(field.choices))
    if question.share is not None and question.weighty:
        of = " of the current" if question.for_current else ""
        parts.append(f"explains {100.0 * question.share:.0f} %{of}")
    parts.append(question.title)
    band = band_of(book.facts.get(field.fact))
    if band is not None and band.low != band.high and field.type == "number":
        parts.append(f"taken as {band.low:.3g}-{band.high:.3g}")
    parts.append(question.find)
    return [one_line(part) for part in parts]


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
