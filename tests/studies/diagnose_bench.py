"""The bench that tries `diagnose`: machines with a planted cause, what is told of them, and the score.

It shares no code, figures, severities or rates with the package; see the modules beside it.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from tests.studies.diagnose_advice import Reading
from tests.studies.diagnose_machine import Machine, config_of, draw, sheet_of
from tests.studies.diagnose_names import FAMILY, NAMES, REMEDY, TESTS, kind_of_test, mine, outcome
from tests.studies.diagnose_people import Told, tell
from tests.studies.diagnose_physics import events
from tests.studies.diagnose_plain import plain
from tests.studies.diagnose_planted import PLANTED, UNLISTED, plant, rates
from tests.studies.diagnose_tries import FIXED, MINUTES, report

UNLISTED_SHARE = 0.15
CHAIN = 6  # tests in turn, at most


@dataclass(frozen=True)
class Case:
    """A machine that somebody complains of: the cause in it, and what is told."""

    planted: str
    machine: Machine
    sound: Machine
    told: Told
    seed: int

    @property
    def listed(self) -> bool:
        """Whether the cause is of the list."""
        return self.planted in PLANTED


def among(reading: Reading, planted: str, count: int) -> bool:
    """Whether the planted cause is among the first so many."""
    return any(name in NAMES[planted] for name, _, _ in reading.causes[:count])


def family(reading: Reading, planted: str) -> bool:
    """Whether the first one is of the family of the planted one."""
    return any(FAMILY[one] == FAMILY.get(planted) for one in mine(reading.causes[0][0]))


def remedied(reading: Reading, planted: str) -> bool:
    """Whether the first one is mended as the planted one is."""
    return any(REMEDY[one] == REMEDY.get(planted) for one in mine(reading.causes[0][0]))


def sound(rng: np.random.Generator) -> Machine:
    """Draw a machine that nobody would complain of."""
    while True:
        machine = draw(rng)
        if max(events(machine).values(), default=0.0) < 0.25:
            return machine


def cases(count: int, seed: int, *, first: int = 0, off_by: float = 1.0) -> Iterator[Case]:
    """Draw machines until there are so many complaints, 15 % of them of no listed cause.

    Each number has a seed of its own, so that a run can be made in pieces. What is rare in complaints is
    rare here: a machine that nobody would complain of is drawn anew, with its cause.
    """
    weights = rates(off_by=off_by, rng=np.random.default_rng(seed))
    others = {name: rate for name, (rate, _) in UNLISTED.items()}
    for number in range(first, first + count):
        rng = np.random.default_rng((seed, number))
        table = others if rng.random() < UNLISTED_SHARE else weights
        shares = np.array(list(table.values())) / sum(table.values())
        made = None
        while made is None:
            made = complaint(str(rng.choice(list(table), p=shares)), rng, number)
        yield made


def complaint(planted: str, rng: np.random.Generator, seed: int) -> Case | None:
    """Plant a cause in a machine; nothing where nobody would complain of it."""
    healthy = sound(rng)
    machine = plant(healthy, planted, rng)
    told = tell(machine, rng)
    return None if told is None else Case(planted, machine, healthy, told, seed)


Asked = Callable[[Case, Told, tuple[str, ...]], Reading]


@dataclass
class Score:
    """What one case gave."""

    case: Case
    at_once: Reading
    after_one: Reading | None = None
    tests: tuple[str, ...] = ()
    minutes: float | None = None  # until the remedy is clear; None where it never was
    fixed: float | None = None
    chained: bool = False
    wrongly_settled: bool = False
    history: list[Reading] = field(default_factory=list)


def _minutes(kind: str) -> float:
    return MINUTES.get(kind, 10.0)


def _clear(reading: Reading, planted: str) -> bool:
    return reading.settled and remedied(reading, planted)


def step(
    case: Case, told: Told, did: tuple[str, ...], name: str, rng: np.random.Generator
) -> tuple[Told, tuple[str, ...]]:
    """Do one test and return what is known then."""
    kind = kind_of_test(name)
    word, facts = report(case.machine, case.sound, case.planted, kind, told, rng)
    for fact, value in facts.items():
        told = told.and_(fact, value)
    return told, (*did, f"{name}={outcome(name, word)}") if word else did


def score(case: Case, ask: Asked, *, chain: bool = False) -> Score:
    """Ask once, do the test that is proposed, ask again; in a chain go on until the remedy is clear."""
    rng = np.random.default_rng((case.seed, 99))
    told, did = case.told, ()
    made = Score(case, ask(case, told, did), chained=chain and case.listed)
    reading, spent, done = made.at_once, 0.0, []
    for number in range(CHAIN if made.chained else 1):
        if _clear(reading, case.planted) or not reading.test or reading.test in done:
            break
        done.append(reading.test)
        spent += _minutes(kind_of_test(reading.test))
        told, did = step(case, told, did, reading.test, rng)
        reading = ask(case, told, did)
        if number == 0:
            made.after_one = reading
    made.after_one = made.after_one or made.at_once
    made.tests = tuple(done)
    made.wrongly_settled = reading.settled and not remedied(reading, case.planted)
    if made.chained:
        made.minutes = spent if _clear(reading, case.planted) else None
        made.fixed = fixed_order(case, ask, made.at_once)
    return made


def fixed_order(case: Case, ask: Asked, reading: Reading) -> float | None:
    """Minutes until the remedy is clear by a fixed order of tests, or None."""
    rng = np.random.default_rng((case.seed, 98))
    told, did, spent = case.told, (), 0.0
    for kind in FIXED:
        if _clear(reading, case.planted):
            return spent
        name = test_named(kind)
        if not name:
            continue
        spent += _minutes(kind)
        told, did = step(case, told, did, name, rng)
        reading = ask(case, told, did)
    return spent if _clear(reading, case.planted) else None


@functools.cache
def test_named(kind: str) -> str:
    """Return the command's name of a kind of test."""
    return next((name for name, of in TESTS.items() if of == kind), "")


