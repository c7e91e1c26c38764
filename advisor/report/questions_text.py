"""Writes the questions of the hardware sheet in short lines: what, how to find out, what it takes.

It reads no answer and decides nothing; see the command.
"""

from __future__ import annotations

from collections.abc import Sequence
from shlex import quote as quoted

from advisor.answers import Interview, Question
from advisor.base import InputError
from advisor.report.clean import plain
from advisor.report.look import Look
from advisor.report.numbers import figure, ranged, share, unit_words
from advisor.report.page import Page, wrapped

__all__ = ["TITLE", "ask_more", "closing", "heading", "help_text", "opening", "prompt",
           "question_text", "refusal", "standing", "write_choices"]  # fmt: skip

TITLE = "Hardware sheet"  # begins the comment of every sheet we write

OPEN = "[not known]"
_KEYS = "Enter leaves it open   ? more   b back   q stop and write the sheet"
_CARE = (
    "Measure with the machine off, unplugged and cold, unless it says hot: then the hot end, the "
    "heater block and the motor burn. Leave mains wiring to those licensed for it."
)


def opening(look: Look) -> str:
    """Return what is said before the first question."""
    page = Page(look, written=True)
    _write(page, "What narrows the answer most is asked first. A figure may be a band, such as "
                 "0.09..0.14 N m.")  # fmt: skip
    _write(page, _CARE)
    page.row((_KEYS, ""))
    return page.render()


def standing(interview: Interview, look: Look) -> str:
    """Return the two answers as they stand."""
    page = Page(look, written=True)
    capacity, current = interview.capacity, interview.current
    if capacity is not None:
        page.entry("capacity", ranged(capacity, "mm3/s"))
    if current is not None:
        page.entry("current", f"up to {ranged(current, 'A rms')} for the motor")
    return page.render()


def question_text(question: Question, number: int, look: Look) -> str:
    """Return a question but for its prompt."""
    page = Page(look, written=True)
    page.entry(str(number), f"{question.title} ({question.path})")
    if question.share is not None:
        page.entry("", _explains(question))
    page.entry("find out", question.find)
    write_choices(page, question.choices)
    return "\n" + page.render()


def write_choices(page: Page, choices: Sequence[tuple[str, str]]) -> None:
    """Write what may be answered: number, name and what it means."""
    width = max((len(name) for name, _ in choices), default=0)
    for place, (name, title) in enumerate(choices, 1):
        first, *further = wrapped(title, page.look.width - width - 7) or [""]
        page.row((f"{place:4} {name:{width}}  {first}".rstrip(), ""))
        for line in further:
            page.row((" " * (width + 7) + line, ""))


def refusal(error: InputError, look: Look) -> str:
    """Return why an answer cannot be, in one sentence."""
    page = Page(look, written=True)
    _write(page, str(error))
    return page.render()


def prompt(question: Question) -> str:
    """Return what stands before the answer; the brackets say what Enter means."""
    if question.choices:
        return f"name or number {OPEN}: "
    if len(question.fields) > 1:
        names = [field.path.rpartition(".")[2] for field in question.fields]
        return f"{', '.join(names)} {OPEN}: "
    field = question.fields[0]
    if field.count:
        return f"a whole number {OPEN}: "
    unit = unit_words(field.unit.removesuffix(" rms"))
    example = f", such as {_value(question)}{unit}" if _value(question) else ""
    return f"in{unit}{example} {OPEN}: " if unit else f"a number{example} {OPEN}: "


def help_text(question: Question, look: Look) -> str:
    """Return what `?` shows: the longer way to find out, what is taken meanwhile, the bounds."""
    page = Page(look, written=True)
    if question.more:
        page.entry("how", question.more)
    page.entry("meanwhile", _meanwhile(question))
    for field in question.fields:
        name = f"{field.path.rpartition('.')[2]}: " if len(question.fields) > 1 else ""
        if words := _takes(field.above, field.at_least, field.at_most):
            page.entry("takes", f"{name}{words}")
        elif len(question.fields) > 1:
            page.entry("takes", f"{name}{', '.join(field.choices) or 'a name'}")
    left_out = [field.path.rpartition(".")[2] for field in question.fields[question.needed :]]
    if left_out:
        page.entry("", f"may be left out at the end: {', '.join(left_out)}")
    page.row((_KEYS, ""))
    return page.render()


def ask_more(left: Sequence[Question], look: Look) -> str:
    """Return what is said where the first questions are through."""
    page = Page(look, written=True)
    page.row()
    weighty = [question.title for question in left if question.weighty]
    if weighty:
        page.entry("left", f"{len(left)} more; these count most: {', '.join(weighty[:3])}")
    else:
        page.entry("left", f"{len(left)} more, each explains little")
    return page.render()


def heading(config: str, interview: Interview, look: Look) -> list[str]:
    """Return the comment that opens the sheet."""
    page = Page(look)
    _write(page, f"{TITLE} for {config}")
    _write(page, "From the answers to: feedwright sheet --interactive. Numbers carry their unit.")
    if interview.left_open:
        _write(page, f"Not known yet: {', '.join(interview.left_open)}.")
    return page.render().splitlines()


def closing(config: str, interview: Interview, out: str | None, look: Look) -> str:
    """Return what is said after the last question."""
    page = Page(look, written=True)
    count = len(interview.answers)
    answers = f"{count} value{'' if count == 1 else 's'} from your answers"
    page.entry("sheet", f"{answers}, written to {out or 'stdout'}")
    name = quoted(out) if out else "FILE"
    page.entry("next", f"feedwright lint {quoted(config)} --sheet {name}")
    return page.render()


def _write(page: Page, text: str) -> None:
    for line in wrapped(plain(text), page.look.width - 2):
        page.row((line, ""))


def _explains(question: Question) -> str:
    target = "current" if question.for_current else "capacity"
    upto = "up to " if question.is_class else ""
    part = share(question.share or 0.0)
    return f"explains {upto}{part} of the remaining uncertainty of the {target}"


def _value(question: Question) -> str:
    return "" if question.taken is None else figure(question.taken.value)


def _meanwhile(question: Question) -> str:
    taken, word = question.taken, question.taken_word
    if word == "unstated":
        return "taken as unknown: a wide range"
    if word is not None:
        return f"taken as {word}"
    if taken is None:
        return "nothing is taken for it"
    unit = unit_words(question.fields[0].unit)
    if taken.low == taken.high:
        return f"taken as {figure(taken.value)}{unit}"
    return f"taken as {ranged(taken, question.fields[0].unit)}"


def _takes(
    above: tuple[float, str] | None,
    at_least: tuple[float, str] | None,
    at_most: tuple[float, str] | None,
) -> str:
    ends = (("above", above), ("at least", at_least), ("at most", at_most))
    return ", ".join(f"{words} {bound[1]}" for words, bound in ends if bound is not None)
