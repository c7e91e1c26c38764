"""Gathers what a page shows: configs worked out, curves, grip, print, tests, edits.

It decides nothing about how the page looks, and writes nothing.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from shlex import quote as quoted

from advisor.answers import (
    Asks,
    CheckedConfig,
    DemandReport,
    Family,
    Start,
    copies_in,
    expand,
    fixes_fitted,
    force_report,
    grip_report,
    mend,
    read_caps,
    start_of,
    stated_options,
    torque_report,
    typed,
    within_run,
)
from advisor.base import (
    DRAWN_EXTRUDERS,
    DRAWN_MACHINES,
    PAGE_WORK,
    AdvisorError,
    Report,
    __version__,
    frozen,
)
from advisor.catalog import load_catalog
from advisor.files import open_plain
from advisor.judge import joined
from advisor.machine import Memory
from advisor.report import ConfigPart, ExtruderPart, MendPart, PageParts

__all__ = ["gathered"]

_STDIN = "The config came on standard input; edits are worked out for a file (feedwright mend)."


def gathered(paths: Sequence[str], asks: Asks, caps: str | None = None) -> PageParts:
    """Return all that a page on these configs shows.

    Parameters
    ----------
    paths : sequence of str
        Config files, folders of configs, ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.
    caps : str, optional
        Flows that the print is held to one after the other, such as ``8..30mm3/s``.

    Raises
    ------
    UsageError
        For a command line that cannot be. What cannot be read is in the report.
    """
    catalog = load_catalog()
    memory = Memory()
    flows = read_caps(caps)
    roots, left = within_run(
        expand(paths),
        lambda path: _root(path, asks, memory),
        lambda root: len(root.checked.machines),
    )
    reports = [*(root.checked.report for root in roots), *(Report(errors=(one,)) for one in left)]
    drawn = _drawn(roots)
    whole = reports[0] if len(reports) == 1 else joined(reports)
    whole = dataclasses.replace(whole, copies=copies_in(paths))
    return PageParts(
        configs=tuple(
            _config(root, whole, asks, n, flows) for root, n in zip(roots, drawn, strict=True)
        ),
        whole=whole,
        given=(*_given(asks), *_curves(sum(drawn), whole)),
        command=_command("report", [*paths, *typed(asks), *_typed_caps(caps), "--html"]) + " FILE",
        version=__version__,
        sources=catalog.sources,
        facts=catalog.facts,
    )


def _typed_caps(caps: str | None) -> Sequence[str]:
    return () if caps is None else ("--caps", caps)


@frozen(eq=False)
class _Root:
    """A config: as it is told, and as the edits begin from."""

    path: str
    checked: CheckedConfig
    start: Start


def _root(path: str, asks: Asks, memory: Memory) -> _Root:
    start = start_of(path, asks, Family(memory))
    return _Root(path, fixes_fitted(start.before), start)


def _drawn(roots: Sequence[_Root]) -> list[int]:
    """Return of how many extruders of each config curves are drawn."""
    told = sum(len(root.checked.machines) for root in roots)
    left, drawn = max(1, min(DRAWN_MACHINES, (PAGE_WORK - told) // 4)), []
    share = max(1, min(DRAWN_EXTRUDERS, left // max(1, len(roots))))
    for root in roots:
        drawn.append(min(share, left, len(root.checked.machines)))
        left -= drawn[-1]
    return drawn


def _curves(drawn: int, whole: Report) -> Iterator[tuple[str, str]]:
    """Yield what the page says where not all extruders have their curves."""
    if drawn < len(whole.extruders):
        words = f"those of the first {drawn} of {len(whole.extruders)} extruders"
        if len({extruder.config for extruder in whole.extruders}) > 1:
            words = (
                f"those of {drawn} of {len(whole.extruders)} extruders, the first of each config"
            )
        yield "curves", f"{words}; see feedwright torque and grip with --extruder for the others"


def _config(
    root: _Root, whole: Report, asks: Asks, drawn: int, caps: Sequence[float]
) -> ConfigPart:
    told, report = {id(finding) for finding in whole.findings}, root.checked.report
    own = tuple(finding for finding in report.findings if id(finding) in told)
    return ConfigPart(
        config=asks.stdin_name if root.path == "-" else root.path,
        report=dataclasses.replace(report, findings=own),
        extruders=tuple(_extruders(root, asks, drawn, caps)),
        mend=_mend(root, asks),
    )


def _extruders(
    root: _Root, asks: Asks, drawn: int, caps: Sequence[float]
) -> Iterator[ExtruderPart]:
    checked = root.checked
    titles = {name: info.title for name, info in load_catalog().facts.items()}
    for number, extruder in enumerate(checked.report.extruders):
        demand, no_demand = None, None
        if number == 0 and asks.sliced is not None:
            demand, no_demand = _demand(root, extruder.name, asks, caps)
        part = ExtruderPart(
            report=extruder,
            demand=demand,
            no_demand=no_demand,
            tests=tuple(checked.tests.get(extruder.name, ())),
        )
        if number < drawn:
            part = dataclasses.replace(
                part,
                force=force_report(extruder.name, checked.books[extruder.name], titles),
                torque=torque_report(checked, extruder.name),
                grip=grip_report(checked, extruder.name),
            )
        yield part


def _demand(
    root: _Root, name: str, asks: Asks, caps: Sequence[float]
) -> tuple[DemandReport | None, str | None]:
    """Return what the print asks, or the sentence why that cannot be told."""
    from advisor.answers import demand

    path = asks.sliced or ""
    try:
        with open_plain(path) as stream:
            plain = dataclasses.replace(asks, sliced=None)
            family = root.start.family
            told = demand(stream, path, root.path, plain, extruder=name, caps=caps, family=family)
            return told, None
    except AdvisorError as err:
        return None, f"The print could not be looked at: {err}."
    except (OSError, ValueError):
        return None, f"The print '{path}' could not be read."


def _mend(root: _Root, asks: Asks) -> MendPart:
    """Return the edits as `feedwright mend` shows them; nothing is written."""
    if root.path == "-":
        return MendPart(why_not=_STDIN)
    if root.checked.report.errors:
        return MendPart(why_not="Edits are worked out once all files can be read.")
    start, plain = root.start, dataclasses.replace(asks, sliced=None)
    try:
        if asks.sliced is not None:  # edits follow what the config and its profiles ask
            start = start_of(root.path, plain, start.family)
        report = mend(root.path, plain, start=start)
    except AdvisorError as err:
        return MendPart(why_not=f"There are no edits to show: {err}.")
    roles = dict.fromkeys(edit.role for edit in report.edits)
    writes = [{"config": "--write", "profile": "--write-profile"}[role] for role in roles]
    return MendPart(report=report, command=_command("mend", [root.path, *typed(plain), *writes]))


def _command(name: str, words: Sequence[str]) -> str:
    return " ".join(("feedwright", name, *map(quoted, words)))


_WORDS = {
    "--with": "stated", "--preset": "preset", "--material": "material", "--asked": "requested flow",
    "--draws": "machines drawn", "--allow-outside": "folder that counts as the config's",
}  # fmt: skip


def _given(asks: Asks) -> Iterator[tuple[str, str]]:
    """Yield what was given beside files, in words."""
    for option, values in stated_options(asks):
        if option in _WORDS:
            yield from ((_WORDS[option], value) for value in values)
    if not asks.allow:
        yield "allowances", "shown too"
