"""A skip test: its numbers and words, read from rules/, and the records it is planned and read in.

What a skip test shares with a weighed one (notes of the table, lines of the G-code) is read from
there. Trade units where an answer says so. It computes nothing.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from advisor.base import Band, FileStatus, Mistakes, Span, WeighError
from advisor.data import Row, artifact
from advisor.weigh.records import Calibration
from advisor.weigh.table_records import Conditions
from advisor.weigh.weigh_data import TableWords, columns_of, load_words, read_numbers

__all__ = [
    "ARTIFACTS",
    "SkipFile",
    "SkipLevel",
    "SkipMistakes",
    "SkipNarrows",
    "SkipPlan",
    "SkipPlanAnswer",
    "SkipReadAnswer",
    "SkipRow",
    "SkipSeenPoint",
    "SkipTable",
    "SkipTest",
    "build_skip_data",
    "skip_numbers",
    "skip_words",
]

_NUMBERS, _WORDS = "skip/test.yaml", "dialects/skip_test.yaml"


@functools.cache
def skip_numbers(part: str) -> Mapping[str, float]:
    """Return the numbers of one part of rules/skip/test.yaml in SI units, by name."""
    numbers: dict[str, float] = artifact("skip", build_skip_data)["numbers"][part]
    return numbers


@functools.cache
def skip_words() -> TableWords:
    """Return the words of the skip test; ``skipped`` says how a click was noticed."""
    data, common = artifact("skip", build_skip_data)["words"], load_words()
    return dataclasses.replace(
        common,
        columns=columns_of(data["columns"]),
        notes={**common.notes, **columns_of(data["notes"])},
        skipped={text: name for name, texts in data["seen"].items() for text in texts},
        gcode={**common.gcode, **data["gcode"]},
        cautions=tuple(data["cautions"]),
        stops=data["stops"],
    )


def build_skip_data() -> Row:
    """Return both files as JSON types: the artifact ``skip``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import schema as s

    texts = s.listed(s.text, least=1)
    told = {"unit": s.unit(), "title": s.text, "range": s.ends()}
    words = {
        "columns": s.names(s.row({"names": texts}, {**told, "needed": s.flag})),
        "notes": s.names(s.row({"names": texts}, told)),
        "seen": s.names(s.listed(s.string)),
        "gcode": s.names(s.text),
        "cautions": texts,
        "stops": s.names(s.text),
    }
    return {"numbers": read_numbers(_NUMBERS), "words": s.read_data(_WORDS, s.row(words))}


ARTIFACTS: Mapping[str, Callable[[], object]] = {"skip": build_skip_data}


class SkipMistakes(Mistakes, WeighError):
    """Several mistakes of one table."""


@dataclass(frozen=True, slots=True)
class SkipRow:
    """One run at a lowered current; SI units.

    ``first`` is None where there was no click to the end, or the gears slipped; ``noticed`` says
    how the click was: heard, seen, short, unsure, none or slip.
    """

    at: Span
    current: float
    reported: float | None
    last: float
    first: float | None
    noticed: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class SkipTable:
    """A skip test as it was written down; ``empty`` is the current of the empty run [A]."""

    file: str
    conditions: Conditions
    rows: tuple[SkipRow, ...]
    empty: float | None = None


@dataclass(frozen=True, slots=True)
class SkipLevel:
    """One lowered current of a plan and the ramp that is run at it."""

    current: float  # A RMS, as it is commanded
    hold: float  # A RMS
    applied: float  # A RMS, as the driver applies it
    register: int  # of the driver's current steps, 0 to 31
    expected: Band  # mm3/s, where the first click is expected
    flows: tuple[float, ...]  # mm3/s, rising
    near_rotor: bool  # full steps come near to the rotor's own frequency there


@dataclass(frozen=True, slots=True)
class SkipNarrows:
    """What part of a range the test would leave on a typical machine, of 1."""

    capacity: float
    torque: float
    grip: float


@dataclass(frozen=True, slots=True)
class SkipPlan:
    """A skip test to run; its levels by falling current."""

    levels: tuple[SkipLevel, ...]
    approaches: int  # runs of each
    set_current: float  # A RMS, that the config sets
    set_hold: float  # A RMS
    temperature: float  # degC, of the nozzle
    dwell: float  # mm of filament at each flow
    recovery: float  # mm of filament before each ramp, at the set current
    filament: float  # mm, about, where clicks come where they are expected
    most_filament: float  # mm, where none comes
    time: float  # s, about
    bottleneck: str | None
    narrows: SkipNarrows | None


@dataclass(frozen=True, slots=True)
class SkipFile:
    """One file of the test's G-code: what stands at the end of its name, and its text."""

    name: str  # 1, 2, 3; end
    gcode: str


@dataclass(frozen=True, slots=True)
class SkipPlanAnswer:
    """Answer of `skip-test plan`: a plan with its G-code and table, or why there is none.

    ``instead`` says what can be done where there is none.
    """

    extruder: str | None
    plan: SkipPlan | None
    conditions: Mapping[str, str]
    gcode: tuple[SkipFile, ...] = ()
    table: str = ""
    refused: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SkipSeenPoint:
    """One lowered current of a test that was run, its runs joined."""

    current: float  # A RMS, as it was commanded
    applied: float  # A RMS, as the driver applies it
    last_good: float  # mm3/s
    first_click: float | None  # mm3/s; None: no click to the end
    runs: int
    noticed: tuple[str, ...]
    expected: Band | None  # mm3/s, without the test
    near_rotor: bool
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SkipTest:
    """What one skip test showed."""

    name: str
    file: str
    conditions: Mapping[str, str]
    points: tuple[SkipSeenPoint, ...]
    empty_run: float | None  # A RMS
    slipped: bool  # the gears slipped: the test ended there
    remarks: tuple[str, ...] = ()
    date: str | None = None
    roll: str | None = None


@dataclass(frozen=True, slots=True)
class SkipReadAnswer:
    """Answer of `skip-test read`: what the tests show, and what they make of the capacity.

    ``torque`` and ``grip`` are the flows that these limits allow [mm3/s], after the tests.
    """

    tests: tuple[SkipTest, ...]
    calibration: Calibration | None = None
    torque: Band | None = None
    grip: Band | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = field(default=())
