"""The answer of `demand` for people: does it fit, then where and when it asks the most.

The verdict and the limits in words are the same for terminal, page and findings.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Sequence

from advisor.answers import (
    DemandReport,
    DemandRow,
    ExcessPlace,
    RefusedMoves,
    SlowedMoves,
    WindowRow,
)
from advisor.base import frozen
from advisor.report.answer_notes import write_unused, write_uses, write_weighed
from advisor.report.caps_text import clock, slicer_time_words, write_caps
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.way_words import gain_words
from advisor.report.words import caps_words, case_words, condition_words, hangs_words, label_of

__all__ = [
    "NEVER",
    "WINDOW_HEADS",
    "WindowWords",
    "answer_words",
    "firmware_words",
    "found_words",
    "helps_words",
    "place_words",
    "render",
    "small_share",
    "stretches",
    "window_rows",
]

FLOW = "mm3/s"
_NAMES = {
    "torque": "motor with margin",
    "skip": "motor skips",
    "grip": "grip",
    "slip": "filament slips",
    "buckling": "filament buckles",
    "melt": "melt zone",
    "heater": "heater",
}
_LOSING = ("skip", "slip")
NEVER = "never"
WINDOW_HEADS = ("limit", "mean over", "asks", "can sustain", "above that")
_REFUSED = {
    "distance": ("{0} of filament in one move, at most {1} are allowed", "mm"),
    "section": ("a line of {0}, at most {1} are allowed", "mm2"),
    "hot": ("{0} are set, at most {1} are allowed", "degC"),
    "cold": ("{0} is the highest temperature set, below {1} no filament is moved", "degC"),
}
_MOST_ROWS = 12
_COLUMNS = (20, 14, 7, 20)  # of the table of limits
_NARROW = 75  # columns below which the table is told in sentences
_FEATURES, _PLACES, _REMARKS = 3, 3, 1  # that are told without --full
_MOST_PLACES = 5


@frozen
class WindowWords:
    """A limit in words: its name, its window, what is asked, what is allowed, the time above."""

    limit: str
    window: str
    asked: str
    allowed: str
    above: str


def answer_words(report: DemandReport) -> tuple[str, str]:
    """Return whether the print fits, and the style of that sentence."""
    if report.verdict is None:
        hangs = hangs_words(report.cases)
        return (hangs, "warning") if hangs else ("not known", "strong")
    cap = _cap(report)
    if report.verdict == "does-not-fit":
        return f"it does not fit: the print asks for more than this extruder delivers{cap}", "error"
    if report.verdict == "fits-except":
        part = f"{small_share(report.above_any)} of the extruding time"
        return f"it fits except at {_places(report.place_count)} ({part}){cap}", "warning"
    if report.sure:
        return f"it fits, but only {share(1.0 - report.sure)} sure", "strong"
    return "it fits", "strong"


def helps_words(report: DemandReport) -> str:
    """Return what would make the extruder deliver more, where the print asks too much of it."""
    beyond = report.verdict == "does-not-fit" or bool(hangs_words(report.cases))
    return gain_words(report.gains, short=bool(report.cases)) if beyond and report.gains else ""


def _cap(report: DemandReport) -> str:
    if report.cap_that_removes is None:
        return "; the cap to set depends on the hotend" if _by_hotend(report) else ""
    return f"; it fits with a cap of {flow(report.cap_that_removes)} {FLOW}"


def _by_hotend(report: DemandReport) -> bool:
    return any(case.field == "hotend.class" for case in report.cases)


def _places(count: int) -> str:
    return f"{count} place{'' if count == 1 else 's'}"


def found_words(report: DemandReport) -> Iterator[tuple[str, str]]:
    """Yield the level and the sentence of what is found of the temperature."""
    for one in report.findings:
        yield one.level.value, f"{one.message} {one.advice or ''}".rstrip()


def firmware_words(report: DemandReport) -> Iterator[str]:
    """Yield a sentence for each thing the firmware stops the print at or slows."""
    yield from _refused_words(report.refused)
    yield from _slowed_words(report.slowed)


def _refused_words(refused: Iterable[RefusedMoves]) -> Iterator[str]:
    """Yield a sentence for each kind of move or temperature the firmware stops the print at."""
    for one in refused:
        what, unit = _REFUSED[one.kind]
        asked, allowed = quantity(one.asked, unit), quantity(one.allowed, unit)
        more = f" ({one.count} such moves)" if one.count > 1 else ""
        yield f"The firmware stops it in line {one.line}: {what.format(asked, allowed)}{more}."


def _slowed_words(slowed: Iterable[SlowedMoves]) -> Iterator[str]:
    """Yield a sentence for each kind of move of filament alone that the firmware slows."""
    for one in slowed:
        many = one.count > 1
        moves = f"{one.count} moves" if many else "a move"
        if one.kind == "speed":
            asked, runs = (quantity(speed, "mm/s") for speed in (one.asked, one.runs))
            which = f"the fastest in line {one.line}, {asked}" if many else f"line {one.line}"
            slowed_from = "" if many else f" from {asked}"
            yield (
                f"The firmware slows {moves} of filament alone{slowed_from} to {runs} ({which})."
            )
        else:
            asked, runs = (quantity(time, "s") for time in (one.asked, one.runs))
            which = f"the one in line {one.line} {runs}" if many else runs
            place = "" if many else f" in line {one.line}"
            yield (
                f"The extrude-only acceleration limit stretches {moves} of filament alone{place}: "
                f"{which} in place of {asked}."
            )


def small_share(part: float) -> str:
    """Return a share of time, finer where it is small: ``0.04 %``."""
    if not 0.0 < part < 0.01:
        return share(part)
    return f"{figure(100.0 * part, 1)} %" if part >= 1e-5 else "under 0.001 %"


def window_rows(report: DemandReport, *, brief: bool = False) -> Iterator[WindowWords]:
    """Yield the limits in words; skip and slip only where the print is above them.

    `brief`: the lowest limit first, and neither skip nor slip, which lie above motor and grip.
    """
    rows = sorted(report.windows, key=lambda row: row.allowed.value) if brief else report.windows
    for row in rows:
        if row.limit in _LOSING and (brief or not row.share_above):
            continue
        yield WindowWords(
            limit=_NAMES[row.limit],
            window=_window(row),
            asked="too short" if row.asked is None else flow(row.asked),
            allowed=_allowed(row),
            above=small_share(row.share_above) if row.share_above else NEVER,
        )


def _window(row: WindowRow) -> str:
    if row.window_mm3 is not None:
        return quantity(row.window_mm3, "mm3")
    shortest, longest = row.shortest_s or 0.0, row.window_s or 0.0
    words = quantity(longest, "s")
    return words if shortest >= longest else f"{figure(shortest)} to {words}"


def _allowed(row: WindowRow) -> str:
    if row.allowed.high - row.allowed.low < 0.02 * row.allowed.value:
        return flow(row.allowed.value)
    return f"{flow(row.allowed.value)} {ranged(row.allowed, '').partition(' ')[2]}".rstrip()


def place_words(place: ExcessPlace) -> str:
    """Return what a place asks, and of which limit."""
    height = "" if place.height is None else f", height {figure(place.height)} mm"
    feature = f", {place.feature.replace('-', ' ')}" if place.feature else ""
    what = f"{flow(place.asked)} {FLOW}, {_NAMES[place.limit]} at {flow(place.allowed)}"
    return f"{what}{height}{feature}"


def render(report: DemandReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; one screen of it without `full`."""
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    if report.caps is not None:
        write_caps(page, report.caps, report.time)
        if report.slicer_time is not None:
            page.entry("slicer says", slicer_time_words(report.slicer_time, report.time))
    _write_answer(page, report)
    if report.caps is not None and not full:
        return page.render()
    _write_numbers(page, report, full=full)
    _write_windows(page, report, full=full)
    most = max(1, _FEATURES - 2 * len(report.findings))  # two lines are told of each
    _write_features(page, report.features, len(report.features) if full else most)
    _write_worst(page, report, full=full)
    _write_remarks(page, report, full=full)
    page.entry("", RANGE)
    return page.render()