def wilson(hits: int, of: int) -> tuple[float, float]:
    """The interval of a share at 95 % (Wilson 1927)."""
    if of == 0:
        return 0.0, 1.0
    z, share = 1.96, hits / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return middle - half, middle + half


def line(title: str, held: Iterable[bool]) -> str:
    """A line of a table: a share and its interval."""
    listed = list(held)
    low, high = wilson(sum(listed), len(listed))
    share = f"{sum(listed) / len(listed):.3f}" if listed else "-"
    return f"{title:<46}{len(listed):>6}{share:>8}   {low:.2f}-{high:.2f}"


def plain_among(case: Case, count: int) -> bool:
    """Whether a plain list per symptom has the planted cause among its first so many; it is judged as mildly as the command."""
    accepted = {name for one in (case.planted,) for name in NAMES[one]}
    return any(accepted & set(NAMES[one]) for one in plain(case.told.sees)[:count])


def table(scores: Sequence[Score]) -> list[str]:
    """Return the lines of the study's tables."""
    own = [one for one in scores if one.case.listed]
    lines = [f"{'listed causes':<46}{'cases':>6}{'share':>8}   95 %"]
    for count, words in ((1, "first"), (3, "among three")):
        lines.append(
            line(f"{words}, at once", (among(one.at_once, one.case.planted, count) for one in own))
        )
        lines.append(
            line(f"{words}, plain list per symptom", (plain_among(one.case, count) for one in own))
        )
    lines.append(
        line("right family, at once", (family(one.at_once, one.case.planted) for one in own))
    )
    after = [(one.after_one or one.at_once, one.case.planted) for one in own]
    lines.append(
        line("first, after one test", (among(reading, planted, 1) for reading, planted in after))
    )
    lines.append(
        line(
            "right family, after one test", (family(reading, planted) for reading, planted in after)
        )
    )
    lines.append(
        line(
            "among three, after one test",
            (among(reading, planted, 3) for reading, planted in after),
        )
    )
    lines.append(
        line(
            "remedy of the first right, after one test",
            (remedied(reading, planted) for reading, planted in after),
        )
    )
    return [
        *lines,
        "",
        *calibration(scores),
        "",
        *unlisted(scores),
        "",
        *minutes(scores),
        "",
        *by_cause(own),
    ]


