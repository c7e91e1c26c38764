"""The report for people: whether it fits, the filament path, findings, what to measure, the sum.

It arranges; numbers come from the records and wording of findings from the rulebook.

First the answer (whether it fits, capacity, bottleneck, what helps), then the filament path: one
line a stage in its order, what it allows, and where the neck is. What macros and start code set
when they run, in place of what the config states, is told too. It draws nothing that does not also
stand in words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from advisor.base import Band, ExtruderReport, Figure, Finding, LaterSetting, Level, Report, State
from advisor.report.answer_notes import (
    write_next,
    write_rough,
    write_unused,
    write_uses,
    write_weighed,
)
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.findings_text import findings_lines, place, write_findings
from advisor.report.look import Look
from advisor.report.numbers import RANGE, bands, figure, flow, ranged, unit_words, wide
from advisor.report.open_text import (
    assumed_facts,
    open_inputs,
    write_assumed,
    write_assumed_line,
    write_measure_line,
    write_measure_next,
)
from advisor.report.page import LABEL, Page
from advisor.report.way_words import (
    FACTS,
    WayRow,
    answer_words,
    ends,
    shown_flows,
    way_rows,
    why_not_known,
)
from advisor.report.words import STAGE_LIMITS

__all__ = [
    "FACTS",
    "later_brief",
    "later_lines",
    "render",
    "sum_words",
    "write_answer",
    "write_way",
]

_NAMED = 2  # so many macros are named, the others counted
_TITLES = 2  # so many settings are named in brief
FLOW = "mm3/s"
FLOW_COLUMN, BAND_COLUMN, BEYOND_COLUMN, MARK_COLUMN = 6, 13, 14, 12
FEWEST_CELLS = 12
_SELDOM = 0.01  # share of likely machines below which a limit is never the lowest
_Table = Mapping[str, Band]
_Entry = tuple[ExtruderReport, _Table]
_SCREEN = 40  # lines, at the usual width
_BLANKS = 2  # empty lines around the findings


def later_lines(later: Iterable[LaterSetting]) -> Iterator[str]:
    """Yield a sentence for each setting: what it is set to, by which macro or start code, where."""
    for one in later:
        whose = f" of {one.extruder}" if one.extruder else ""
        ends = [figure(value, 4) for value in (one.values[0], one.values[-1])]
        value = " to ".join(dict.fromkeys(ends)) + unit_words(one.unit)
        by = f"by {_who(one)} {_macros(one)}, {place(one.at)}"
        if one.kept:
            ask = f"--asked {ends[-1]}mm3/s holds the machine to it"
            yield f"largest flow {value} kept {by}; not used here: {ask}"
        else:
            yield f"{one.title}{whose} set to {value} {by}"


def _who(one: LaterSetting) -> str:
    if one.profile:
        return "the profile's"
    return "macro" if len(one.macros) == 1 else "macros"


def later_brief(later: Iterable[LaterSetting]) -> Iterator[str]:
    """Yield in a line what macros set, without values and places; a flow they keep in full."""
    settings = list(later)
    yield from later_lines([one for one in settings if one.kept][:1])
    titles = list(dict.fromkeys(one.title for one in settings if not one.kept))
    if titles:
        more = len(titles) - _TITLES
        named = ", ".join(titles[:_TITLES]) + (f" and {more} more" if more > 0 else "")
        who = "macros and the profile's G-code" if any(x.profile for x in settings) else "macros"
        yield f"by {who}: {named} (--full)"


def _macros(one: LaterSetting) -> str:
    named = " and ".join(one.macros[:_NAMED])
    more = len(one.macros) - _NAMED
    return f"{', '.join(one.macros[:_NAMED])} and {more} more" if more > 0 else named


def write_answer(
    page: Page,
    extruder: ExtruderReport,
    bands: Mapping[str, Band],
    *,
    full: bool = True,
    found: Sequence[Finding] = (),
) -> None:
    """Write the lines that matter: whether it fits, the capacity, the bottleneck, what helps."""
    for said in answer_words(extruder, bands, full=full, found=found):
        page.entry(said.label, said.text, label_style="strong", style=said.style)


def write_way(
    page: Page, extruder: ExtruderReport, bands: Mapping[str, Band], *, full: bool = True
) -> None:
    """Write one line a stage: flow, range, what happens above it, the mark and the strand.

    Unless `full`, the limits that are too high to matter are only named.
    """
    rows, high = list(way_rows(extruder, bands)), list[WayRow]()
    if not full:
        rows, high = _that_matter(rows, extruder, bands)
    if not rows:
        return
    fixed = LABEL + FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    cells = page.look.width - fixed - 1
    flows = shown_flows(extruder, bands)
    if not page.look.bars or cells < FEWEST_CELLS or not flows:
        _in_words(page, rows, high)
        return
    asked = bands.get("demand.asked_flow")
    scale = scale_for(
        flows=flows, asked=asked.value if asked else None, cells=cells, drawn=page.look.drawn
    )
    head = "limit".rjust(FLOW_COLUMN) + " (range)".ljust(BAND_COLUMN) + "above that"
    page.blank()
    page.row((FLOW, ""), (" " * (LABEL - len(page.text(FLOW))), ""),
             (head.ljust(fixed - LABEL) + axis(scale), ""))  # fmt: skip
    for row in rows:
        _write_row(page, row, scale)
    _write_high(page, high)
    page.row((" " * LABEL + legend(scale, line="requested", plain=True), ""))


def _that_matter(
    rows: Sequence[WayRow], extruder: ExtruderReport, bands: Mapping[str, Band]
) -> tuple[list[WayRow], list[WayRow]]:
    """Return the stages that may limit, and those whose limit is too high to."""
    capacity, asked = bands.get("flow.capacity"), bands.get("demand.asked_flow")
    if capacity is None:
        said = f"not known: {why_not_known(extruder.facts, 'flow.capacity')}"
        return [row for row in rows if row.words != said and not _says_nothing(row)], []
    stages = {entry.limit: entry.stage for entry in STAGE_LIMITS}
    lowest = {stages.get(x.limit) for x in extruder.limits if x.bottleneck_share >= _SELDOM}
    shown, high = [], []
    for row in rows:
        limits = row.mark or row.stage in lowest or (asked and row.flow and _below(row.flow, asked))
        if row.flow is not None and row.strand and not limits:
            high.append(row)
        elif row.words.startswith("not known") or (row.flow is not None and row.strand):
            shown.append(row)
    return shown, high


def _below(limit: Band, asked: Band) -> bool:
    return limit.low < asked.value


def _says_nothing(row: WayRow) -> bool:
    return bool(row.words) and not row.words.startswith("not known")


def _write_high(page: Page, high: Sequence[WayRow]) -> None:
    if high:
        page.entry("higher", _high(high))


def _high(high: Sequence[WayRow]) -> str:
    return ", ".join(f"{row.stage} {figure(row.flow.value)}" for row in high if row.flow)


def _write_row(page: Page, row: WayRow, scale: Scale) -> None:
    style = "neck" if row.mark == "bottleneck" else ""
    words = FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    if row.words:
        text = row.words.ljust(words)
        if len(text) > words:
            page.entry(row.stage, row.words)
            return
    else:
        text = _numbers(row.flow) + row.beyond.ljust(BEYOND_COLUMN) + row.mark.ljust(MARK_COLUMN)
    drawn = strand(scale, row.flow if row.strand else None)
    page.row((row.stage.ljust(LABEL), style), (text, style), (drawn, ""))


def _numbers(limit: Band | None) -> str:
    if limit is None:
        return "?".rjust(FLOW_COLUMN) + " not known".ljust(BAND_COLUMN)
    likely = f"({ends(limit)})" if wide(limit) else ""
    return flow(limit.value).rjust(FLOW_COLUMN) + f" {likely}".ljust(BAND_COLUMN)


def _in_words(page: Page, rows: Sequence[WayRow], high: Sequence[WayRow]) -> None:
    """One sentence a stage, for narrow or dumb terminals."""
    page.heading("Filament path")
    for row in rows:
        text = row.words or (ranged(row.flow, FLOW) if row.flow else "not known")
        page.entry(row.stage, "; ".join(part for part in (text, row.beyond, row.mark) if part))
    _write_high(page, high)


def render(report: Report, look: Look | None = None, *, full: bool = False) -> str:
    """Return the report as text, on one screen, or all of it.

    Parameters
    ----------
    report : Report
        What was found.
    look : Look, optional
        Width, drawing and colour; by default those of a file.
    full : bool
        Whether to tell all of it.

    Returns
    -------
    str
        Lines, each with its line end; empty where nothing could be read.
    """
    page = Page(look or Look(), written=True)
    unread = bool(report.files) and not any(file.status == "read" for file in report.files)
    if unread and not report.findings:
        return ""
    write_unused(page, report.files)
    _write_answers(page, report, full=full, unread=unread)
    after = Page(page.look, written=True)
    (_write_end if full else _write_short_end)(after, report)
    if full:
        write_findings(page, report.findings, several=_several(report), first=_first(report))
    else:
        _write_found(page, report, after)
    page.blank()
    page.lines += after.lines
    return page.render()


def _several(report: Report) -> bool:
    return len(report.extruders) > 1


def _first(report: Report) -> str | None:
    """Return the stage of the bottleneck of the machine."""
    limits = [one.bottleneck for one in report.extruders]
    return next((entry.stage for entry in STAGE_LIMITS if entry.limit in limits[:1]), None)


def _entries(report: Report) -> list[_Entry]:
    return [(one, bands(_shown_facts(one))) for one in report.extruders]


def _write_answers(page: Page, report: Report, *, full: bool, unread: bool) -> None:
    """Write whether it fits, for each extruder that differs; the path where there is room."""

    def write(part: Page, extruder: ExtruderReport, table: _Table) -> None:
        write_uses(part, extruder.weighed)
        write_answer(part, extruder, table, full=full, found=report.findings)
        write_weighed(part, extruder.weighed, full=full)
        if full or alone:
            write_way(part, extruder, table, full=full)

    alone = True
    groups = list(_alike(_entries(report), page.look, write))
    alone = len(groups) == 1
    for alike in groups:
        if _several(report):
            page.heading(_names(alike, report))
        write(page, *alike[0])
    if report.extruders:
        write_rough(page, report.draws)
    elif not unread:
        page.entry("capacity", "not known: no extruder section was found", label_style="strong")


def _write_found(page: Page, report: Report, after: Page) -> None:
    """Write the findings in the lines that are left of the screen."""
    screen = _SCREEN * max(1.0, Look().width / page.look.width)
    room = int(screen) - len(page.lines) - len(after.lines) - _BLANKS
    lines = findings_lines(
        page, report.findings, room, several=_several(report), first=_first(report)
    )
    if lines:
        page.blank()
        page.lines += lines


def _write_short_end(page: Page, report: Report) -> None:
    """Write what to measure, what was assumed, what to type next, and the summary: a line each."""
    for extruder, table in _entries(report)[:1]:
        if not extruder.cases:  # else what to type next says which class to state
            write_measure_line(page, extruder)
        write_assumed_line(page, extruder, table)
    _write_summary(page, report, full=False)


def _write_end(page: Page, report: Report) -> None:
    """Write how to measure, what was assumed, what to type next, and the summary."""
    entries = _entries(report)
    told: set[str] = set()
    for alike in _alike(entries, page.look, _write_open):
        whose = f" for {_names(alike, report)}" if len(alike) < len(entries) else ""
        _write_open(page, *alike[0], whose=whose, told=told)
    _write_summary(page, report, full=True)


def _write_summary(page: Page, report: Report, *, full: bool) -> None:
    fine = not full and not report.findings and not any(one.kept for one in report.later)
    later = later_lines(report.later) if full else later_brief(() if fine else report.later)
    for number, line in enumerate(later):
        page.entry("" if number else "set later", line)
    step = next((one.next for one in report.extruders if one.next is not None), None)
    write_next(page, step, apart=full)
    if any(band is not None for band in map(_capacity, report.extruders)):
        page.entry("", RANGE)
    count = len(report.later) if fine else 0
    more = f"; {count} value{'s are' if count > 1 else ' is'} set later (--full)" if count else ""
    page.entry("summary", sum_words(report) + more)


def _capacity(extruder: ExtruderReport) -> Band | None:
    fact = extruder.facts.get("flow.capacity")
    return None if fact is None else fact.band


def _write_open(
    page: Page,
    extruder: ExtruderReport,
    table: _Table,
    *,
    whose: str = "",
    told: set[str] | None = None,
) -> None:
    write_measure_next(page, extruder, whose, told)
    write_assumed(page, extruder, table, whose)


def _alike(
    entries: Sequence[_Entry], look: Look, write: Callable[[Page, ExtruderReport, _Table], None]
) -> Iterable[list[_Entry]]:
    """Return the extruders in groups of which `write` would say the same, word for word."""
    groups: dict[str, list[_Entry]] = {}
    for entry in entries:
        part = Page(replace(look, colours=None))
        write(part, *entry)
        groups.setdefault(part.render(), []).append(entry)
    return groups.values()


def _shown_facts(extruder: ExtruderReport) -> list[Figure]:
    """Return the facts whose numbers the text shows; the others need no percentiles."""
    names = (*FACTS, *open_inputs(extruder), *assumed_facts(extruder))
    return [extruder.facts[name] for name in dict.fromkeys(names) if name in extruder.facts]


def _names(alike: Sequence[_Entry], report: Report) -> str:
    return ", ".join(_name(extruder, report) for extruder, _ in alike)


def _name(extruder: ExtruderReport, report: Report) -> str:
    """Return the extruder's name, with its config where several configs were read."""
    configs = {entry.config for entry in report.extruders if entry.config}
    if len(configs) < 2:
        return extruder.name
    called = f"{extruder.called}, " if extruder.called else ""
    return f"{extruder.name} of {called}{extruder.config}"


