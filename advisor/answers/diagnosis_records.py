"""What `diagnose` answers, as frozen records; it computes nothing.

Odds are shares from 0 to 1. Flows are in mm3/s, lengths in mm, temperatures in degC.
"""

from __future__ import annotations

from advisor.base import Band, FileStatus, Weighed, frozen

__all__ = [
    "CauseLine", "CauseOdds", "CurrentDoubt", "DiagnoseReport", "FedLength", "NextTest",
    "OutcomeMeaning", "SeenWords",
]  # fmt: skip


@frozen(kw_only=True)
class CauseOdds:
    """A cause with its odds: alone, or one of two that met.

    ``remedy`` is empty while something else has to be done first (`DiagnoseReport.first_of_all`).
    """

    name: str
    family: str
    title: str
    odds: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    remedy: str
    cautions: tuple[str, ...]
    confirm: str  # the test that settles it
    withheld: bool = False  # the usual remedy is not told, as it could do harm here

    @property
    def caution(self) -> str:
        """The cautions in one text."""
        return " ".join(self.cautions)


@frozen(kw_only=True)
class CauseLine:
    """A line that is told: a cause, or several of one family that nothing parts."""

    causes: tuple[CauseOdds, ...]
    odds: float  # of all of them
    together: str | None = None  # what they are told as, where they are many

    @property
    def name(self) -> str:
        """The likeliest one's name."""
        return self.causes[0].name

    @property
    def family(self) -> str:
        """Their family."""
        return self.causes[0].family


@frozen
class OutcomeMeaning:
    """An outcome of a test, as `--did` takes it, and what it would mean."""

    word: str
    meaning: str
    odds: float  # chance of it


@frozen(kw_only=True)
class NextTest:
    """The test to do next."""

    name: str
    title: str
    do: str
    risk: int  # 0 look, 1 touch nothing hot, 2 the machine runs, 3 open it, or power off
    minutes: float
    reads: str | None  # the option that reports what is measured; None: --did
    look: str | None  # what it looks for, where it takes nothing away
    outcomes: tuple[OutcomeMeaning, ...]
    cautions: tuple[str, ...]


@frozen(kw_only=True)
class CurrentDoubt:
    """The driver may not give the current that is set, by the case's temperature.

    Shares of the set current for 9 in 10 machines like this one, mounting included: no current to
    set. ``told``: whether the ends lie so far off that it is told.
    """

    low: float
    high: float
    told: bool
    above: bool


@frozen(kw_only=True)
class FedLength:
    """What a fed length says of the rotation distance, if nothing slips."""

    asked: float  # mm
    came: float  # mm
    where: str | None  # free | nozzle
    rotation_distance: Band | None  # mm, that would be right
    pairs: tuple[str, ...]  # "50:10 is set, 50:17 would explain it"
    slips: bool  # a slow feed may slip on this machine: ratio and slip cannot be told apart


@frozen
class SeenWords:
    """The words for what is seen, and the circumstances: name, title, what to look at, aliases."""

    words: tuple[tuple[str, str, str, tuple[str, ...]], ...]
    whens: tuple[tuple[str, str, str, tuple[str, ...]], ...]


@frozen(kw_only=True)
class DiagnoseReport:
    """Answer of `diagnose`: causes of what is seen, and the test that tells them apart."""

    extruder: str | None
    config: str = ""
    said: tuple[str, ...] = ()  # what counted, in words
    ask: tuple[str, ...] = ()  # what to look at, where a word may mean two things
    causes: tuple[CauseOdds, ...] = ()  # all, likeliest first but for that of the likeliest line
    shown: tuple[CauseLine, ...] = ()
    pair: tuple[str, str] | None = None  # two causes that together explain more than any alone
    unexplained: float = 0.0
    only_common: bool = False
    as_expected: bool = False  # readings alone, and a sound machine gives them as well
    rough: bool = False  # too few machines showed all of it, however many were drawn
    redrawn: int = 1  # how often machines were drawn
    first_of_all: str | None = None
    next_test: NextTest | None = None
    settled: bool = False
    current: CurrentDoubt | None = None
    fed: FedLength | None = None
    command: tuple[str, ...] = ()  # the words that ask it again
    notes: tuple[str, ...] = ()  # what cannot be told apart by what was measured
    lacking: tuple[str, ...] = ()
    weighed: Weighed | None = None
    draws: int | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
