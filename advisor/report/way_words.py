"""The answer and the filament path in words, the same on the terminal and on the page.

It turns an extruder's report into sentences and rows; it lays nothing out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from advisor.base import (
    Band,
    ExtruderReport,
    Figure,
    Finding,
    Level,
    LeverGain,
    LimitBand,
    OriginKind,
    State,
    frozen,
)
from advisor.report.numbers import figure, flow, quantity, share, times, wide
from advisor.report.words import (
    STAGE_LIMITS,
    StageLimit,
    caps_words,
    case_words,
    condition_words,
    fact_words,
    hangs_words,
    label_of,
    limit_words,
)

__all__ = [
    "FACTS",
    "AnswerLine",
    "WayRow",
    "answer_words",
    "ends",
    "gain_words",
    "shown_flows",
    "way_rows",
    "why_not_known",
]


_STATE_WORDS = {  # of one input, of several
    State.MISSING: ("is not stated", "are not stated"),
    State.UNKNOWN: ("may stand in a missing include", "may stand in a missing include"),
    State.UNREADABLE: ("is no value", "are no values"),
}
_MOST_NAMED = 3


def why_not_known(facts: Mapping[str, Figure], name: str) -> str:
    """Return in words which inputs of the fact `name` are missing; '' where that is not known."""
    fact = facts.get(name)
    if fact is None or fact.known:
        return ""
    roots = _worst(facts, list(dict.fromkeys(_roots(facts, name, frozenset()))), fact.state)
    names = list(dict.fromkeys(_name(facts, root) for root in roots))
    more = len(names) - _MOST_NAMED
    *first, last = [*names[:_MOST_NAMED], f"{more} more"] if more > 0 else names
    words = f"{', '.join(first)} and {last}" if first else last
    return f"{words} {_STATE_WORDS[fact.state][len(names) > 1]}"


def _name(facts: Mapping[str, Figure], root: str) -> str:
    """Return the setting as the user writes it, else the fact in words."""
    return (root in facts and facts[root].origin.setting) or fact_words(root)


def _worst(facts: Mapping[str, Figure], roots: list[str], state: State) -> list[str]:
    """Keep the roots that are as bad as the whole, and of these the config's own settings."""
    worst = [root for root in roots if _state(facts, root) is state] or roots
    settings = [root for root in worst if root in facts and _has_place(facts[root])]
    return settings or worst


def _has_place(fact: Figure) -> bool:
    return fact.home is not None or fact.origin.at is not None


def _roots(facts: Mapping[str, Figure], name: str, above: frozenset[str]) -> Iterator[str]:
    """Yield the unknown facts under `name` that are made of nothing else that is unknown."""
    fact = facts.get(name)
    if fact is not None and fact.known:
        return
    parts = [part for part in (fact.inputs if fact else ()) if part not in above]
    below = [root for part in parts for root in _roots(facts, part, above | {name})]
    yield from below or [name]


def _state(facts: Mapping[str, Figure], name: str) -> State:
    return facts[name].state if name in facts else State.MISSING


FLOW = "mm3/s"
_ASSUMED = re.compile(r"(\([^(),]*), [^()]* assumed now(?=\))")
NO_LIMIT = 1e5  # mm3/s, a firmware limit that holds nothing back
ALL_BUT_CERTAIN = 0.995
_MOST_LEVERS = 3
_TO_FIX = (Level.ERROR, Level.WARNING)
_ABOVE = 1.05  # times the capacity: less is just above it
_ASKED_BY = {
    "demand.stated_flow": "",
    "demand.print_sustained": " by the print",
    "demand.profile_flow": " by the slicer profile",
    "demand.feature_flow": " by the slicer profile",
}
FACTS = (  # whose numbers are shown here
    "flow.capacity", "flow.firmware", "demand.asked_flow", "demand.print_push", *_ASKED_BY,
    "drive.gear_ratio", "drive.travel_per_motor_turn",
)  # fmt: skip
_PRINT_VERDICTS = {
    "fits": ("it fits", ""),
    "fits-except": ("it fits except in a few places", "warning"),
    "does-not-fit": ("it does not fit", "error"),
}
_STATED_BY = {OriginKind.COMMAND: " on the command line", OriginKind.SHEET: " in the sheet"}


