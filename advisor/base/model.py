"""The records that flow through the program, all frozen; it computes nothing.

text -> document -> facts -> limits -> findings -> edits -> report: each arrow hands on
records of this module, so that every part can be used and tested alone.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import NamedTuple

from advisor.base.errors import AdvisorError
from advisor.base.number import Band, Number, Quantity, Raw, Value, value_of
from advisor.base.places import Span
from advisor.base.record import frozen

__all__ = [
    "BOUNDING",
    "LIMITS",
    "WEIGHED",
    "Band",
    "Case",
    "Event",
    "ExtruderReport",
    "Fact",
    "Figure",
    "Figures",
    "FileStatus",
    "Finding",
    "Fix",
    "LaterSetting",
    "LeftOutTest",
    "Level",
    "LeverGain",
    "LimitBand",
    "MeasureGroup",
    "MeasureInput",
    "MeasureNext",
    "NextStep",
    "Origin",
    "OriginKind",
    "Reason",
    "Report",
    "Span",
    "State",
    "Trace",
    "UsedTest",
    "Weighed",
]


LIMITS = ("torque", "skip", "grip", "slip", "buckling", "melt", "heater")
BOUNDING = ("torque", "grip", "buckling", "melt", "heater")  # the lowest of these is capacity
WEIGHED = "weighed"  # what limits where a test holds the capacity below all of them


class Level(enum.StrEnum):
    """How bad a finding is: the three levels of the SARIF standard."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """3 for an error, 2 for a warning, 1 for a note."""
        return {"error": 3, "warning": 2, "note": 1}[self.value]


class State(enum.StrEnum):
    """What is known of a fact."""

    KNOWN = "known"
    MISSING = "missing"  # nobody states it and there is no default
    UNKNOWN = "unknown"  # not stated in what could be read, and an include is missing
    UNREADABLE = "unreadable"  # stated, but its text is no value


class OriginKind(enum.StrEnum):
    """Where a value comes from."""

    COMMAND = "command"
    SHEET = "sheet"
    PROFILE = "profile"
    CONFIG = "config"
    MEASURED = "measured"
    DEFAULT = "default"  # the firmware applies it when the setting is missing
    CATALOGUE = "catalogue"  # assumed
    DERIVED = "derived"


@frozen
class Origin:
    """Where a value comes from: kind, place, and the cited source of catalogue values."""

    kind: OriginKind
    at: Span | None = None
    source: str | None = None  # "id (status)" of rules/sources.yaml, or a formula in words
    setting: str | None = None  # the input's own key, as the user writes it
    text: str | None = None  # the user's own text of the value


class Trace(NamedTuple):
    """What a fact was made of, and what it hangs on.

    ``assumed`` names the primary inputs it hangs on that nobody stated (catalogue entries of
    hardware and material); ``modelled`` those that are constants of the model itself;
    ``defaulted`` those that are the firmware's defaults.
    """

    inputs: tuple[str, ...] = ()
    formula: str | None = None
    assumed: frozenset[str] = frozenset()
    modelled: frozenset[str] = frozenset()
    defaulted: frozenset[str] = frozenset()

    @classmethod
    def joined(cls, parts: Collection[Fact], formula: str, *, inputs: Iterable[str]) -> Trace:
        """Return the trace of what is made of other facts: it hangs on all they hang on."""
        traces = [part.trace for part in parts]
        return cls(
            inputs=tuple(inputs),
            formula=formula,
            assumed=frozenset().union(*(trace.assumed for trace in traces)),
            modelled=frozenset().union(*(trace.modelled for trace in traces)),
            defaulted=frozenset().union(*(trace.defaulted for trace in traces)),
        )


_NO_TRACE, _DERIVED = Trace(), Origin(OriginKind.DERIVED)


@frozen
class Fact:
    """A named value with unit, spread, origin and trace.

    ``value`` is None unless ``state`` is known; ``home`` is where a missing value would be
    stated: its section's header.
    """

    name: str
    value: Value | None = None
    state: State = State.KNOWN
    origin: Origin = _DERIVED
    trace: Trace = _NO_TRACE
    home: Span | None = None

    @classmethod
    def of(
        cls,
        name: str,
        unit: str,
        raw: Raw | Fact,
        *,
        origin: Origin = _DERIVED,
        trace: Trace = _NO_TRACE,
        home: Span | None = None,
    ) -> Fact:
        """Return the fact of what a reader hands in, in SI units; `unit` is that of a number.

        A fact that is handed in stays what it is.
        """
        if isinstance(raw, Fact):
            return raw
        return cls(name, value_of(raw, unit), origin=origin, trace=trace, home=home)

    def holding(self, si: Quantity) -> Fact:
        """Return the same fact, a number, with other samples: [SI]."""
        unit = "" if self.number is None else self.number.unit
        return dataclasses.replace(self, value=Number(si, unit))

    def traced(self, trace: Trace) -> Fact:
        """Return the same fact with another trace."""
        return dataclasses.replace(self, trace=trace)

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self.state is State.KNOWN

    @property
    def number(self) -> Number | None:
        """Its number; None where it is a word, or not known."""
        return None if self.value is None else self.value.number

    @property
    def nominal(self) -> float | None:
        """The number of the nominal machine, in SI units; None where it has none."""
        number = self.number
        return None if number is None else number.nominal

    @property
    def text(self) -> str | None:
        """Its text; None where it is a number or a flag, or not known."""
        return None if self.value is None else self.value.text

    @property
    def word(self) -> str | bool | None:
        """Its text or flag; None where it is a number, or not known."""
        return None if self.value is None else self.value.word


class Figure:
    """What is known of one fact, in its trade unit: what answers hold and reports show.

    Attributes
    ----------
    name, title, unit : str
        Of rules/facts.yaml; the unit is '-' for a plain number and '' for a word.
    """

    __slots__ = ("_band", "_fact", "name", "title", "unit")

    def __init__(self, fact: Fact, title: str, unit: str) -> None:
        self._fact, self.name, self.title, self.unit = fact, fact.name, title, unit
        self._band: Band | None = None

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self._fact.known

    @property
    def state(self) -> State:
        """What is known of it."""
        return self._fact.state

    @property
    def origin(self) -> Origin:
        """Where it comes from."""
        return self._fact.origin

    @property
    def home(self) -> Span | None:
        """Where a missing value would be stated: its section's header."""
        return self._fact.home

    @property
    def inputs(self) -> tuple[str, ...]:
        """The facts it was worked out from."""
        return self._fact.trace.inputs

    @property
    def formula(self) -> str | None:
        """How it was worked out."""
        return self._fact.trace.formula

    @property
    def assumed(self) -> frozenset[str]:
        """The primary facts it hangs on that nobody stated."""
        return self._fact.trace.assumed

    @property
    def modelled(self) -> frozenset[str]:
        """The constants of the model itself that it hangs on."""
        return self._fact.trace.modelled

    @property
    def defaulted(self) -> frozenset[str]:
        """The settings it hangs on at which the firmware's default holds."""
        return self._fact.trace.defaulted

    @property
    def word(self) -> str | bool | None:
        """Its text or flag; None where it is a number, or not known."""
        return self._fact.word

    @property
    def text(self) -> str | None:
        """Its text; None where it is a number or a flag, or not known."""
        return self._fact.text

    @property
    def said(self) -> str | None:
        """Its text, or its flag as people say it; None where it is a number, or not known."""
        if self.word is True:
            return "yes"
        return "no" if self.word is False else self.word

    @property
    def band(self) -> Band | None:
        """Its number for the typical machine, and the range of 9 in 10 machines like it."""
        if self._band is None and (number := self._fact.number) is not None:
            self._band = number.band()
        return self._band

    @property
    def value(self) -> float | str | bool | None:
        """Its number in `unit`, its text or flag; None where it is not known."""
        return self.word if self.band is None else self.band.value

    @property
    def low(self) -> float | None:
        """The low end of the range, in `unit`; None where it is no number."""
        return None if self.band is None else self.band.low

    @property
    def high(self) -> float | None:
        """The high end of the range, in `unit`; None where it is no number."""
        return None if self.band is None else self.band.high

    def __str__(self) -> str:
        band, unit = self.band, "" if self.unit == "-" else f" {self.unit}"
        if band is None:
            return f"not known ({self.state.value})" if self.word is None else str(self.word)
        return f"{band}{unit}"

    def __repr__(self) -> str:
        return f"<Figure {self.name}: {self}>"


