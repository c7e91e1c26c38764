"""The answer of `explain` for people: what a name means, and how its value came about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.answers import CatalogueFigure, Derivation, Explanation
from advisor.base import Figure, Origin, OriginKind
from advisor.report.findings_text import place, write_findings
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, quantity, ranged, unit_words
from advisor.report.page import LABEL, Page

__all__ = ["render"]

_DEEP = 2  # levels of a derivation that are told without --full
_NUMBERS = 12
_SHORT = 140  # characters of a formula that is told at the last level shown
_HEADS = {"names": "", "fact": "figure"}
_LABELS = {"Fact": "figure", "Facts": "figures", "Stage": "part"}
_ORIGIN_WORDS = {
    OriginKind.COMMAND: "from the command line",
    OriginKind.SHEET: "from the sheet",
    OriginKind.PROFILE: "from the slicer profile",
    OriginKind.CONFIG: "from the config",
    OriginKind.MEASURED: "measured",
    OriginKind.DEFAULT: "the firmware's default",
    OriginKind.CATALOGUE: "assumed",
}


def render(explanation: Explanation, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text: a derivation two levels deep, all of it with `full`."""
    page = Page(look or Look(), written=True)
    name = explanation.name
    if explanation.title and explanation.title != name:
        name += f": {explanation.title}"
    head = _HEADS.get(explanation.kind, explanation.kind)
    if head:
        page.entry(head, name, label_style="strong", style="strong")
    lines = explanation.lines if full and not _in_words(explanation) else explanation.spoken
    for label, text in lines or explanation.lines:
        _write_line(page, label, text)
    if full and explanation.at is not None:
        page.entry("defined", place(explanation.at))
    _write_numbers(page, explanation, full=full)
    _write_derivation(page, explanation, full=full)
    write_findings(page, explanation.findings, several=False)
    return page.render()


def _in_words(explanation: Explanation) -> bool:
    """Whether it is told in words however much of it is asked for: a rule's condition is code."""
    return explanation.kind != "names"


def _write_line(page: Page, label: str, text: str) -> None:
    label = _LABELS.get(label, label)
    if len(label) < LABEL:
        page.entry(label.lower(), text)
        return
    page.row((label.lower(), ""))
    page.entry("", text)


def _write_numbers(page: Page, explanation: Explanation, *, full: bool) -> None:
    numbers = explanation.numbers
    if not numbers:
        return
    told = numbers if full else numbers[:_NUMBERS]
    page.heading("Numbers, and where they come from" if full else "Numbers")
    for number in told:
        page.indented(_catalogue(number, full=full), 1)
    page.indented(RANGE if full else _rest(len(numbers) - len(told), "sources"), 1)


def _rest(more: int, what: str) -> str:
    return f"{more} more, and the {what}: --full" if more > 0 else f"with {what}: --full"


def _catalogue(number: CatalogueFigure, *, full: bool) -> str:
    unit, low, high = number["unit"], number["low"], number["high"]
    value = quantity(number["typical"], unit)
    if low != high:
        to, typical = " to " if low < 0.0 else "-", figure(number["typical"])
        value = f"{typical} ({figure(low)}{to}{figure(high)})"
        value += unit_words(unit)
    text = f"{number['fact']}: {value}"
    source, status = number["source"], number["status"]
    if not full or not source:
        return text
    return f"{text}; {source}" if f"({status})" in source else f"{text}; {source}, {status}"


def _write_derivation(page: Page, explanation: Explanation, *, full: bool) -> None:
    if not explanation.derivation:
        return
    whose = f" ({_whose(explanation, full=full)})" if explanation.extruder else ""
    page.heading(f"How it comes about{whose}")
    steps = list(explanation.derivation)
    own = steps if full else list(_of_the_first(steps))
    told = [step for step in own if full or step.depth < _DEEP]
    for step in told:
        style = "strong" if step.depth == 0 else ""
        more = not full and step.depth == _DEEP - 1
        page.indented(_step(step, full=full, more=more), step.depth + 1, style=style)
    if not full:
        _write_others(page, explanation)
    left = len(own) - len(told)
    page.indented(f"{RANGE}" + (f" {left} more below these: --full" if left else ""), 1)


def _whose(explanation: Explanation, *, full: bool) -> str:
    names = explanation.extruder or ""
    return names if full else names.partition(", ")[0]


def _of_the_first(steps: Iterable[Derivation]) -> Iterator[Derivation]:
    """Yield the steps of the first extruder: each begins with one of no depth."""
    for number, step in enumerate(steps):
        if number and step.depth == 0:
            return
        yield step


def _write_others(page: Page, explanation: Explanation) -> None:
    """Write the figures of further extruders, which come about in the same way."""
    names = (explanation.extruder or "").split(", ")
    figures = [step.fact for step in explanation.derivation if step.depth == 0]
    for name, fact in list(zip(names, figures, strict=False))[1:]:
        page.indented(f"{name}: {_value(fact)}, in the same way (--full)", 1, style="strong")


def _step(step: Derivation, *, full: bool, more: bool) -> str:
    fact = step.fact
    text = f"{step.title or fact.name}: {_value(fact)}"
    if step.repeated and full:
        return f"{text} (see above)"
    if not fact.known:
        return text
    if step.formula and full:
        text += f" = {step.formula}"
    elif step.formula:
        words = f"{text} = {step.formula.partition(' = ')[0]}"
        text = words if not more or len(words) <= _SHORT else text
    words = _origin(fact.origin, full=full)
    return f"{text}, {words}" if words else text


def _value(fact: Figure) -> str:
    if not fact.known:
        return f"not known ({fact.state.value})"
    if fact.said is not None:
        return fact.said
    if fact.band is not None:
        return ranged(fact.band, fact.unit)
    return f"not known{unit_words(fact.unit)}"


def _origin(origin: Origin, *, full: bool) -> str:
    """Say where a primary value comes from, or by which source a formula holds."""
    if origin.kind is OriginKind.DERIVED:
        return f"after {origin.source}" if origin.source else ""
    text = _ORIGIN_WORDS.get(origin.kind, origin.kind.value)
    if origin.setting:
        text += f" ({origin.setting})"
    if origin.at is not None:
        text += f", {place(origin.at)}"
    return f"{text}: {origin.source}" if origin.source and (full or origin.at is None) else text