def _write_answer(page: Page, report: DemandReport) -> None:
    words, style = answer_words(report)
    label = "answer" if report.caps is None else "verdict"
    page.entry(label, words, label_style="strong", style=style)
    for sentence in (*firmware_words(report), *report.lacking):
        page.entry("", sentence)


def _write_windows(page: Page, report: DemandReport, *, full: bool) -> None:
    """One line a limit: its window, what is asked over it, what it can sustain, the time above."""
    rows = list(window_rows(report, brief=not full))
    if not rows:
        return
    page.heading(f"What the print asks, and what each part can sustain, in {FLOW}")
    never = [row.limit for row in rows if row.above == NEVER and not full]
    told = [row for row in rows if row.limit not in never]
    if page.look.width < _NARROW:
        for row in told:
            words = f"asks {row.asked} over {row.window}, can sustain {row.allowed}"
            page.indented(f"{row.limit}: {words}; above that {row.above}", 1)
    elif told:
        for cells in (WINDOW_HEADS, *(dataclasses.astuple(row) for row in told)):
            columns = [cell.ljust(width) for cell, width in zip(cells[:-1], _COLUMNS, strict=True)]
            page.row(("  " + "".join(columns) + cells[-1], ""))
    if never:
        page.indented(f"never too much for the {', the '.join(never)}", 1)