def calibration(scores: Sequence[Score]) -> list[str]:
    """Where so much is said of the first, how often is it right? Unlisted causes count as wrong in the second column."""
    lines = [
        f"{'said of the first (at once and after one test)':<46}{'cases':>6}{'right':>8}   95 %"
    ]
    said = [
        (reading, one.case)
        for one in scores
        for reading in dict.fromkeys((one.at_once, one.after_one or one.at_once))
    ]
    for low, high in ((0.0, 0.3), (0.3, 0.5), (0.5, 0.65), (0.65, 0.8), (0.8, 1.01)):
        inside = [(reading, case) for reading, case in said if low <= reading.causes[0][1] < high]
        lines.append(
            line(
                f"{low:.2f} to {min(high, 1):.2f}, listed causes",
                (among(reading, case.planted, 1) for reading, case in inside if case.listed),
            )
        )
        lines.append(
            line(
                f"{low:.2f} to {min(high, 1):.2f}, with the unlisted",
                (case.listed and among(reading, case.planted, 1) for reading, case in inside),
            )
        )
    return lines


def unlisted(scores: Sequence[Score]) -> list[str]:
    """What is said where the cause is none of the list."""
    others = [one.at_once for one in scores if not one.case.listed]
    if not others:
        return ["no unlisted cause among these"]
    first = np.array([one.causes[0][1] for one in others])
    nothing = np.array([one.unexplained for one in others])
    said = (
        f"odds of the first, median {np.median(first):.2f}, 0.8 or more in {(first >= 0.8).sum()}"
    )
    return [
        f"unlisted causes: {len(others)}; {said}",
        f"'nothing here explains it' there, median {np.median(nothing):.2f}",
    ]


def minutes(scores: Sequence[Score]) -> list[str]:
    """How long until the remedy is clear, against a fixed order."""
    chained = [one for one in scores if one.chained]
    if not chained:
        return ["no chains of tests were run"]
    lines = [f"{'until the remedy is clear':<32}{'clear':>12}{'median min':>12}{'mean min':>10}"]
    both = [
        (one.minutes, one.fixed)
        for one in chained
        if one.minutes is not None and one.fixed is not None
    ]
    for title, taken in (("as proposed", [one.minutes for one in chained]), ("fixed order", [one.fixed for one in chained]),
                         ("as proposed, clear by both", [a for a, _ in both]), ("fixed order, clear by both", [b for _, b in both])):  # fmt: skip
        clear = [one for one in taken if one is not None]
        lines.append(
            f"{title:<32}{f'{len(clear)} of {len(taken)}':>12}{np.median(clear or [np.nan]):>12.0f}{np.mean(clear or [np.nan]):>10.0f}"
        )
    wrong = sum(one.wrongly_settled for one in chained)
    lines.append(f"said to be settled with a wrong remedy: {wrong} of {len(chained)}")
    return lines


def by_cause(own: Sequence[Score]) -> list[str]:
    """Each planted cause: how often met, found first, among three, and what is said in its place."""
    lines = [
        f"{'planted':<24}{'cases':>6}{'first':>7}{'three':>7}{'list':>6}{'after':>7}   most often said first instead"
    ]
    for name in sorted(
        {one.case.planted for one in own},
        key=lambda name: -sum(one.case.planted == name for one in own),
    ):
        mine_ = [one for one in own if one.case.planted == name]
        wrong: dict[str, int] = {}
        for one in mine_:
            if not among(one.at_once, name, 1):
                wrong[one.at_once.causes[0][0]] = wrong.get(one.at_once.causes[0][0], 0) + 1
        most = ", ".join(
            f"{what} {count}"
            for what, count in sorted(wrong.items(), key=lambda item: -item[1])[:4]
        )
        lines.append(f"{name:<24}{len(mine_):>6}{sum(among(one.at_once, name, 1) for one in mine_):>7}{sum(among(one.at_once, name, 3) for one in mine_):>7}"
                     f"{sum(plain_among(one.case, 1) for one in mine_):>6}{sum(among(one.after_one or one.at_once, name, 1) for one in mine_):>7}   {most}")  # fmt: skip
    return lines


__all__ = [
    "Case",
    "Reading",
    "Score",
    "cases",
    "config_of",
    "score",
    "sheet_of",
    "sound",
    "table",
    "wilson",
]
