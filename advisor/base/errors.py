"""The exceptions of Feedwright, drawn as a tree; it does not decide exit codes of findings.

::

    AdvisorError            anything we can say in one sentence: place, thing, problem, remedy
    |-- UsageError          the command line asks for something that cannot be (exit code 2)
    `-- InputError          something given could not be read or understood (exit code 3)
        |-- UnreadableError a file that cannot be opened, is no text, or is too large
        |-- SheetError      a hardware sheet with an unknown field, a wrong unit, a bad value
        |-- ProfileError    a slicer profile that is not in a shape we read
        |-- PrintError      a sliced print that is not G-code we read
        |-- WeighError      a weighed test that cannot be evaluated
        |-- MendError       edits that cannot be made, or could not be written
        |-- DataError       a file of our own under rules/ or grammars/ with a mistake in it
        `-- Mistakes        several mistakes of one file; SheetMistakes, WeighMistakes are kinds

Every exception keeps its parts as attributes and builds its sentence late.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Self

from advisor.base.budgets import LONGEST_HINTED, MISTAKES
from advisor.base.record import frozen

__all__ = [
    "AdvisorError",
    "DataError",
    "InputError",
    "MendError",
    "Mistakes",
    "PrintError",
    "ProfileError",
    "SheetError",
    "Span",
    "UnreadableError",
    "UsageError",
    "WeighError",
    "near_miss",
]


@frozen
class Span:
    """A place in a file; lines and columns count from 1, `end_column` is one past the end."""

    file: str
    line: int
    column: int = 1
    end_column: int | None = None

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class AdvisorError(Exception):
    """Base of all errors we raise on purpose.

    Parameters
    ----------
    problem : str
        What is wrong, quoting the user's own text.
    remedy : str, optional
        What to do about it, in the imperative.
    at : Span, optional
        Where it is.
    """

    exit_code = 3

    def __init__(self, problem: str, remedy: str | None = None, at: Span | None = None) -> None:
        super().__init__(problem, remedy, at)
        self.problem = problem
        self.remedy = remedy
        self.at = at

    @property
    def place(self) -> str | None:
        """Where it is, as ``file:line:column``; None where it is in no file."""
        return None if self.at is None else str(self.at)

    @property
    def thing(self) -> str | None:
        """The user's own text or name that the problem quotes; None where it quotes none."""
        found = re.search(r"'([^']+)'", self.problem)
        return found[1] if found else None

    def __str__(self) -> str:
        place = f"{self.at}: " if self.at is not None else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return f"{place}{self.problem}{remedy}"


class UsageError(AdvisorError):
    """The command line asks for something that cannot be."""

    exit_code = 2


class InputError(AdvisorError):
    """Something given to us could not be read or understood."""


class UnreadableError(InputError):
    """A file that cannot be opened, is no text, or is too large."""


class SheetError(InputError):
    """A hardware sheet with an unknown field, a wrong unit or a bad value."""


class ProfileError(InputError):
    """A slicer profile that is not in a shape we read."""


class PrintError(InputError):
    """A sliced print that is not G-code we read."""


class WeighError(InputError):
    """A weighed test that cannot be evaluated."""


class MendError(InputError):
    """Edits that cannot be made together, or a file that cannot be written safely."""


class DataError(InputError):
    """A mistake in a data file of our own under rules/ or grammars/."""


class Mistakes(InputError):
    """Several mistakes of one file; `mistakes` holds each, by its place."""

    def __init__(self, mistakes: Sequence[InputError]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=_place))
        first = self.mistakes[0]
        super().__init__(first.problem, first.remedy, first.at)

    @classmethod
    def of(cls, mistakes: Sequence[InputError]) -> InputError:
        """Return the error to raise: a single mistake is told as itself."""
        return mistakes[0] if len(mistakes) == 1 else cls(mistakes)

    def __str__(self) -> str:
        lines = [str(mistake) for mistake in self.mistakes[:MISTAKES]]
        if len(self.mistakes) > MISTAKES:
            lines.append(f"and {len(self.mistakes) - MISTAKES} more mistakes in it")
        return "\n".join(lines)

    def __reduce__(self) -> tuple[type[Self], tuple[tuple[InputError, ...]]]:
        return type(self), (self.mistakes,)


def _place(mistake: InputError) -> tuple[str, int, int]:
    at = mistake.at
    return (at.file, at.line, at.column) if at is not None else ("", 0, 0)


def near_miss(word: str, known: Iterable[str]) -> str:
    """Return ``"; did you mean 'x'?"`` for the closest known word, or an empty string."""
    if len(word) > LONGEST_HINTED:
        return ""
    import difflib  # late: most runs name nothing wrong

    close = difflib.get_close_matches(word.lower(), sorted(known), n=1, cutoff=0.6)
    return f"did you mean '{close[0]}'?" if close else ""
