"""Gathers what a page shows: configs worked out, curves, grip, print, tests, edits.

It decides nothing about how the page looks, and writes nothing.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator, Sequence
from shlex import quote as quoted

from advisor import __version__
from advisor.asks import Asks, stated_options, typed
from advisor.budgets import DRAWN_EXTRUDERS
from advisor.catalog import load_catalog
from advisor.curves.force import force_report
from advisor.curves.grip import grip_report
from advisor.curves.torque import torque_report
from advisor.errors import AdvisorError
from advisor.files.plain import open_plain
from advisor.lint.check import CheckedConfig, check_each
from advisor.lint.gather import copies_in, expand
from advisor.lint.repeats import joined
from advisor.model import Report
from advisor.records import DemandReport
from advisor.report.html import ConfigPart, ExtruderPart, MendPart, PageParts

__all__ = ["gathered"]

_STDIN = "The config came on standard input; edits are worked out for a file (feedwright mend)."


def gathered(paths: Sequence[str], asks: Asks) -> PageParts:
    """Return all that a page on these configs shows.

    Parameters
    ----------
    paths : sequence of str
        Config files, folders of configs, ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.

    Raises
    ------
    UsageError
        For a command line that cannot be. What cannot be read is in the report.
    """
    catalog = load_catalog()
    roots, checked = expand(paths), check_each(paths, asks)
    reports = [one.report for one in checked]
    whole = reports[0] if len(reports) == 1 else joined(reports)
    whole = dataclasses.replace(whole, copies=copies_in(paths))
    return PageParts(
        configs=tuple(
            _config(root, one, whole, asks) for root, one in zip(roots, checked, strict=True)
        ),
        whole=whole,
        given=(*_given(asks), *_drawn(whole)),
        command=_command("report", [*paths, *typed(asks), "--html"]) + " FILE",
        version=__version__,
        sources=catalog.sources,
        facts=catalog.facts,
    )


def _drawn(whole: Report) -> Iterator[tuple[str, str]]:
    """Yield what the page says where not all extruders have their curves."""
    counts = Counter(extruder.config for extruder in whole.extruders)
    most = max(counts.values(), default=0)
    if most > DRAWN_EXTRUDERS:
        words = f"those of the first {DRAWN_EXTRUDERS} of {most} extruders; see feedwright torque"
        yield "curves", f"{words} and grip with --extruder for the others"


def _config(root: str, checked: CheckedConfig, whole: Report, asks: Asks) -> ConfigPart:
    told = {id(finding) for finding in whole.findings}
    own = tuple(finding for finding in checked.report.findings if id(finding) in told)
    shown = asks.stdin_name if root == "-" else root
    return ConfigPart(
        config=shown,
        report=dataclasses.replace(checked.report, findings=own),
        extruders=tuple(_extruders(root, checked, asks)),
        mend=_mend(root, checked, asks),
    )


def _extruders(root: str, checked: CheckedConfig, asks: Asks) -> Iterator[ExtruderPart]:
    titles = {name: info.title for name, info in load_catalog().facts.items()}
    for number, extruder in enumerate(checked.report.extruders):
        demand, no_demand = None, None
        if number == 0 and asks.sliced is not None:
            demand, no_demand = _demand(root, extruder.name, asks)
        if number >= DRAWN_EXTRUDERS:
            tests = tuple(checked.tests.get(extruder.name, ()))
            yield ExtruderPart(report=extruder, tests=tests)
            continue
        yield ExtruderPart(
            report=extruder,
            force=force_report(extruder.name, checked.books[extruder.name], titles),
            torque=torque_report(checked, extruder.name),
            grip=grip_report(checked, extruder.name),
            demand=demand,
            no_demand=no_demand,
            tests=tuple(checked.tests.get(extruder.name, ())),
        )


def _demand(root: str, name: str, asks: Asks) -> tuple[DemandReport | None, str | None]:
    """Return what the print asks, or the sentence why that cannot be told."""
    from advisor.lint.demand import demand

    path = asks.sliced or ""
    try:
        with open_plain(path) as stream:
            plain = dataclasses.replace(asks, sliced=None)
            return demand(stream, path, root, plain, extruder=name), None
    except AdvisorError as err:
        return None, f"The print could not be looked at: {err}."
    except (OSError, ValueError):
        return None, f"The print '{path}' could not be read."


def _mend(root: str, checked: CheckedConfig, asks: Asks) -> MendPart:
    """Return the edits as `feedwright mend` shows them; nothing is written."""
    if root == "-":
        return MendPart(why_not=_STDIN)
    if checked.report.errors:
        return MendPart(why_not="Edits are worked out once all files can be read.")
    from advisor.mend.mend import mend

    asks = dataclasses.replace(asks, sliced=None)
    try:
        report = mend(root, asks)
    except AdvisorError as err:
        return MendPart(why_not=f"There are no edits to show: {err}.")
    roles = dict.fromkeys(edit.role for edit in report.edits)
    writes = [{"config": "--write", "profile": "--write-profile"}[role] for role in roles]
    return MendPart(report=report, command=_command("mend", [root, *typed(asks), *writes]))


def _command(name: str, words: Sequence[str]) -> str:
    return " ".join(("feedwright", name, *map(quoted, words)))


_WORDS = {
    "--with": "stated", "--preset": "preset", "--material": "material", "--asked": "asked",
    "--draws": "likely machines", "--allow-outside": "folder that counts as the config's",
}  # fmt: skip


def _given(asks: Asks) -> Iterator[tuple[str, str]]:
    """Yield what was given beside files, in words."""
    for option, values in stated_options(asks):
        if option in _WORDS:
            yield from ((_WORDS[option], value) for value in values)
    if not asks.allow:
        yield "allowances", "shown too"