@frozen
class AnswerLine:
    """One line of the answer; `style` is strong, error, warning or nothing."""

    label: str
    text: str
    style: str = ""


@frozen
class WayRow:
    """One stage of the way: the flow it allows in mm3/s, what happens beyond it, its mark."""

    stage: str
    flow: Band | None
    beyond: str = ""
    mark: str = ""
    words: str = ""  # instead of numbers
    strand: bool = True


def answer_words(
    extruder: ExtruderReport,
    bands: Mapping[str, Band],
    *,
    full: bool = True,
    found: Iterable[Finding] = (),
) -> list[AnswerLine]:
    """Return the lines that matter: whether it fits, the capacity, the bottleneck, what helps.

    Parameters
    ----------
    extruder : ExtruderReport
        What was worked out.
    bands : mapping of str to Band
        Its numbers in trade units, at least those of `FACTS`.
    full : bool
        Whether a class that decides and nobody states gets a line each; else the caps in one.
    found : iterable of Finding
        What is found on the machine: where no flow is requested, it comes first.
    """
    short = bool(extruder.cases) and not full
    gains = () if not full and _fits(bands) else extruder.gains  # what fits needs no help
    helps = [AnswerLine("what helps", gain_words(gains, short=short))] if gains else []
    asked = _asked_line(extruder, bands, found)
    return [asked, *_capacity_lines(extruder, bands, full=full), *helps]


def _fits(bands: Mapping[str, Band]) -> bool:
    capacity, asked = bands.get("flow.capacity"), bands.get("demand.asked_flow")
    return capacity is not None and asked is not None and asked.value <= capacity.low


def _capacity_lines(
    extruder: ExtruderReport, bands: Mapping[str, Band], *, full: bool
) -> Iterator[AnswerLine]:
    capacity = bands.get("flow.capacity")
    if capacity is None:
        yield AnswerLine("capacity", f"not known{_reason(extruder, 'flow.capacity')}")
        return
    yield AnswerLine("capacity", f"{_capacity(capacity)}{_made_for(extruder)}", "strong")
    label, caps = ("", "") if full or not extruder.cases else caps_words(extruder.cases)
    if caps:
        yield AnswerLine(label, caps)
    else:
        yield from (AnswerLine(label_of(case), case_words(case)) for case in extruder.cases)
    yield AnswerLine("bottleneck", _bottleneck(extruder))


def _asked_line(
    extruder: ExtruderReport, bands: Mapping[str, Band], found: Iterable[Finding]
) -> AnswerLine:
    capacity, asked = bands.get("flow.capacity"), bands.get("demand.asked_flow")
    if asked is None:
        return _not_asked_line(extruder, capacity, found)
    said = _print_line(extruder.facts, bands)
    if said is not None:
        return said
    request = f"{quantity(asked.value, FLOW)} requested{_asked_by(extruder.facts, bands)}"
    if hangs := hangs_words(extruder.cases):
        return AnswerLine("answer", f"{hangs}; {request}", "warning")
    if capacity is None:
        return AnswerLine("answer", f"not known; {request}")
    style, fits, part = _verdict(asked.value, capacity)
    return AnswerLine("answer", f"{fits}: {request}, {part}", style)


def _not_asked_line(
    extruder: ExtruderReport, capacity: Band | None, found: Iterable[Finding]
) -> AnswerLine:
    own = [one for one in found if one.extruder in {None, extruder.name}]
    counts = [(sum(one.level is level for one in own), level) for level in _TO_FIX]
    told = [f"{n} {level.value}{'s' if n > 1 else ''}" for n, level in counts if n]
    if capacity is not None and capacity.value <= 0.0:
        return AnswerLine("answer", "nothing gets through: see what is found below", "error")
    if told:
        style = "error" if counts[0][0] else "warning"
        return AnswerLine(
            "answer", f"see to {' and '.join(told)} first; no flow requested yet", style
        )
    return AnswerLine("answer", "no flow requested yet: give --profile FILE or --asked 20mm3/s")


