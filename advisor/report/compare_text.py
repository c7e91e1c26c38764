"""The answer of `compare` for people: who delivers what, then the finer points, then the target.

Sentences say which machine delivers most, and which delivers what is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from advisor.answers import CompareReport, Variant
from advisor.base import Band, Weighed
from advisor.report.answer_notes import write_rough, write_uses, write_weighed
from advisor.report.clean import cell_width, plain
from advisor.report.compare_table import (
    ADVANCE_LEGEND,
    PUSH_LEGEND,
    corner,
    label,
    push,
    write_table,
)
from advisor.report.compare_target import write_target
from advisor.report.look import Look
from advisor.report.numbers import RANGE, case_degrees, figure, flow, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.strands import FLOW, StrandRow, write_strands
from advisor.report.words import limit_words

__all__ = ["asked_words", "listed", "most_words", "moved", "named", "render"]

_ALIKE = 5e-3  # capacities within this share of each other are as good as the same
_SURE = 0.95
_TOSS_UP = 0.2  # so close are the shares of more and of less where neither is to be named first
_Row = tuple[str, ...]
_BESIDE = (  # head, columns
    ("more flow in", 14), ("less flow in", 14), ("skips at", 10), ("fits", 7),
    ("narrower", 10), ("limits first", 18),
)  # fmt: skip
_FINE = (
    ("motor", "g", 7), ("case", "degC", 8), ("current", "A RMS", 10), ("step", "mm", 9),
    ("lag", "mm", 8), ("trusted", "mm/s", 10), ("highest", "mm/s", 10),
)  # fmt: skip
_PUSHES = (
    ("skip", "N", 14), ("slip", "N", 14), ("peak", "mm/s", 14), ("of corner", "", 12),
)  # fmt: skip
_NUMBER = 4


def named(row: Variant) -> str:
    """Return a machine's number and its short name."""
    return f"{row.number} ({row.short or row.name})"


