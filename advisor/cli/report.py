"""`feedwright report`: one page with all that was worked out; no arithmetic, no rule text."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from advisor.answers import Asks
from advisor.base import UsageError
from advisor.cli.asking import asks_of
from advisor.cli.options import (
    CapsOption,
    ConfigsArgument,
    FailOn,
    FailOnPageOption,
    PageOption,
    Shared,
    takes,
)
from advisor.cli.outcome import findings_exit, respond
from advisor.cli.output_files import STDOUT, may_replace, write_page
from advisor.cli.streams import Exit, complain

if TYPE_CHECKING:
    from advisor.report import PageParts

__all__ = ["EPILOG", "report"]

_TOLD = ("answer", "asked", "capacity", "bottleneck")  # in the line on where the page is
EPILOG = (
    "Exit codes: 0 the page was written; 1 findings at or above --fail-on; 2 wrong usage; 3 "
    "something could not be read or written, or an internal fault."
)


@takes(
    "configs", "html", "sheet", "with_", "profile", "preset", "parents", "print_", "caps",
    "material", "asked", "weighed", "skip_test", "tests", "no_tests", "draws", "allow_outside",
    "no_allow",
    "fail_on",
)  # fmt: skip
def report(
    configs: ConfigsArgument,
    html: PageOption,
    shared: Shared,
    caps: CapsOption = None,
    fail_on: FailOnPageOption = FailOn.NEVER,
) -> int:
    """Write one page with all that can be told of a machine.

    \b
    Examples:
      feedwright report printer.cfg --html machine.html
      feedwright report printer.cfg --profile fast.ini --html machine.html
      feedwright report printer.cfg --weighed test.csv --html - > machine.html
      feedwright report printer.cfg --print a.gcode --caps 8,12mm3/s --html a.html

    Answer, filament path, findings, edits, force and torque curves, grip, flow over the
    print's height, weighed tests, what to measure, every assumption with its source. The file is
    complete in itself: it opens without a network and prints on paper.
    """

    def work() -> tuple[str, Exit]:
        if caps is not None and shared.print_ is None:
            raise UsageError("--caps is told of a print", "name one with --print")
        return _made(configs, asks_of(*configs, shared=shared), caps, html, fail_on)

    return respond(work)


def _made(
    configs: list[str], asks: Asks, caps: str | None, html: str, fail_on: FailOn
) -> tuple[str, Exit]:
    replace = may_replace(html)
    from advisor.cli.report_parts import gathered
    from advisor.report import render

    parts = gathered(configs, asks, caps)
    for error in parts.whole.errors:
        complain(error)
    if not any(file.status == "read" for file in parts.whole.files):
        complain("nothing could be read, so no page was written; name files that can be read")
        return "", Exit.FAULT
    page = render(parts)
    if html == STDOUT:
        return page, _exit_code(parts, fail_on)
    from advisor.report import look_for, written

    write_page(html, page, replace=replace)
    answer = written(_answer(parts), look_for(sys.stdout))
    return f"{html}: {answer}\n", _exit_code(parts, fail_on)


def _answer(parts: PageParts) -> str:
    """Return the answer in one line."""
    from advisor.report import FACTS, answer_words, bands, sum_words

    told = []
    several = len(parts.whole.extruders) > 1
    for extruder in parts.whole.extruders[:1]:
        facts = [extruder.facts[name] for name in FACTS if name in extruder.facts]
        said = [one for one in answer_words(extruder, bands(facts)) if one.label in _TOLD]
        words = "; ".join(f"{one.label} {one.text}" for one in said)
        told.append(f"{extruder.name}: {words}" if several else words)
    if several:
        told.append(f"{len(parts.whole.extruders)} extruders")
    return "; ".join((*told, sum_words(parts.whole)))


def _exit_code(parts: PageParts, fail_on: FailOn) -> Exit:
    return Exit.FAULT if parts.whole.errors else findings_exit(parts.whole, fail_on)