def _print_line(facts: Mapping[str, Figure], bands: Mapping[str, Band]) -> AnswerLine | None:
    """Return the verdict on the print, where a print is what asks."""
    verdict, push = facts.get("demand.print_verdict"), bands.get("demand.print_push")
    stated = facts.get("demand.stated_flow")
    if push is None or verdict is None or not verdict.known or (stated and stated.known):
        return None
    words, style = _PRINT_VERDICTS[str(verdict.value)]
    return AnswerLine(
        "answer", f"{words}: up to {quantity(push.value, FLOW)} requested by the print", style
    )


def way_rows(extruder: ExtruderReport, bands: Mapping[str, Band]) -> Iterator[WayRow]:
    """Yield the stages in the order the filament takes."""
    limits = {x.limit: x for x in extruder.limits}
    for entry in STAGE_LIMITS:
        yield _limit_row(entry, limits, extruder)
        if entry.stage == "motor" and (words := _gears(bands)):
            yield WayRow("gears", None, words=words)
    if extruder.bottleneck == "weighed":
        yield WayRow("weighed", bands.get("flow.capacity"), "as weighed", "bottleneck")
    if firmware := bands.get("flow.firmware"):
        yield _firmware_row(firmware)
    asked = bands.get("demand.asked_flow")
    yield (
        WayRow("slicer", asked, "requested", strand=False)
        if asked
        else WayRow("slicer", None, words="requests nothing yet")
    )


def shown_flows(extruder: ExtruderReport, bands: Mapping[str, Band]) -> list[float]:
    """Return the flows that the scale must hold: the capacity and what is near it."""
    capacity = bands.get("flow.capacity")
    if capacity is None:
        return [x.flow for x in extruder.limits if x.flow is not None]
    near = [x.flow for x in extruder.limits if x.flow is not None and x.flow < 2 * capacity.value]
    return [capacity.value, min(capacity.high, 3 * capacity.value), *near]


def ends(flows: Band) -> str:
    """Return the ends of a band of flows: short, and no finer than anybody could set."""
    low = _end(flows.low)
    return f"{low}-{_end(flows.high)}" if math.isfinite(flows.high) else f"{low} and up"


def _reason(extruder: ExtruderReport, fact: str) -> str:
    words = why_not_known(extruder.facts, fact)
    return f": {words}" if words else ""


def _made_for(extruder: ExtruderReport) -> str:
    """Return what the figures are for, as other answers say it."""
    material = extruder.facts.get("filament.material")
    heat, bore = (extruder.facts.get(x) for x in ("hotend.temperature", "nozzle.diameter"))
    heats, bores = (None if x is None or x.band is None else x.band.value for x in (heat, bore))
    return condition_words(None if material is None else material.text, heats, bores)


def _capacity(capacity: Band) -> str:
    if not wide(capacity):
        return f"{flow(capacity.value)} {FLOW}"
    return f"{flow(capacity.value)} ({ends(capacity)}) {FLOW}"


def _end(value: float) -> str:
    return figure(value if value >= 1.0 else round(value, 1), 2)


def _bottleneck(extruder: ExtruderReport) -> str:
    name = extruder.bottleneck
    if name is None:
        return "not known"
    if name == "weighed":
        return "the limit that the weighed test showed; the machine as stated could do more"
    part = next((x.bottleneck_share for x in extruder.limits if x.limit == name), 0.0)
    certain = not 0.0 < part < ALL_BUT_CERTAIN
    text = limit_words(name) if certain else f"{limit_words(name)} ({share(part)} sure)"
    equal = ", ".join(limit_words(limit) for limit in extruder.level_with)
    return f"{text}; about equal: {equal}" if equal else text