class Figures(Mapping[str, Figure]):
    """The facts of one machine by name, each in its trade unit."""

    __slots__ = ("_figures",)

    def __init__(self, figures: Iterable[Figure] = ()) -> None:
        self._figures = {figure.name: figure for figure in figures}

    def __getitem__(self, name: str) -> Figure:
        return self._figures[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)

    def __repr__(self) -> str:
        return f"<Figures: {len(self)} facts>"


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


@frozen
class LimitBand:
    """A flow limit in mm3/s; None where unknown or beyond the bracket (then `beyond`)."""

    limit: str
    flow: float | None
    low: float | None
    high: float | None
    bottleneck_share: float = 0.0  # share of the ensemble in which this limit is the lowest
    beyond: bool = False  # nominal or high end lies beyond the solver's bracket
    why_unknown: str | None = None


@frozen
class MeasureNext:
    """An assumed input, the share of the capacity's spread it explains, how to measure it."""

    fact: str
    share: float
    title: str
    how: str
    sheet_field: str | None = None


@frozen
class Case:
    """One of a few things that may be built in; the capacity with it and the flow to set, in mm3/s.

    ``field`` of the sheet would be stated as ``name``.
    ``exceeds``: what is asked is more than its typical capacity, ``sure`` in which share of likely
    machines; None where nothing is asked.
    """

    field: str
    name: str
    capacity: Band
    set_to: float | None = None
    exceeds: bool | None = None
    sure: float | None = None


