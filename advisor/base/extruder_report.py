"""What is worked out for an extruder, and all that a command has to say of a config.

An answer holds all that can be told of each extruder; most commands look at a part of it, or at one
extruder. So `OnDemand` makes an item when it is first looked at. What makes an item must hang on
nothing that changes: when it is called makes no difference to what it gives.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Generic, TypeVar, overload

from advisor.base.errors import Span
from advisor.base.facts import Figure
from advisor.base.findings import FileStatus, Finding, Level
from advisor.base.number import Band
from advisor.base.record import frozen

__all__ = [
    "BOUNDING",
    "LIMITS",
    "WEIGHED",
    "Case",
    "ExtruderReport",
    "LaterSetting",
    "LeftOutTest",
    "LeverGain",
    "LimitBand",
    "MeasureGroup",
    "MeasureInput",
    "MeasureNext",
    "NextStep",
    "OnDemand",
    "Report",
    "UsedTest",
    "Weighed",
]

_T = TypeVar("_T")
LIMITS = ("torque", "skip", "grip", "slip", "buckling", "melt", "heater")
BOUNDING = ("torque", "grip", "buckling", "melt", "heater")  # the lowest of these is capacity
WEIGHED = "weighed"  # what limits where a test holds the capacity below all of them


class OnDemand(Sequence[_T], Generic[_T]):
    """Items by what makes them, each made once; equal to any sequence of equal items.

    Parameters
    ----------
    makers : iterable of callable
        What makes each of the items.
    """

    __slots__ = ("_made", "_makers")

    def __init__(self, makers: Iterable[Callable[[], _T]]) -> None:
        self._makers = tuple(makers)
        self._made: dict[int, _T] = {}

    @overload
    def __getitem__(self, at: int) -> _T: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[_T, ...]: ...
    def __getitem__(self, at: int | slice) -> _T | tuple[_T, ...]:
        places = range(len(self._makers))[at]
        if isinstance(places, range):
            return tuple(self._item(place) for place in places)
        return self._item(places)

    def _item(self, place: int) -> _T:
        if place not in self._made:
            self._made[place] = self._makers[place]()
        return self._made[place]

    def __len__(self) -> int:
        return len(self._makers)

    def __eq__(self, other: object) -> bool:
        return tuple(self) == tuple(other) if isinstance(other, Sequence) else NotImplemented

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"<{len(self)} items, {len(self._made)} of them made>"


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
