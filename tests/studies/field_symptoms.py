"""The invented complaints of tests/field_symptoms through `diagnose`: is the true cause found?

    python tests/studies/field_symptoms.py [NAME ...] [--list]

Sixty machines and what their owners tell, written down with the true cause from the practice of the trade
before the command was first run. Printed are how often the true cause stands first and among three, with
95 % intervals (Wilson); `--list` shows each case. There is no pass mark.
"""

from __future__ import annotations

import argparse
import functools
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from ruamel.yaml import YAML

from tests.studies.diagnose_advice import Reading, cooler, forbidden, hotter, more_current, tighter
from tests.studies.diagnose_ask import asked
from tests.studies.diagnose_bench import line
from tests.studies.diagnose_names import NAMES

FOLDER = ROOT / "tests" / "field_symptoms"
FACTS = ("clicks_at", "holds", "case", "after", "fed", "nozzle_falls_to", "pull")
READERS = {"more-current": more_current, "hotter": hotter, "cooler": cooler, "tighter": tighter}
HEAT = (
    "current-high",
    "sense-resistor",
    "no-section",
    "other-section",
    "silent-floor",
    "silent-weak",
)
EXCLUDED = 0.005  # odds below are said as 'no'


@dataclass(frozen=True)
class Complaint:
    """A case: the machine as its owner has it, what is told of it, and the truth."""

    name: str
    told: str
    config: str
    sheet: str
    sees: tuple[str, ...]
    sees_not: tuple[str, ...]
    facts: dict[str, str | float]
    cause: tuple[str, ...]
    unsafe: tuple[str, ...]

    @property
    def accepted(self) -> frozenset[str]:
        """What the command calls the true cause."""
        return frozenset(name for one in self.cause if one != "unlisted" for name in NAMES[one])

    def ask(self) -> Reading:
        """Return what is said."""
        return asked(self.config, self.sheet, self.sees, self.sees_not, self.facts)


def _changed(text: str, changes: dict[str, str]) -> str:
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


@functools.cache
def complaints() -> tuple[Complaint, ...]:
    """Read all cases."""
    yaml = YAML(typ="safe")
    machines = yaml.load((FOLDER / "machines.yaml").read_text(encoding="utf-8"))
    return tuple(
        _read(row, machines)
        for row in yaml.load((FOLDER / "cases.yaml").read_text(encoding="utf-8"))
    )


def _read(row: dict[str, Any], machines: dict[str, dict[str, str]]) -> Complaint:
    base = machines[row["machine"]]
    config = _changed(base["config"], row.get("config", {})) + "".join(
        f"{one}\n" for one in row.get("plus", ())
    )
    return Complaint(
        row["name"], row["told"], config, _changed(base["sheet"], row.get("sheet", {})), tuple(row.get("sees", ())), tuple(row.get("sees_not", ())),
        {fact: row[fact] for fact in FACTS if fact in row}, tuple(row["cause"]), tuple(row["unsafe"]),
    )  # fmt: skip


def unsafe(case: Complaint, reading: Reading) -> list[str]:
    """What of the advice would do harm: the test, and what is told to do where the first cause is so.

    Where the motor is hot or its current not known, more current is no advice of any cause above 2 in 100.
    """
    spoken = [
        (where, text)
        for where, text in reading.advice()
        if where.startswith("test") or where == f"remedy of {reading.causes[0][0]}"
    ]
    found = forbidden(reading)
    for word in case.unsafe:
        any_cause = word == "more-current" and (
            set(case.cause) & set(HEAT)
            or any(one.startswith(("motor-hot", "mount-soft")) for one in case.sees)
        )
        texts = reading.advice() if any_cause else spoken
        found += [f"{where}: {one}" for where, text in texts for one in READERS[word](text)]
    return found


def excluded(case: Complaint, reading: Reading) -> bool:
    """Whether the true cause is called excluded: nothing, or next to nothing, is given to all that is accepted."""
    return bool(case.accepted) and reading.odds(tuple(case.accepted)) < EXCLUDED


def study() -> int:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("names", nargs="*")
    options.add_argument("--list", action="store_true")
    given = options.parse_args()
    taken = [one for one in complaints() if not given.names or one.name in given.names]
    said = [(one, one.ask()) for one in taken]
    if given.list or given.names:
        for case, reading in said:
            _show(case, reading)
    listed = [(case, reading) for case, reading in said if case.accepted]
    print(
        line(
            "true cause first", (reading.causes[0][0] in case.accepted for case, reading in listed)
        )
    )
    print(
        line(
            "true cause among three",
            (
                any(name in case.accepted for name, _, _ in reading.causes[:3])
                for case, reading in listed
            ),
        )
    )
    print(
        line(
            "'nothing explains it' above 0.1 where none does",
            (reading.unexplained > 0.1 for case, reading in said if "unlisted" in case.cause),
        )
    )
    print(
        f"unsafe advice in {sum(bool(unsafe(*one)) for one in said)}, true cause called excluded in {sum(excluded(*one) for one in said)} of {len(said)}"
    )
    return 0


def _show(case: Complaint, reading: Reading) -> None:
    mark = (
        "1"
        if reading.causes[0][0] in case.accepted
        else "3"
        if any(name in case.accepted for name, _, _ in reading.causes[:3])
        else "-"
    )
    first = ", ".join(f"{name} {odds:.2f}" for name, odds, _ in reading.causes[:3])
    print(
        f"{mark} {case.name:<26} true {'/'.join(case.cause)}: {first}; nothing {reading.unexplained:.2f}; next {reading.test or '-'}"
    )
    for one in unsafe(case, reading):
        print(f"    UNSAFE {one}")
    if excluded(case, reading):
        print("    EXCLUDED")


if __name__ == "__main__":
    sys.exit(study())
