"""What `compare --target` found, for people: the smallest change first, then what falls short."""

from __future__ import annotations

from advisor.answers import LeverAnswer, TargetReport
from advisor.report.numbers import flow, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.strands import FLOW, StrandRow, write_strands
from advisor.report.words import limit_words

__all__ = ["write_target"]

_DECIMALS = (2, 3, 4)
_FEW = 3
_DIGITS = 9  # a value found is round: it is shown whole where all of it is


def write_target(page: Page, target: TargetReport, *, measured: bool, full: bool) -> None:
    """Write which change reaches the target; `measured`: after a weighed test."""
    surely = "" if target.wanted is None else f", {share(target.wanted)} sure,"
    page.heading(f"To reach {flow(target.target)} {FLOW}{surely} by changing one thing alone")
    if target.capacity is None or target.reached is None:
        page.entry("answer", "not known: the capacity is not known")
        return
    if target.lowered_to is not None:
        words = f"{quantity(target.lowered_to, 'A rms')}: the run current is more than this motor "
        page.entry("set first", f"{words}is rated for, so all below is at that current")
    told = f"{ranged(target.capacity, FLOW)}{', as measured' if measured else ''}"
    if target.reached:
        sure = "" if target.wanted is None else f", {share(target.sure or 0.0)} sure"
        page.entry("answer", f"it reaches it as it is{sure}: {told}", style="strong")
        return
    now = "" if target.wanted is None else f"; {_of_target(target.sure, target)}"
    page.entry("now", f"{told}{now}")
    _write_levers(page, target, full=full)


def _write_levers(page: Page, target: TargetReport, *, full: bool) -> None:
    reaching = [lever for lever in target.levers if lever.to is not None]
    if not reaching:
        page.entry("answer", _none(target), style="strong")
    for i, lever in enumerate(reaching):
        label, style = ("smallest", "strong") if i == 0 else ("or", "")
        page.entry(label, _reaches(lever, target, full=full), label_style=style)
    if full:
        _write_picture(page, target)
    rest = [lever for lever in target.levers if lever.to is None]
    if rest:
        surely = "" if target.wanted is None else ", or not so surely"
        page.heading(f"What does not reach it{surely}")
        for lever in rest:
            page.indented(_falls_short(lever, target, full=full), 1)


def _write_picture(page: Page, target: TargetReport) -> None:
    """Write a strand for the machine now and for each change that gains something."""
    pulled = [lever for lever in target.levers if lever.to is not None or lever.best is not None]
    if not pulled:
        return
    page.heading(f"What each change delivers in {FLOW}")
    rows = [StrandRow("now", target.capacity, target.bottleneck), *map(_strand, pulled)]
    write_strands(page, rows, wanted=target.target, line="target")


def _strand(lever: LeverAnswer) -> StrandRow:
    value = lever.to if lever.to is not None else lever.best
    shown = "" if value is None else f" {quantity(value, lever.unit, _DIGITS)}"
    return StrandRow(f"{lever.title}{shown}", lever.capacity, lever.bottleneck)


def _of_target(sure: float | None, target: TargetReport) -> str:
    """Say that the target is reached and how surely, or that it is not."""
    if not sure:
        return f"does not reach {quantity(target.target, FLOW)}"
    return f"reaches {quantity(target.target, FLOW)}, {share(sure)} sure"


def _none(target: TargetReport) -> str:
    """Say that nothing is enough; with a share wanted, what comes nearest to it."""
    start = "no change of one thing within its limits reaches it"
    if target.wanted is None:
        return start
    start = f"{start} in {share(target.wanted)} of machines like this one"
    tried = [lever for lever in target.levers if lever.best is not None and lever.sure]
    best = max(tried, key=lambda lever: lever.sure or 0.0, default=None)
    if best is None or best.best is None:
        return start
    value = quantity(best.best, best.unit, _FEW)
    return f"{start}; nearest comes {best.title} {value}, {share(best.sure or 0.0)} sure"


def _reaches(lever: LeverAnswer, target: TargetReport, *, full: bool) -> str:
    if lever.now is None or lever.to is None or lever.capacity is None:
        return lever.title
    assumed = " (assumed)" if lever.assumed else ""
    capacity, less = flow(lever.capacity.value), ""
    if full:
        capacity, less = _apart(lever.capacity.value, lever.one_step_less, target.target)
    told = f"{capacity} {FLOW}{less}; {share(lever.sure or 0.0)} sure"
    if target.wanted is not None:
        of_all = f"{_of_target(lever.sure, target)}{_less_sure(lever, full=full)}"
        told = f"{of_all}; typical {ranged(lever.capacity, FLOW)}"
    note = f"; {lever.note}" if lever.note else ""
    return (
        f"{lever.title} {quantity(lever.now, lever.unit)}{assumed} -> "
        f"{quantity(lever.to, lever.unit, _DIGITS if full else _FEW)}: {told}, "
        f"then the {limit_words(lever.bottleneck)} limits first"
        f"{note}"
    )


def _less_sure(lever: LeverAnswer, *, full: bool) -> str:
    """Return both shares with digits that tell them apart."""
    if not full or lever.sure is None or lever.one_step_less_sure is None:
        return ""
    here, less = (f"{100.0 * part:.2f} %" for part in (lever.sure, lever.one_step_less_sure))
    return f" ({here}, one step less {less})"


def _apart(capacity: float, less: float | None, target: float) -> tuple[str, str]:
    """Return a capacity and that of one step less, with decimals that tell it from the target."""
    if less is None:
        return _fine(capacity), ""
    digits = next((n for n in _DECIMALS if round(less, n) < target), _DECIMALS[-1])
    return _fine(capacity, digits), f", one step less {_fine(less, digits)}"


def _fine(value: float, digits: int = 2) -> str:
    return f"{value:.{digits}f}"


def _falls_short(lever: LeverAnswer, target: TargetReport, *, full: bool) -> str:
    bound = ""
    if lever.limit is not None:
        bound = f" (up to {quantity(lever.limit, lever.unit)}: {lever.limited_by})"
    if lever.best is None or lever.capacity is None:
        return f"{lever.title}: no gain{bound}"
    best = quantity(lever.best, lever.unit, _DIGITS if full else _FEW)
    if target.wanted is not None and lever.sure and lever.capacity.value >= target.target:
        return f"{lever.title}: at most {share(lever.sure)} sure, at {best}{bound}"
    return f"{lever.title}: at most {flow(lever.capacity.value)} {FLOW}, at {best}{bound}"