def gain_words(gains: Sequence[LeverGain], *, short: bool = False) -> str:
    """Return the levers that gain most, each alone; the findings name them in the same words.

    `short` leaves out what is assumed now, where another line says it.
    """
    told = [f"+{figure(gain.gain, 2)} {gain.words}" for gain in gains[:_MOST_LEVERS]]
    told = [_ASSUMED.sub(r"\1", words) for words in told] if short else told
    return f"{', '.join(told)} (mm3/s, each alone)"


def _verdict(asked: float, capacity: Band) -> tuple[str, str, str]:
    """Return the style, whether the requested flow fits, and what part of the capacity it is."""
    if capacity.value <= 0.0:
        return "error", "too much", "nothing gets through"
    ratio = asked / capacity.value
    beyond = times(ratio, "the capacity") if ratio >= _ABOVE else "just above the capacity"
    if asked > capacity.high:
        return "error", "too much", beyond
    if asked > capacity.value:
        return "warning", "probably too much", beyond
    part = f"{figure(100 * asked / capacity.value, 2)} % of the capacity"
    if asked <= capacity.low:
        return "", "fits", part
    return "warning", "just fits", f"{part}, above its low end"


def _asked_by(facts: Mapping[str, Figure], bands: Mapping[str, Band]) -> str:
    """Say who asks: the first of the known asks that has the value of the asked flow."""
    asked = bands["demand.asked_flow"].value
    for name, words in _ASKED_BY.items():
        if name in bands and math.isclose(bands[name].value, asked, rel_tol=1e-9):
            return words or _STATED_BY.get(facts[name].origin.kind, "")
    return _STATED_BY.get(facts["demand.asked_flow"].origin.kind, "")


def _firmware_row(firmware: Band) -> WayRow:
    if firmware.value >= NO_LIMIT:
        return WayRow("firmware", None, words="sets no cap")
    return WayRow("firmware", firmware, "capped")


def _limit_row(
    entry: StageLimit, limits: Mapping[str, LimitBand], extruder: ExtruderReport
) -> WayRow:
    limit, lost = limits.get(entry.limit), limits.get(entry.lost or "")
    beyond = entry.beyond
    if lost is not None and lost.flow is not None:
        beyond = f"{entry.lost_words} {flow(lost.flow)}"
    if entry.limit == "melt" and (counted := _counted_at(extruder.facts)):
        beyond = counted
    if limit is None or (limit.flow is None and not limit.beyond):
        return WayRow(
            entry.stage, None, words="not known" + _reason(extruder, f"flow.{entry.limit}")
        )
    return WayRow(entry.stage, _limit_band(limit), beyond, _mark(entry.limit, extruder))


def _counted_at(facts: Mapping[str, Figure]) -> str:
    """Say where a nozzle hotter than the material's range counts as less hot."""
    set_to, counted = (facts.get(f"hotend.{name}temperature") for name in ("", "wall_"))
    if set_to is None or counted is None or not (set_to.known and counted.known):
        return ""
    hot, credited = set_to.band, counted.band
    if hot is None or credited is None or hot.value <= credited.value + 0.01:
        return ""
    return f"at {figure(credited.value)} degC"


def _mark(limit: str, extruder: ExtruderReport) -> str:
    """Mark the bottleneck; where the capacity is not known, the lowest known limit is none."""
    capacity = extruder.facts.get("flow.capacity")
    if capacity is None or not capacity.known:
        return ""
    if limit == extruder.bottleneck:
        return "bottleneck"
    return "about equal" if limit in extruder.level_with else ""


def _limit_band(limit: LimitBand) -> Band:
    far = float("inf")
    value = far if limit.flow is None else limit.flow
    low = limit.low if limit.low is not None else value
    return Band(value, low, far if limit.high is None else limit.high)


def _gears(bands: Mapping[str, Band]) -> str:
    ratio, travel = bands.get("drive.gear_ratio"), bands.get("drive.travel_per_motor_turn")
    if travel is None and ratio is not None and ratio.value == 1.0:
        return ""  # the firmware's default, while the gears themselves are not known
    parts = [f"{figure(ratio.value)}:1"] if ratio else []
    if travel:
        parts.append(f"{quantity(travel.value, 'mm')} of filament per motor turn")
    return ", ".join(parts)
