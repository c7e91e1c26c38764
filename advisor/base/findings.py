"""What is found and told: levels, events of the readers, findings and fixes, files not used."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import field

from advisor.base.errors import AdvisorError, Span
from advisor.base.record import frozen

__all__ = ["Event", "FileStatus", "Finding", "Fix", "Level", "Reason"]


class Level(enum.StrEnum):
    """How bad a finding is: the three levels of the SARIF standard."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """3 for an error, 2 for a warning, 1 for a note."""
        return {"error": 3, "warning": 2, "note": 1}[self.value]


@frozen
class Event:
    """Something the reader or the intake noticed in a text, to be judged by the rulebook.

    ``kind`` is a word of rules/events.yaml; ``fields`` fill the placeholders of the rule's
    message; ``fact`` names the fact the text would have stated, if any.
    """

    kind: str
    at: Span
    fields: Mapping[str, str] = field(default_factory=dict)
    fact: str | None = None
    extruder: str | None = None


@frozen
class Fix:
    """One change of one setting; `old` None means that the setting is inserted."""

    setting: str
    new: str
    old: str | None
    at: Span | None
    section: str | None = None


@frozen
class Finding:
    """One thing to tell the owner."""

    rule: str
    level: Level
    stage: str
    message: str
    title: str = ""
    extruder: str | None = None
    sure: float = 1.0
    at: Span | None = None
    fix: Fix | None = None
    advice: str | None = None  # an instruction where there is no edit
    why: str = ""
    caution: str | None = None
    source: str | None = None
    facts: tuple[str, ...] = ()


@frozen
class Reason:
    """Why a file was not used: the first mistake with its remedy and its place, then the others."""

    problem: str
    at: Span | None = None
    others: tuple[str, ...] = ()

    @classmethod
    def of(cls, error: AdvisorError) -> Reason:
        """Return what an error says."""
        first, *others = str(error).splitlines()
        place = "" if error.at is None else f"{error.at}: "
        return cls(first.removeprefix(place), error.at, tuple(others))

    def __str__(self) -> str:
        place = "" if self.at is None else f"{self.at}: "
        return "\n".join((f"{place}{self.problem}", *self.others))


_NO_REASON = Reason("it could not be read")


@frozen
class FileStatus:
    """A file that was asked for: read, missing or unreadable."""

    path: str
    status: str
    role: str = "config"
    reason: Reason | None = None  # why it was not used, where that is known
    called: str | None = None  # what its owner calls the machine or the test in it

    @property
    def not_used(self) -> str:
        """That it was not used, with all that is wrong in it."""
        return f"{self.path} was not used: {self.reason or _NO_REASON}"

    @property
    def not_used_briefly(self) -> str:
        """That it was not used, with the line of the first mistake and how many there are more."""
        reason = self.reason or _NO_REASON
        here = reason.at is not None and reason.at.file == self.path
        place = (
            "" if reason.at is None else f"line {reason.at.line}: " if here else f"{reason.at}: "
        )
        rest = f" (and {len(reason.others)} more)" if reason.others else ""
        return f"{self.path} was not used: {place}{reason.problem}{rest}"
