"""The field set through lint: how much of what is told is right, and how much of what is due is told?

    python tests/studies/field_precision.py [NAME ...] [--set FOLDER] [--list] [--draws N]

Each folder of tests/field (or of the set that `--set` names: tests/field_later and field_third are
held out, no rule may be fitted to them) holds an invented machine and expected.yaml, what a
practitioner would want to be told of it, written down before anything was run over it. Printed are
precision and recall by rule and by level, and how many findings a machine gets. A finding is right where an
expectation or an option names its rule and its place, once, and no milder a level than was told.
`--list` names each wrong and each missed one with its place. Nothing is asserted here.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from advisor import Asks, Finding
from advisor.answers.lint import check
from advisor.data.yamlread import read_yaml

FIELD = ROOT / "tests" / "field"
LATER = ROOT / "tests" / "field_later"  # held out
THIRD = ROOT / "tests" / "field_third"  # held out
LEVELS = ("error", "warning", "note")  # gravest first
RIGHT = ("right", "milder")
WORDS = {
    "graver": "told as {0.told}, at most {0.due} is due",
    "again": "the same cause told again",
    "extra": "not expected",
}


@dataclass(frozen=True)
class Entry:
    """One finding that is expected, or one that may be told."""

    rule: str
    names: frozenset[str]  # the rule, and others that would say the same
    level: str
    places: frozenset[tuple[str, int]]  # file and line; none: anywhere
    text: str | None  # what stands in the first of the places
    first: tuple[str, int] | None
    why: str
    new: bool  # no rule of today has this name

    def takes(self, rule: str, place: tuple[str, int] | None) -> bool:
        """Is this what the entry speaks of?"""
        return rule in self.names and (not self.places or place in self.places)


@dataclass(frozen=True)
class Machine:
    """A folder of the set."""

    folder: Path
    reason: str
    run: dict[str, Any]
    expect: tuple[Entry, ...]
    optional: tuple[Entry, ...]

    @property
    def name(self) -> str:
        """The folder's name."""
        return self.folder.name


@dataclass(frozen=True)
class Told:
    """One finding with its verdict: right, milder, graver, again or extra."""

    rule: str
    told: str
    due: str | None
    place: tuple[str, int] | None
    verdict: str
    message: str


@dataclass
class Judged:
    """A machine after its run."""

    machine: Machine
    told: list[Told] = field(default_factory=list)
    missed: list[Entry] = field(default_factory=list)
    errors: tuple[str, ...] = ()


def machines(names: Sequence[str] = (), folder: Path = FIELD) -> list[Machine]:
    """Return the machines of the set in order, or those named."""
    folders = sorted(path.parent for path in folder.glob("*/expected.yaml"))
    return [load(folder) for folder in folders if not names or folder.name in names]


def load(folder: Path) -> Machine:
    """Return one machine; a KeyError names what its expected.yaml lacks."""
    path = folder / "expected.yaml"
    data = read_yaml(path.read_text(encoding="utf-8"), str(path)).data
    return Machine(
        folder,
        str(data["reason"]),
        dict(data.get("run") or {}),
        tuple(_entry(one) for one in data["expect"] or ()),
        tuple(_entry(one) for one in data["optional"] or ()),
    )


def _entry(data: Any) -> Entry:
    places = [data] if "file" in data else []
    places = [(str(one["file"]), int(one["line"])) for one in [*places, *data.get("or", ())]]
    return Entry(
        rule=str(data["rule"]),
        names=frozenset([str(data["rule"]), *map(str, data.get("also", ()))]),
        level=str(data["level"]),
        places=frozenset(places),
        text=data.get("text"),
        first=places[0] if places else None,
        why=str(data["why"]),
        new=bool(data.get("new", False)),
    )


def judge(machine: Machine, draws: int | None = None) -> Judged:
    """Run the machine and hold what is told against what is due."""
    run = machine.run
    asks = Asks(
        sheet=str(machine.folder / run["sheet"]) if "sheet" in run else None,
        profiles=tuple(str(machine.folder / one) for one in run.get("profiles", ())),
        sliced=str(machine.folder / run["print"]) if "print" in run else None,
        draws=draws,
    )
    report = check([str(machine.folder / run.get("config", "printer.cfg"))], asks)
    return held(machine, report.findings, report.errors)


def held(machine: Machine, findings: Iterable[Finding], errors: tuple[str, ...] = ()) -> Judged:
    """Give each finding its verdict; an entry answers for one finding only."""
    judged = Judged(machine, errors=errors)
    open_ones = [*machine.expect, *machine.optional]
    by_name = {one.rule for one in open_ones}
    gravest = sorted(
        findings, key=lambda one: (LEVELS.index(one.level.value), one.rule not in by_name)
    )
    for finding in gravest:
        place = _place(machine.folder, finding)
        entry = _best(open_ones, finding, place)
        taken = any(one.takes(finding.rule, place) for one in (*machine.expect, *machine.optional))
        verdict = "again" if taken else "extra"
        if entry is not None:
            verdict = _weighed(finding.level.value, entry.level)
        if verdict in RIGHT and entry is not None:
            open_ones.remove(entry)
        judged.told.append(
            Told(
                finding.rule,
                finding.level.value,
                entry and entry.level,
                place,
                verdict,
                finding.message,
            )
        )
    judged.missed = [one for one in machine.expect if one in open_ones]
    return judged