@frozen
class NextStep:
    """What to do next in words, and the command for it without the program's name."""

    words: str
    arguments: tuple[str, ...]


@frozen
class LeverGain:
    """One thing changed on the typical machine: its capacity then in mm3/s, and the factor.

    ``now`` and ``to`` are what it is and would be, in the trade unit of the fact; ``assumed``:
    nobody states what it is now.
    """

    fact: str
    words: str
    now: float
    to: float
    unit: str
    assumed: bool
    capacity: float
    factor: float

    @property
    def gain(self) -> float:
        """What it adds to the capacity, in mm3/s."""
        return self.capacity - self.capacity / self.factor


@frozen
class MeasureInput:
    """One input that a measurement would settle, and its share of what is open."""

    fact: str
    share: float
    title: str
    sheet_field: str | None = None


@frozen
class MeasureGroup:
    """One kind of measurement: what it would settle of the capacity's spread, and how it is made.

    The shares of all groups add up to 1; `inputs` are the leading ones, the largest first.
    """

    group: str
    title: str
    share: float
    inputs: tuple[MeasureInput, ...]
    how: str


@frozen
class UsedTest:
    """A weighed test, or a skip test, whose result was taken in.

    ``date`` and ``roll`` are what its table says; ``kept``: it lay in the folder of kept tests;
    ``other_roll``: it was done with another roll than the one asked about, and counts for less.
    """

    file: str
    name: str
    date: str | None = None  # 2026-05-12
    roll: str | None = None
    kept: bool = False
    other_roll: bool = False
    kind: str = "weighed"  # or skip


@frozen
class LeftOutTest:
    """A weighed test of the folder that was not taken in, and why; ``broken``: it is no test.

    ``other_kind``: it is a test of another kind, which is used where it is named.
    """

    file: str
    name: str
    reason: str
    broken: bool = False
    other_kind: bool = False


@frozen
class Weighed:
    """What weighed tests and skip tests made of an extruder's capacity, in mm3/s.

    ``narrower`` is the part of the capacity's band that is gone, ``fits`` the share of the
    plausible machines that explain the tests. A ``contradiction`` means that next to none does:
    then nothing was narrowed, and ``causes`` says why that may be.
    """

    files: tuple[str, ...]
    before: Band | None = None
    after: Band | None = None
    narrower: float | None = None
    fits: float | None = None
    contradiction: str | None = None
    causes: tuple[str, ...] = ()
    names: tuple[str, ...] = ()  # what the tables call their tests; else their files
    tests: tuple[UsedTest, ...] = ()  # the oldest first; none where all are left out
    left_out: tuple[LeftOutTest, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether a test was taken in, and the machine as stated explains it."""
        return bool(self.files) and self.contradiction is None


@frozen
class ExtruderReport:
    """What was worked out for one extruder."""

    name: str
    facts: Mapping[str, Figure]
    limits: tuple[LimitBand, ...]
    bottleneck: str | None
    level_with: tuple[str, ...] = ()  # limits within 15 % of the bottleneck
    measure_next: tuple[MeasureGroup, ...] = ()
    gains: tuple[LeverGain, ...] = ()  # the largest first
    cases: tuple[Case, ...] = ()  # where one unknown of a few classes decides
    next: NextStep | None = None  # what would narrow the capacity most
    config: str | None = None  # the root config it stands in, as the user gave the path
    called: str | None = None  # what the machine's sheet calls it
    weighed: Weighed | None = None


@frozen
class LaterSetting:
    """What macros or start code set when they run, in place of what the config states.

    ``values`` are all that are set, in the fact's trade unit, smallest first; ``macros`` set them,
    and ``at`` is the first place. ``extruder`` is the section that is named, if one is. ``kept``:
    no command sets it, a variable of the macro holds it. ``profile``: it is the slicer profile's
    start code, and ``macros`` are its settings.
    """

    fact: str
    title: str
    unit: str
    values: tuple[float, ...]
    macros: tuple[str, ...]
    at: Span
    extruder: str | None = None
    kept: bool = False
    profile: bool = False


@frozen
class Report:
    """All that a command has to say; renderers turn it into text, JSON or SARIF."""

    files: tuple[FileStatus, ...] = ()
    extruders: Sequence[ExtruderReport] = ()
    findings: tuple[Finding, ...] = ()
    errors: tuple[str, ...] = ()  # sentences about what could not be read
    allowed: tuple[Finding, ...] = ()  # held back, for the owner allows them
    draws: int | None = None  # likely machines behind the bands; None: as many as usual
    unread_moves: int = 0  # moves of filament in macros that are only known when they run
    later: tuple[LaterSetting, ...] = ()  # what macros set in place of the config
    copies: tuple[str, ...] = ()  # dated copies in folders, left out

    def count(self, level: Level) -> int:
        """Return how many findings have this level."""
        return sum(finding.level is level for finding in self.findings)
