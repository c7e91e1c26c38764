"""The answer of `explain` for people: what a name means, and how its value came about."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.model import Figure, Origin, OriginKind
from advisor.records import Derivation, Explanation
from advisor.report.findings_text import place, write_findings
from advisor.report.look import Look
from advisor.report.numbers import band, figure, quantity, unit_words
from advisor.report.page import Page

__all__ = ["render"]

_ORIGIN_WORDS = {
    OriginKind.COMMAND: "from the command line",
    OriginKind.SHEET: "from the sheet",
    OriginKind.PROFILE: "from the slicer profile",
    OriginKind.CONFIG: "from the config",
    OriginKind.MEASURED: "measured",
    OriginKind.DEFAULT: "the firmware's default",
    OriginKind.CATALOGUE: "assumed from the catalogue",
}


def render(explanation: Explanation, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    name = explanation.name
    if explanation.title and explanation.title != name:
        name += f": {explanation.title}"
    page.entry(explanation.kind, name, label_style="strong", style="strong")
    if explanation.at is not None:
        page.entry("defined", place(explanation.at))
    for label, text in explanation.lines:
        page.entry(label.lower(), text)
    if explanation.numbers:
        page.heading("Numbers (low to high, and where they come from)")
        for number in explanation.numbers:
            page.indented(_catalogue(number), 1)
    _write_derivation(page, explanation)
    write_findings(page, explanation.findings, several=False)
    return page.render()


def _catalogue(number: Mapping[str, Any]) -> str:
    unit, typical = str(number.get("unit") or ""), number.get("typical")
    value = quantity(typical, unit) if isinstance(typical, int | float) else str(typical)
    ends = [number.get(end) for end in ("low", "high")]
    if all(isinstance(end, int | float) for end in ends) and ends[0] != ends[1]:
        value += f" ({figure(ends[0])} to {figure(ends[1])})"  # type: ignore[arg-type]
    source, status = str(number.get("source") or ""), str(number.get("status") or "")
    told = source if f"({status})" in source else ", ".join(x for x in (source, status) if x)
    return f"{number.get('fact')}: {value}" + (f"; {told}" if told else "")


def _write_derivation(page: Page, explanation: Explanation) -> None:
    if not explanation.derivation:
        return
    whose = f" of {explanation.extruder}" if explanation.extruder else ""
    page.heading(f"How the value{whose} came about")
    for step in explanation.derivation:
        style = "strong" if step.depth == 0 else ""
        page.indented(_step(step), step.depth + 1, style=style)


def _step(step: Derivation) -> str:
    fact = step.fact
    text = f"{step.title or fact.name}: {_value(fact)}"
    if step.repeated:
        return f"{text} (see above)"
    if step.formula and fact.known:
        text += f" = {step.formula}"
    return f"{text}, {words}" if (words := _origin(fact.origin)) and fact.known else text


def _value(fact: Figure) -> str:
    if not fact.known:
        return f"not known ({fact.state.value})"
    if fact.said is not None:
        return fact.said
    if fact.band is not None:
        return band(fact.band, fact.unit)
    return f"not known{unit_words(fact.unit)}"


def _origin(origin: Origin) -> str:
    """Say where a primary value comes from, or by which source a formula holds."""
    if origin.kind is OriginKind.DERIVED:
        return f"after {origin.source}" if origin.source else ""
    text = _ORIGIN_WORDS.get(origin.kind, origin.kind.value)
    if origin.setting:
        text += f" ({origin.setting})"
    if origin.at is not None:
        text += f" at {place(origin.at)}"
    return f"{text}: {origin.source}" if origin.source else text