def _best(
    entries: Sequence[Entry], finding: Finding, place: tuple[str, int] | None
) -> Entry | None:
    """Of the entries that speak of it, one that bears its level, and one of its own name, first."""

    def cost(entry: Entry) -> tuple[bool, bool]:
        graver = LEVELS.index(finding.level.value) < LEVELS.index(entry.level)
        return graver, entry.rule != finding.rule

    return min((one for one in entries if one.takes(finding.rule, place)), key=cost, default=None)


def _weighed(told: str, due: str) -> str:
    more = LEVELS.index(told) - LEVELS.index(due)
    return "right" if more == 0 else "milder" if more > 0 else "graver"


def _place(folder: Path, finding: Finding) -> tuple[str, int] | None:
    if finding.at is None:
        return None
    return os.path.relpath(finding.at.file, folder).replace(os.sep, "/"), finding.at.line


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:4.0f} %" if whole else "   -  "


def _row(name: str, told: int, right: int, due: int, found: int) -> str:
    return f"{name:44}{told:6}{right:7} {_share(right, told)}{due:7}{found:7} {_share(found, due)}"


HEAD = f"{'':44}{'told':>6}{'right':>7}   prec.{'due':>7}{'found':>7}  recall"


def table(judged: Sequence[Judged], by: str) -> list[str]:
    """Return the lines of precision and recall, by 'rule' or by 'level'."""
    told, right, due, found = Counter[str](), Counter[str](), Counter[str](), Counter[str]()
    for one in judged:
        for line in one.told:
            key = line.rule if by == "rule" else line.told
            told[key] += 1
            right[key] += line.verdict in RIGHT
        for entry in one.machine.expect:
            key = entry.rule if by == "rule" else entry.level
            due[key] += 1
            found[key] += entry not in one.missed
    keys = sorted({*told, *due}) if by == "rule" else list(LEVELS)
    lines = [_row(key, told[key], right[key], due[key], found[key]) for key in keys]
    return [
        HEAD, *lines, _row("all", told.total(), right.total(), due.total(), found.total())
    ]  # fmt: skip


def summary(judged: Sequence[Judged]) -> list[str]:
    """Return the lines on findings a machine, and on the machines that are to be left alone."""
    counts = [len(one.told) for one in judged]
    most = max(judged, key=lambda one: len(one.told))
    calm = [one for one in judged if not one.machine.expect]
    grave = [sum(line.told != "note" for line in one.told) for one in calm]
    old = [entry for one in judged for entry in one.machine.expect if not entry.new]
    missed = sum(not entry.new for one in judged for entry in one.missed)
    milder = sum(line.verdict == "milder" for one in judged for line in one.told)
    left = sum(not one.told for one in calm)
    loud = sum(count > 0 for count in grave)
    median, highest = statistics.median(counts), f"{len(most.told)} ({most.machine.name})"
    return [
        f"machines {len(judged)}; findings a machine: median {median:g}, highest {highest}",
        f"nothing is due on {len(calm)}: {left} of them left in peace, {loud} get a warning or an error",
        f"due from rules of the day the set was written: {len(old)}, found {len(old) - missed}",
        f"told milder than due, and counted as right: {milder}",
    ]


def details(judged: Sequence[Judged]) -> list[str]:
    """Return a line for each finding that is wrong and each that is missed."""
    lines = []
    for one in judged:
        name = one.machine.name
        for line in one.told:
            if line.verdict not in RIGHT:
                where = ":".join(map(str, line.place)) if line.place else "no place"
                what = WORDS[line.verdict].format(line)
                lines.append(f"wrong   {name}/{where} {line.told} {line.rule}: {what}\n        {line.message}")  # fmt: skip
        for entry in one.missed:
            where = ":".join(map(str, entry.first)) if entry.first else "anywhere"
            lines.append(f"missed  {name}/{where} {entry.level} {entry.rule}: {entry.why}")
        lines += [f"unread  {name}: {error}" for error in one.errors]
    return lines


def main() -> int:
    """Run the set and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help="machines; default: all")
    parser.add_argument("--set", default="field", help="folder of tests/ with the machines")
    parser.add_argument("--list", action="store_true", help="name each wrong and each missed one")
    parser.add_argument("--draws", type=int, help="likely machines to work out")
    given = parser.parse_args()
    judged = [
        judge(machine, given.draws) for machine in machines(given.names, ROOT / "tests" / given.set)
    ]
    if not judged:
        print("no machine of that name")
        return 2
    if given.list:
        print("\n".join(details(judged)), end="\n\n")
    for by in ("rule", "level"):
        print("\n".join(table(judged, by)), end="\n\n")
    print("\n".join(summary(judged)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
