"""Writes what is still open: what to measure next, and what was assumed meanwhile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.base import Band, ExtruderReport, Figure, MeasureGroup
from advisor.report.numbers import quantity, ranged, share, wide
from advisor.report.page import LABEL, Page
from advisor.report.words import material_words

__all__ = ["assumed_facts", "measure_words", "open_inputs", "write_assumed", "write_assumed_line",
           "write_measure_line", "write_measure_next"]  # fmt: skip

FLOW = "mm3/s"
_MATERIAL = "filament.material"
_MOST_MEASURES = 3
_LEAST_SHARE = 0.05
_MOST_ASSUMED = 6


def write_measure_line(page: Page, extruder: ExtruderReport) -> None:
    """Write in one line what to measure next, and how much of the uncertainty hangs on it."""
    if not extruder.measure_next:
        return
    group = extruder.measure_next[0]
    first = group.inputs[0]
    what = first.title if first.sheet_field else group.title
    text = f"{what}: {share(group.share)} of the uncertainty"
    how = " (how: --full)"
    text += how if LABEL + len(text) + len(how) <= page.look.width else ""
    page.entry("measure", text, label_style="strong")


def write_measure_next(
    page: Page, extruder: ExtruderReport, whose: str = "", told: set[str] | None = None
) -> None:
    """Write the kinds of measurement that would settle most of the spread, and how each is made.

    `told` holds the measurements of which the page has already said how; it is added to.
    """
    told = set() if told is None else told
    if not extruder.measure_next:
        return
    page.heading(f"Measure next{whose} (share of the remaining uncertainty)")
    for entry in _worth_telling(extruder.measure_next):
        how = "as above" if entry.how in told else entry.how
        told.add(entry.how)
        page.entry(share(entry.share), f"{measure_words(entry)}: {how}", label_style="strong")


def measure_words(entry: MeasureGroup) -> str:
    """Return what a kind of measurement settles, and the input that counts most in it."""
    first = entry.inputs[0]
    into = f" (sheet: {first.sheet_field})" if first.sheet_field else ""
    return f"{entry.title}, above all {first.title}{into}"


def open_inputs(extruder: ExtruderReport) -> list[str]:
    """Return the inputs that any of the measurements would settle, the largest share first."""
    inputs = [one for group in extruder.measure_next for one in group.inputs]
    return [one.fact for one in sorted(inputs, key=lambda one: -one.share)]


def _worth_telling(entries: Sequence[MeasureGroup]) -> list[MeasureGroup]:
    """The first few, without those that explain next to nothing beside the first."""
    return [
        entry
        for number, entry in enumerate(entries[:_MOST_MEASURES])
        if number == 0 or entry.share >= _LEAST_SHARE
    ]


def write_assumed_line(page: Page, extruder: ExtruderReport, bands: Mapping[str, Band]) -> None:
    """Write the leading assumptions in one line, as many as fit."""
    capacity = extruder.facts.get("flow.capacity")
    if capacity is None or not capacity.known:
        return
    if not capacity.assumed:
        band = bands.get("flow.capacity")
        if band is not None and wide(band):
            page.entry("assumed", "nothing about the machine; the range is the model's own")
        return
    named = [_short(extruder.facts.get(name), bands) or name for name in assumed_facts(extruder)]
    count = len(capacity.assumed)
    while len(named) > 1 and LABEL + len(_listed(named, count)) > page.look.width:
        named.pop()
    page.entry("assumed", _listed(named, count))


def _listed(named: Sequence[str], count: int) -> str:
    rest = count - len(named)
    return ", ".join(named) + (f" and {rest} more (--full)" if rest > 0 else "")


def _short(fact: Figure | None, bands: Mapping[str, Band]) -> str:
    """Return what is assumed with its typical value, without its range."""
    if fact is None or not fact.known:
        return ""
    if fact.said is not None:
        return material_words(fact.said) if fact.name == _MATERIAL else fact.said
    if fact.name not in bands:
        return ""
    return f"{fact.title or fact.name} {quantity(bands[fact.name].value, fact.unit)}"


def write_assumed(
    page: Page, extruder: ExtruderReport, bands: Mapping[str, Band], whose: str = ""
) -> None:
    """Write the leading assumptions in a few lines and how wide they leave the answer."""
    capacity = extruder.facts.get("flow.capacity")
    if capacity is None or not capacity.known:
        return
    if not capacity.assumed:
        _write_model_only(page, bands.get("flow.capacity"), whose)
        return
    names = assumed_facts(extruder)
    shown = [_value(extruder.facts.get(name), bands) or name for name in names]
    page.heading(f"Assumed{whose}, because nothing states it")
    rest = len(capacity.assumed) - len(shown)
    more = [f"{rest} more (--format json lists all)"] if rest > 0 else []
    page.entry("", "; ".join([*shown, *more]) + ".")
    page.entry("", _width(bands.get("flow.capacity")))


def _write_model_only(page: Page, capacity: Band | None, whose: str) -> None:
    if capacity is None or not wide(capacity):
        return
    page.heading(f"Assumed{whose}")
    page.entry(
        "",
        f"Nothing about the machine. The range of {ranged(capacity, FLOW)} is the model's own: "
        "grip, melting and feed force scatter from roll to roll and machine to machine.",
    )


def assumed_facts(extruder: ExtruderReport) -> list[str]:
    """Return the leading assumptions of the capacity.

    Classes first (they set many numbers at once), then what the spread hangs on most.
    """
    capacity = extruder.facts.get("flow.capacity")
    if capacity is None:
        return []
    words = [name for name in sorted(capacity.assumed) if _is_word(extruder.facts.get(name))]
    ranked = [name for name in open_inputs(extruder) if name in capacity.assumed]
    named = [*words, *ranked] or sorted(capacity.assumed)
    return named[:_MOST_ASSUMED]


def _is_word(fact: Figure | None) -> bool:
    return fact is not None and fact.text is not None


def _value(fact: Figure | None, bands: Mapping[str, Band]) -> str:
    if fact is None or not fact.known:
        return ""
    word = fact.word
    if word is not None:
        return f"{fact.name} {word}"
    if fact.name not in bands:
        return ""
    return f"{fact.name} {ranged(bands[fact.name], fact.unit)}"


def _width(capacity: Band | None) -> str:
    if capacity is None or not wide(capacity):
        return "The capacity hardly depends on it. State what you know in the hardware sheet."
    return (
        f"So the capacity is {ranged(capacity, FLOW)}. What you state in the hardware sheet "
        "(hardware.yaml beside the config) narrows it."
    )