def listed(words: Sequence[str]) -> str:
    """Return ``1, 2 and 4``."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def most_words(rows: Sequence[Variant]) -> str:
    """Say which of the machines delivers most, and how sure that is; '' where it is not known.

    A machine whose motor does not bear its current is named best only where all are like that.
    """
    known = [(row.capacity.value, row) for row in _borne(rows) if row.capacity is not None]
    if not known or len(rows) < 2:
        return ""
    most = max(value for value, _ in known)
    best = [row for value, row in known if value >= most * (1.0 - _ALIKE)]
    first = next((row for row in best if row.number == 1), None)
    top = first or max(best, key=lambda row: row.better_share or 0.0)
    others = [str(row.number) for row in best if row is not top]
    alike = f"; {listed(others)} as much" if others else ""
    hot = [row for row in rows if row.above_derated]
    limits = f"; {limit_words(top.bottleneck)} limits first"
    return f"{_start(top, hot)}{_tossed(top, rows)}{limits}{alike}{_too_hot(hot, top)}"


def _borne(rows: Sequence[Variant]) -> Sequence[Variant]:
    """Return the machines whose motor bears its current; all, where none does."""
    return [row for row in rows if not row.above_derated] or rows


def _start(top: Variant, hot: Sequence[Variant]) -> str:
    bears = " at a current its motor is rated for" if hot and top not in hot else ""
    if top.number == 1:
        return f"nothing delivers more than 1{bears}: {_capacity(top)}"
    if _toss_up(top):
        return (
            f"{named(top)} may deliver most{bears}: {_capacity(top)}, but whether it is more than "
            f"1 is a toss-up ({share(top.better_share or 0.0)})"
        )
    start = f"{named(top)} delivers most{bears}: {_capacity(top)}"
    if top.better_share is None or any(row.number == 1 for row in hot):
        return start
    return f"{start}, {share(top.better_share)} sure that it is more than 1"


def _toss_up(row: Variant) -> bool:
    """Whether it is as likely to deliver more than the first as it is to deliver less."""
    more, less = row.better_share or 0.0, row.worse_share or 0.0
    return bool(more) and abs(more - less) < _TOSS_UP


def _tossed(top: Variant, rows: Sequence[Variant]) -> str:
    """Name the machines that the first is not sure to be ahead of."""
    close = [row for row in _borne(rows) if row.number != 1 and _toss_up(row)]
    if top.number != 1 or not close:
        return ""
    told = listed([f"{row.number} ({share(row.better_share or 0.0)})" for row in close])
    return f"; whether more comes of {told} is a toss-up"


def _too_hot(hot: Sequence[Variant], top: Variant) -> str:
    """Say which machines owe more to a current that their motor does not bear."""
    if top in hot:
        return "; but its current is above what its motor is rated for"
    most = 0.0 if top.capacity is None else top.capacity.value
    more = [str(row.number) for row in hot if row.capacity and row.capacity.value > most]
    if not more:
        return ""
    verb = "delivers" if len(more) == 1 else "deliver"
    return f"; {listed(more)} {verb} more, but only by too much current"


def _capacity(row: Variant) -> str:
    return "" if row.capacity is None else ranged(row.capacity, FLOW)


def asked_words(report: CompareReport) -> str:
    """Say which of the machines delivers what is asked, and how surely; '' where nothing is."""
    rows = _borne(report.variants)
    known = [(row.delivers_asked, row) for row in rows if row.delivers_asked is not None]
    if report.asked is None:
        return ""
    start = quantity(report.asked.value, FLOW)
    if not known:
        return f"{start}: it is not known what delivers it"
    sure = [row for part, row in known if part >= _SURE]
    if len(sure) == len(report.variants) > 1:
        return f"{start}: all deliver it"
    if sure:
        verb = "delivers" if len(sure) == 1 else "deliver"
        return f"{start}: {listed([str(row.number) for row in sure])} {verb} it"
    part = max(part for part, _ in known)
    if part == 0.0:
        return f"{start}: none delivers it"
    best = listed([str(row.number) for one, row in known if one == part])
    none = "none delivers it for sure" if part >= 0.5 else "none is likely to deliver it"
    comes = "come" if " and " in best else "comes"
    return f"{start}: {none}; {best} {comes} nearest, {share(part)} sure"


def moved(row: Variant, first: Variant | None) -> str:
    """Return what limits first, and whether it is what limits the first machine."""
    if row.bottleneck is None or first is None or first.bottleneck is None or row.number == 1:
        return limit_words(row.bottleneck)
    still = limit_words(row.bottleneck) == limit_words(first.bottleneck)
    return f"still {limit_words(row.bottleneck)}" if still else limit_words(row.bottleneck)


def render(report: CompareReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text: one table; strands and every figure with `full`."""
    page = Page(look or Look(), written=True)
    write_uses(page, report.weighed)
    for sentence in report.lacking:
        page.entry("lacking", sentence)
    if report.weighed is not None and report.weighed.contradiction is None:
        write_weighed(page, report.weighed, full=full)
    _write_contradiction(page, report.weighed)
    rows = len(report.variants)
    if rows and (rows + report.left_out > 1 or report.target is None):
        _write_answers(page, report)
        if full:
            _write_flows(page, report)
            _write_beside(page, report)
            _write_fine(page, report.variants)
            _write_pushes(page, report.variants)
        else:
            write_table(page, report, measured=_measured(report))
    if report.target is not None:
        write_target(page, report.target, measured=_measured(report), full=full)
    _write_notes(page, report)
    if rows or report.target is not None:
        page.entry("", RANGE)
    return page.render()


def _write_contradiction(page: Page, weighed: Weighed | None) -> None:
    """Write what a test that was not used shows, and why that may be."""
    if weighed is None or weighed.contradiction is None:
        return
    tests = ", ".join(weighed.names or weighed.files)
    words = f"{tests} was not used, it contradicts the machine as stated"
    page.entry("weighed", words, label_style="strong", style="warning")
    page.entry("seen", f"{weighed.contradiction}")
    for i, cause in enumerate(weighed.causes):
        page.entry("may be" if i == 0 else "or", cause)