def _write_numbers(page: Page, report: DemandReport, *, full: bool) -> None:
    peak = f"{flow(report.peak)} {FLOW} in line {report.peak_line}{_also(report)}"
    if report.cap is not None:
        peak += f"; the slicer profile caps at {flow(report.cap)}{_beyond_cap(report)}"
    page.entry("peak", peak)
    if report.capacity is not None:
        place = condition_words(report.material, report.temperature, report.nozzle)
        page.entry("capacity", f"{ranged(report.capacity, FLOW)}{place}")
        for level, sentence in found_words(report):
            page.entry(level, sentence, style=level)
        _write_cases(page, report, full=full)
        write_weighed(page, report.weighed, full=full)
        if helps := helps_words(report):
            page.entry("what helps", helps)
    filament = f"{figure(report.filament / 1e3)} m of filament"
    page.entry("print", f"{report.moves} moves, {clock(report.time)} of motion, {filament}")
    if full:
        page.entry("filament", _filament(report))
        if report.slicer_time is not None and report.caps is None:
            page.entry("slicer says", slicer_time_words(report.slicer_time, report.time))


def _write_cases(page: Page, report: DemandReport, *, full: bool) -> None:
    label, caps = caps_words(report.cases) if report.cases and not full else ("", "")
    if caps:
        page.entry(label, caps)
        return
    for case in report.cases:
        page.entry(label_of(case), case_words(case))


def _also(report: DemandReport) -> str:
    """Name the other lines that ask as much as the first of the worst."""
    others = [str(row.line) for row in report.worst if row.line != report.peak_line]
    if report.verdict == "fits-except" or not others:
        return ""
    return f"; the next are in lines {', '.join(others[:_PLACES])}"


def _beyond_cap(report: DemandReport) -> str:
    if report.cap is None or report.peak <= report.cap * 1.02:
        return ""
    return ", the print exceeds it"


def _filament(report: DemandReport) -> str:
    speed = quantity(report.extruder_peak_speed, "mm/s")
    text = f"at most {speed} and {quantity(report.extruder_peak_accel, 'mm/s2')} with pressure "
    text += "advance"
    if report.advance_speed_share is not None:
        text += f"; {share(report.advance_speed_share)} of the motor's corner speed"
    return text


def stretches(layers: Sequence[DemandRow]) -> list[DemandRow]:
    """Join layers into at most a dozen stretches of height, the lowest first."""
    placed = sorted((x for x in layers if x.height is not None), key=lambda x: x.height or 0.0)
    placed = [layer for layer in placed if layer.volume > 0.0]
    if not placed:
        return []
    step = -(-len(placed) // _MOST_ROWS)
    groups = [placed[i : i + step] for i in range(0, len(placed), step)]
    return [_joined(group) for group in groups]


def _joined(group: Sequence[DemandRow]) -> DemandRow:
    low, high = group[0].height or 0.0, group[-1].height or 0.0
    name = f"{low:.1f}" if len(group) == 1 else f"{low:.1f}-{high:.1f}"
    sustained = [row.sustained for row in group if row.sustained is not None]
    return DemandRow(
        name=name,
        time=sum(row.time for row in group),
        volume=sum(row.volume for row in group),
        peak=max(row.peak for row in group),
        sustained=max(sustained) if sustained else None,
        above_time=0.0,
        above_volume=0.0,
        height=high,
    )


def _write_features(page: Page, features: Iterable[DemandRow], told: int) -> None:
    rows = sorted(features, key=lambda row: (-(row.sustained or 0.0), -row.peak, row.name))
    if not rows:
        return
    page.heading("By feature, most demanding first")
    for row in rows[:told]:
        page.indented(_row(row), 1)
    _write_rest(page, len(rows) - told)


def _row(row: DemandRow) -> str:
    sustained = "too short to sustain"
    if row.sustained is not None:  # a window may reach back into a faster feature
        sustained = f"{flow(min(row.sustained, row.peak))} {FLOW}"
    text = f"{row.name}: {sustained}, peak {flow(row.peak)}; {clock(row.time)}"
    if row.above_time:
        text += f"; {share(row.above_time)} of it above the capacity"
    return text


def _write_worst(page: Page, report: DemandReport, *, full: bool) -> None:
    """The places above a limit where they are few, else where the flow is largest."""
    most = _MOST_PLACES if full else _PLACES
    if report.verdict == "fits-except":
        page.heading("Where it asks too much")
        for place in report.places[:most]:
            page.indented(f"line {place.line}: {place_words(place)}", 1)
        _write_rest(page, report.place_count - len(report.places[:most]))
    elif report.worst and full:
        page.heading("Where it asks the most")
        for row in report.worst[:most]:
            height = "" if row.height is None else f", height {figure(row.height)} mm"
            feature = f", {row.feature.replace('-', ' ')}" if row.feature else ""
            page.indented(f"line {row.line}: {flow(row.flow)} {FLOW}{height}{feature}", 1)


def _write_remarks(page: Page, report: DemandReport, *, full: bool) -> None:
    if not report.remarks:
        return
    page.blank()
    told = len(report.remarks) if full else _REMARKS
    for sentence in report.remarks[:told]:
        page.entry("caveat", sentence)
    _write_rest(page, len(report.remarks) - told)


def _write_rest(page: Page, rest: int) -> None:
    if rest > 0:
        page.indented(f"and {rest} more (--full)", 1)
