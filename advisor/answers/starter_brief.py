"""A starter sheet that fits a screen: what matters most first, a line a field.

What the answer does not hang on is left out; the long sheet has it all (see `starter`).
"""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers.questions import Question, open_questions
from advisor.answers.sheet_text import value_of
from advisor.answers.starter_values import (
    block_line,
    example,
    names_of,
    one_line,
    stated,
    value_text,
)
from advisor.base import frozen
from advisor.catalog import Catalog
from advisor.inputs import SheetField, load_fields
from advisor.machine import FactBook, band_of

__all__ = ["SCREEN", "brief_lines", "whole_lines"]

SCREEN = 40
_WIDTH = 80
_HEAD = (
    "# Save as hardware.yaml beside the config. Take the first '#' off a line and put",
    "# in what you know, what matters most first. A band will do: 0.09..0.14 N m.",
)
_LEAST_COMMENT = 12  # columns below which a comment says nothing


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
