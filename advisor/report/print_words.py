"""The verdict on a print and its limits in words, the same for terminal, page and findings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.answers import DemandReport, ExcessPlace, RefusedMoves, SlowedMoves, WindowRow
from advisor.base import frozen
from advisor.report.case_words import hangs_words
from advisor.report.numbers import figure, flow, quantity, ranged, share
from advisor.report.way_words import gain_words

__all__ = [
    "NEVER",
    "WINDOW_HEADS",
    "WindowWords",
    "answer_words",
    "firmware_words",
    "found_words",
    "helps_words",
    "place_words",
    "small_share",
    "window_rows",
]  # fmt: skip

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


_REFUSED = {
    "distance": ("{0} of filament in one move, at most {1} are allowed", "mm"),
    "section": ("a line of {0}, at most {1} are allowed", "mm2"),
    "hot": ("{0} are set, at most {1} are allowed", "degC"),
    "cold": ("{0} is the highest temperature set, below {1} no filament is moved", "degC"),
}


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
