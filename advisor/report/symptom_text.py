"""Writes the questions on a symptom in short lines: question, choices, what it may be so far.

It reads no answer and decides nothing; see the command.
"""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers import CauseLine, DiagnoseReport, SymptomQuestion
from advisor.base import NextStep
from advisor.report.answer_notes import write_command
from advisor.report.clean import cell_width
from advisor.report.diagnose_text import look_words, odds_words
from advisor.report.look import Look
from advisor.report.numbers import unit_words
from advisor.report.page import LABEL, Page
from advisor.report.questions_text import refusal, write_choices

__all__ = ["ask_more", "closing", "help_text", "opening", "prompt", "question_text", "refusal",
           "standing"]  # fmt: skip

OPEN = "[do not know]"
_KEYS = "Enter: do not know   ? more   b back   q stop and show what is known"


def opening(look: Look) -> str:
    """Return what is said before the first question."""
    page = Page(look, written=True)
    page.row(("Answer with a number, or as you would say it.", ""))
    page.row((_KEYS, ""))
    return page.render()


def standing(lines: Sequence[CauseLine], look: Look) -> str:
    """Return the leading causes in one line, as many as it holds; nothing where there are none."""
    page = Page(look, written=True)
    told = ""
    for line in lines:
        more = f" (+{len(line.causes) - 1})" if len(line.causes) > 1 else ""
        odds = odds_words(line.odds).removeprefix("about ")
        one = f"{odds}: {line.together or line.causes[0].title + more}"
        longer = f"{told}; {one}" if told else one
        if told and cell_width(longer) > look.width - LABEL:
            break
        told = longer
    if told:
        page.entry("so far", told)
    return page.render()


def question_text(question: SymptomQuestion, number: int, look: Look) -> str:
    """Return a question but for its prompt."""
    page = Page(look, written=True)
    page.entry(str(number), question.text)
    if told := _how(question):
        page.entry("", told)
    write_choices(page, question.choices)
    return "\n" + page.render()


def _how(question: SymptomQuestion) -> str:
    return question.find or (look_words(question.ask) if question.ask else "")


def prompt(question: SymptomQuestion) -> str:
    """Return what stands before the answer; the brackets say what Enter means."""
    if question.choices:
        return f"{'numbers' if question.several else 'number'} {OPEN}: "
    return f"in{unit_words(question.unit)}, such as {question.such} {OPEN}: "


def help_text(question: SymptomQuestion, look: Look) -> str:
    """Return what `?` shows."""
    page = Page(look, written=True)
    if told := _how(question):
        page.entry("how", told)
    if question.shift is not None:
        tens = round(10 * question.shift)
        moves = f"about {tens} in 10" if tens else "under 1 in 10"
        page.entry("why", f"the answer is expected to move {moves} of the odds")
    page.row((_KEYS, ""))
    return page.render()


def ask_more(left: Sequence[SymptomQuestion], look: Look) -> str:
    """Return what is said where the first questions are through."""
    page = Page(look, written=True)
    page.row()
    weighty = sum(question.weighty for question in left)
    told = f"{weighty} more that may tell" if weighty else f"{len(left)} more, each tells little"
    page.entry("left", told)
    return page.render()


def closing(report: DiagnoseReport, look: Look) -> str:
    """Return the command line that gives the answer again."""
    page = Page(look, written=True)
    page.row()
    page.entry("again", "this command gives the answer without the questions:")
    write_command(page, NextStep("", tuple(report.command)))
    return page.render()