def _measured(report: CompareReport) -> bool:
    return report.weighed is not None and report.weighed.agrees


def _write_answers(page: Page, report: CompareReport) -> None:
    """Write which machine delivers most, and which what is asked."""
    if report.left_out:
        words = f"{report.left_out} left out by --limit: the answer is of those below"
        page.entry("shown", words)
    for head, words in (
        ("answer", most_words(report.variants)),
        ("requested", asked_words(report)),
    ):
        if words:
            page.entry(head, words, label_style="strong", style="strong")
    if report.varied:
        page.entry("varied", ", ".join(report.varied))
    write_rough(page, report.draws)


def _write_flows(page: Page, report: CompareReport) -> None:
    """Write one strand a variant on a common scale with its numbers beside it."""
    told = ", as measured" if _measured(report) else ""
    page.heading(f"What each delivers in {FLOW}{told}")
    wanted, line = _wanted(report)
    rows = [
        StrandRow(label(row), row.capacity, row.bottleneck, "warning" if row.above_derated else "")
        for row in report.variants
    ]
    write_strands(page, rows, wanted=wanted, line=line)


def _wanted(report: CompareReport) -> tuple[float | None, str]:
    if report.asked is None and report.target is not None:
        return report.target.target, "target"
    return None if report.asked is None else report.asked.value, "asked"


def _cells(texts: Iterable[str], widths: Iterable[int]) -> str:
    pairs = zip(texts, widths, strict=True)
    return "".join(text.rjust(width) for text, width in pairs)


def _lead(page: Page, rows: Iterable[Variant], columns: int) -> int:
    """Return the columns before a table: for the names where all fit, else for the numbers."""
    names = max(cell_width(plain(label(row))) for row in rows) + 1
    return max(names, _NUMBER) if names + columns <= page.look.width else _NUMBER


def _named(row: Variant, columns: int) -> str:
    shown = plain(label(row) if columns > _NUMBER else str(row.number))
    return shown + " " * (columns - cell_width(shown))


def _write_beside(page: Page, report: CompareReport) -> None:
    """Write how each does beside the first: how sure it is better, where the bottleneck goes."""
    if len(report.variants) < 2:
        return
    page.heading("Against the first one, by the number above")
    first = next((row for row in report.variants if row.number == 1), None)
    heads, widths = zip(*_BESIDE, strict=True)
    if page.look.width < _NUMBER + sum(widths):
        for row in report.variants:
            page.indented(f"{row.number}: {'; '.join(_beside_words(row, first))}", 1)
    else:
        lead = _lead(page, report.variants, sum(widths))
        left = {"fits": report.asked is None, "narrower": not _measured(report)}
        shown = ["" if left.get(head) else head for head in heads]
        page.row((" " * lead + _cells(shown, widths), ""))
        for row in report.variants:
            cells = _cells(_beside(row, first, report), widths)
            page.row((_named(row, lead) + cells, ""))
    page.indented(" ".join(_beside_legend(report)), 1)


def _beside_legend(report: CompareReport) -> Iterator[str]:
    yield (
        "more, less: how sure it is that it delivers more or less than the first, each pair of "
        "machines alike but for the change."
    )
    if report.asked is not None:
        yield "fits: how sure it is that it delivers what the slicer asks."
    if _measured(report):
        yield (
            "narrower: by how much the weighed test narrows the range; it was weighed on the "
            "first, so it tells nothing of parts that are replaced."
        )


def _beside(row: Variant, first: Variant | None, report: CompareReport) -> _Row:
    better, less, narrower = row.better_share, row.worse_share, row.narrower
    return (
        "-" if better is None else share(better),
        "-" if less is None else share(less),
        flow(row.skip.value) if row.skip else "?",
        share(row.delivers_asked) if report.asked and row.delivers_asked is not None else "",
        "" if narrower is None or not _measured(report) else share(max(narrower, 0.0)),
        moved(row, first),
    )


