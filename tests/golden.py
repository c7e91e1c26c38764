"""Texts that were read and judged by eye, and what makes each of them anew.

    tests/golden.py                    the difference of each text from the stored one
    tests/golden.py --write NAME...    store these anew; read the diff before you commit it

They stand in ``goldens/``, 80 columns wide; how a text takes to other widths is a property that
holds for all (``report/test_golden.py``). Exit codes: 0 all alike, 1 some are not, 2 wrong usage.
"""

from __future__ import annotations

import argparse
import difflib
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE / "report"), str(HERE.parent)]

import hand_made  # noqa: E402
from compare_answers import compare_answer  # noqa: E402
from diagnose_answers import diagnose_answer, diagnose_first  # noqa: E402
from grip_answers import grip_answer  # noqa: E402
from session_answers import session_answer  # noqa: E402
from torque_answers import torque_answer  # noqa: E402

from advisor.report import (  # noqa: E402
    compare_text,
    derate_text,
    diagnose_text,
    explain_text,
    grip_text,
    session_text,
    text,
    torque_text,
)
from advisor.report.look import Look  # noqa: E402

GOLDENS = HERE / "goldens"
Shown = Callable[[Look], str]


def _two(look: Look) -> str:
    one, two = hand_made.machine(), hand_made.quiet_machine().extruders[0]
    both = (one.extruders[0], replace(two, name="extruder1"))
    return text.render(replace(one, extruders=both), look)


REGISTER: dict[str, Shown] = {
    # every kind of entry
    "machine": lambda look: text.render(hand_made.machine(), look),
    # all of it
    "machine-full": lambda look: text.render(hand_made.machine(), look, full=True),
    # no finding, no ask: it says what to give next
    "quiet": lambda look: text.render(hand_made.quiet_machine(), look),
    # it says which input is missing instead of a number
    "bare": lambda look: text.render(hand_made.bare_machine(), look),
    # each extruder has its own answer; findings name theirs
    "two": _two,
    # the current to set comes first
    "derate": lambda look: derate_text.render(hand_made.derating(), look),
    # all of it: every limit, both readings, what is assumed
    "derate-full": lambda look: derate_text.render(hand_made.derating(), look, full=True),
    # several ratings, one line each
    "derate-several": lambda look: derate_text.render_several(
        (hand_made.derating(), hand_made.no_setting()), look
    ),
    # where no current is low enough it says why
    "derate-none": lambda look: derate_text.render(hand_made.no_setting(), look),
    # each step stands below what was made of it, with its place
    "explain-fact": lambda look: explain_text.render(hand_made.explanation(), look),
    # catalogue numbers with band, unit, source and status
    "explain-material": lambda look: explain_text.render(hand_made.material(), look),
    # two parts changed
    "compare": lambda look: compare_text.render(compare_answer(), look),
    # soft filament in small gears
    "grip": lambda look: grip_text.render(grip_answer(), look),
    # the cap, what is to be changed first, an advance that is outside
    "session": lambda look: session_text.render(session_answer(), look),
    # how each step is done
    "session-full": lambda look: session_text.render(session_answer(), look, full=True),
    # two causes of one family on a line, what readings tell, a test to do
    "diagnose": lambda look: diagnose_text.render(diagnose_answer(), look),
    # each cause with its remedy
    "diagnose-full": lambda look: diagnose_text.render(diagnose_answer(), look, full=True),
    # a temperature that is not held: first and alone
    "diagnose-first": lambda look: diagnose_text.render(diagnose_first(), look),
    # a fast retract
    "torque": lambda look: torque_text.render(torque_answer(), look),
}


def difference(name: str, folder: Path = GOLDENS) -> str:
    """Return how the text differs from the stored one, line by line; "" where it does not."""
    file, shown = folder / f"{name}.txt", REGISTER[name](Look(80))
    stored = file.read_text(encoding="utf-8") if file.exists() else ""
    if stored == shown:
        return ""
    lines = stored.splitlines(), shown.splitlines()
    return "\n".join(difflib.unified_diff(*lines, f"goldens/{name}.txt", "shown now", lineterm=""))


def orphans(folder: Path = GOLDENS) -> list[str]:
    """Return the names of stored files that nothing in the register makes."""
    known = {f"{name}.txt" for name in REGISTER}
    return sorted(path.name for path in folder.iterdir() if path.name not in known)


def main(arguments: Sequence[str] | None = None, folder: Path = GOLDENS) -> int:
    """Show the differences, or store texts anew, and return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--write", nargs="+", metavar="NAME", choices=list(REGISTER), default=[])
    asked = parser.parse_args(arguments)
    if asked.write and os.environ.get("CI"):
        parser.error("CI is set: a check does not write what it checks against")
    found = {name: difference(name, folder) for name in asked.write or REGISTER}
    sys.stdout.writelines(f"{shown}\n" for shown in found.values() if shown)
    lost = orphans(folder)
    sys.stdout.writelines(f"goldens/{name}: no test reads it; delete it\n" for name in lost)
    for name in asked.write:
        (folder / f"{name}.txt").write_text(REGISTER[name](Look(80)), encoding="utf-8")
    return 1 if lost or (any(found.values()) and not asked.write) else 0


if __name__ == "__main__":
    sys.exit(main())