def sum_words(report: Report) -> str:
    """Return how many findings of each level there are, and how many files were read."""
    counts = [(report.count(level), level.value) for level in Level]
    told = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in counts if count]
    read = sum(file.status == "read" for file in report.files)
    lost = len(report.files) - read
    files = f"{read} file{'s' if read != 1 else ''} read"
    files += f", {lost} not" if lost else ""
    allowed = f"; {len(report.allowed)} allowed by the owner" if report.allowed else ""
    moves = f"{report.unread_moves} move{'s' if report.unread_moves > 1 else ''}"
    unread = (
        f"; {moves} of filament in macros known only when they run" if report.unread_moves else ""
    )
    copies = f"; {_copies(report.copies)} left out" if report.copies else ""
    current = "; no driver section read: current not judged" if _undriven(report) else ""
    unused = sum(file.role == "sheet" and file.status != "read" for file in report.files)
    if unused:
        told.insert(0, f"{unused} sheet{'s' if unused > 1 else ''} to correct")
    return f"{', '.join(told) or 'nothing to report'}{allowed}; {files}{copies}{unread}{current}"


def _undriven(report: Report) -> bool:
    chips = [extruder.facts.get("driver.chip") for extruder in report.extruders]
    return any(chip is not None and chip.state is State.MISSING for chip in chips)


def _copies(copies: Sequence[str]) -> str:
    return f"{len(copies)} dated copies" if len(copies) > 1 else f"the dated copy {copies[0]}"