def _beside_words(row: Variant, first: Variant | None) -> Iterator[str]:
    if row.better_share is not None and row.worse_share is not None:
        yield f"more flow in {share(row.better_share)}, less flow in {share(row.worse_share)}"
    if row.delivers_asked is not None:
        yield f"fits, {share(row.delivers_asked)} sure"
    if row.skip is not None:
        yield f"skips at {flow(row.skip.value)} {FLOW}"
    if row.narrower is not None and row.narrower > 0.0:
        yield f"narrower by {share(row.narrower)}"
    if row.bottleneck:
        yield f"limits first: {moved(row, first)}"


def _write_fine(page: Page, rows: Sequence[Variant]) -> None:
    page.heading("Motor, resolution and retract, by the number above")
    _write_columns(page, rows, _FINE, _fine)
    page.indented(
        "motor: its mass. case: after a long run. current: as the driver applies it; ! is above "
        "the derated current. step: filament per microstep. lag: how far the feed trails at the "
        "capacity. trusted, highest: retract speed of the filament that the motor is trusted with, "
        "and the highest its torque moves, up to 0.9 of the corner speed.",
        1,
    )


def _write_pushes(page: Page, rows: Sequence[Variant]) -> None:
    """Write the push at which each gives way, and what its pressure advance asks of the motor."""
    page.heading("Push and pressure advance, by the number above")
    _write_columns(page, rows, _PUSHES, _pushes)
    page.indented(
        f"skip, slip: {PUSH_LEGEND}. peak: filament speed with pressure advance while the head "
        f"accelerates. of corner: {ADVANCE_LEGEND}; - where no advance is set.",
        1,
    )


def _pushes(row: Variant) -> _Row:
    return push(row.skip_push), push(row.slip_push), push(row.advance_peak), corner(row)


def _write_columns(
    page: Page,
    rows: Sequence[Variant],
    columns: Sequence[tuple[str, str, int]],
    cells: Callable[[Variant], _Row],
) -> None:
    """Write a table under heads and units; a line of words a machine where it does not fit."""
    heads, units, widths = zip(*columns, strict=True)
    if page.look.width < _NUMBER + sum(widths):
        for row in rows:
            triples = zip(heads, cells(row), units, strict=True)
            words = "; ".join(f"{head} {cell} {unit}".rstrip() for head, cell, unit in triples)
            page.indented(f"{row.number}: {words}", 1)
        return
    lead = _lead(page, rows, sum(widths))
    page.row((" " * lead + _cells(heads, widths), ""))
    page.row((" " * lead + _cells(units, widths), ""))
    for row in rows:
        page.row((_named(row, lead) + _cells(cells(row), widths), ""))


def _fine(row: Variant) -> _Row:
    mark = "!" if row.above_derated else ""
    return (
        _digits(row.motor_mass, 2),
        case_degrees(row.case_temperature),
        mark + _digits(row.run_current, 3),
        _digits(row.microstep, 2),
        _digits(row.lag, 2),
        _digits(row.retract_trusted, 2),
        _digits(row.retract_torque, 2),
    )


def _digits(estimate: Band | None, digits: int) -> str:
    return "-" if estimate is None else figure(estimate.value, digits)


def _write_notes(page: Page, report: CompareReport) -> None:
    told: dict[str, list[str]] = {}
    for row in report.variants:
        for note in row.notes:
            told.setdefault(note, []).append(str(row.number))
    hot = [str(row.number) for row in report.variants if row.above_derated]
    if hot:
        told["the current is above what this motor is rated for: set motor.run_current=derated"] = (
            hot
        )
    if not told:
        return
    page.heading("Caution")
    for note, numbers in told.items():
        page.entry(", ".join(numbers) if len(numbers) <= 3 else f"{numbers[0]}, ...", f"{note}.")
