"""The causes are data: mistakes in them come out with place and remedy, and the examples hold."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from every import every
from tiers import only_wide, spread, wide

from advisor.answers import Asks
from advisor.answers.diagnosis.cause_book import book_of, load_causes
from advisor.answers.diagnosis.cause_rows import compiled_causes
from advisor.answers.diagnosis.examples import misses
from advisor.answers.lint import check_config
from advisor.base import DataError
from advisor.data import data_files, read_text

Edit = Callable[[str], str]


def _texts() -> dict[str, str]:
    paths = data_files("rules", "causes/*.yaml")
    return {path.name: read_text("rules", f"causes/{path.name}") for path in paths}


def _swap(old: str, new: str) -> Edit:
    def swapped(text: str) -> str:
        assert old in text
        return text.replace(old, new, 1)

    return swapped


MISTAKES: list[tuple[str, Edit, str, str]] = [
    ("demand.yaml", _swap("sees: [clicks, slips, thin]", "sees: [clikcs]"), "'clikcs'", "clicks"),
    ("demand.yaml", _swap("at: [above-a-flow]", "at: [abov-a-flow]"), "abov", "above-a-flow"),
    ("demand.yaml", _swap("if: ask.flow > ask.weakest", "if: ask.flow > flow.meltt"), "flow.meltt",
     "flow.melt"),
    ("demand.yaml", _swap("if: ask.flow > ask.weakest", "if: ask.flow > 3 N"), "ask.flow", ""),
    ("demand.yaml", _swap("grade: 4", "grade: 3"), "3", "4 (common)"),
    ("demand.yaml", _swap("is: [0.9, 1.3, 2.2]", "is: [2, 1.3, 2.2]"), "band", "low"),
    ("demand.yaml", _swap('2.2], unit: "-"', "2.2], unit: mm"), "mm", "unit"),
    ("demand.yaml", _swap("gone: {half-speed", "gone: {halfspeed"), "halfspeed", "half-speed"),
    ("demand.yaml", _swap("hazards: [feeding]", "hazards: [feedin]"), "feedin", "feeding"),
    ("demand.yaml", _swap("{flow.capacity}", "{flow.capacty}"), "flow.capacty", "flow.capacity"),
    ("demand.yaml", _swap("thin@above-a-flow]", "thin@above]"), "above", "circumstance"),
    ("motor.yaml", _swap("  raises: [current]\n", ""), "raises", "what else helps"),
    ("motor.yaml", _swap("source: diagnose-practice", "source: nobody"), "nobody", "sources.yaml"),
    ("words.yaml", _swap("[click, clicking", "[slips, clicking"), "slips", "take one"),
    ("tests.yaml", _swap("  others: 0.04\n", ""), "others", "chance"),
    ("tests.yaml", _swap("risk: 3", "risk: 4"), "4", "0 to 3"),
    ("quantities.yaml", _swap("low: 1, typical: 1, high: 1, about", "low: 1, about"), "typical",
     "low, typical and high"),
    ("demand.yaml", _swap("of: macro.flow_factor, else: [0.7, 1, 1.3]", "else: [0.7, 1, 1.3]"),
     "'else' without 'of'", "leave 'else' out"),
    ("hotend.yaml", _swap("plus: [0, 15, 60], unit: K", "plus: [0, 1, 2], unit: K, of: 1 + 1"),
     "'plus' with 'of'", "'is' and 'times'"),
    ("demand.yaml", _swap("else: [0.7, 1, 1.3]", "else: [1.3, 1, 0.7]"), "band", "low, typical"),
    ("demand.yaml", _swap("else: [0.7, 1, 1.3]", "else: [0.7, 1.3]"), "band", "low, typical"),
    ("demand.yaml", _swap('unit: "-", of: macro.flow_factor', "of: macro.flow_factor"), "unit",
     "add 'unit"),
    ("demand.yaml", _swap("of: macro.flow_factor", "of: macro.run_current"), "'A rms'", "unit"),
    ("demand.yaml", _swap("of: macro.flow_factor", "of: macro.flow_fctor"), "macro.flow_fctor",
     "macro.flow_factor"),
    ("demand.yaml", _swap("times: 6}", "times: 0}"), "0", "above 0"),
    ("families.yaml", _swap("gears:", "gaers:"), "gaers", "gears"),
    ("words.yaml", _swap("{clicks: 0.6, slips", "{clikcs: 0.6, slips"), "clikcs", "clicks"),
    ("words.yaml", _swap("{clicks: 0.6, slips", "{clicks: 1.6, slips"), "1.6", "1"),
    ("words.yaml", _swap("follows: {clicks: 0.6", "follows: {thin: 0.1, clicks: 0.6"), "thin",
     "leave it out"),
]  # fmt: skip


@wide
@every("name, edit, said, remedy", spread(MISTAKES, 3))
def test_a_mistake_is_told_with_its_place_and_remedy(
    name: str, edit: Edit, said: str, remedy: str
) -> None:
    """File, line, what is wrong and what to do."""
    texts = _texts()
    texts[name] = edit(texts[name])
    with pytest.raises(DataError) as caught:
        compiled_causes(texts)
    error = caught.value
    assert error.at is not None
    assert error.at.file == f"rules/causes/{name}"
    assert error.at.line > 1
    assert said in str(error)
    assert remedy in str(error)


@wide
@only_wide
def test_a_second_cause_of_one_name_is_refused() -> None:
    """It names the cause."""
    texts = _texts()
    texts["more.yaml"] = texts["demand.yaml"]
    with pytest.raises(DataError, match="asked-too-much"):
        compiled_causes(texts)


def test_a_cause_is_added_by_one_edit_of_one_file() -> None:
    """A new file with one entry is read with the others; nothing else is touched."""
    texts = _texts()
    entry = texts["drive.yaml"].partition("- name: set-screw")[2].partition("- name:")[0]
    texts["more.yaml"] = f"- name: loose-gear{entry}"
    book = book_of(compiled_causes(texts))
    assert {cause.name for cause in book.causes} - {c.name for c in load_causes().causes} == {
        "loose-gear"
    }


CAUSES = [cause.name for cause in load_causes().causes]


@wide
def test_the_examples_of_each_cause_hold() -> None:
    """Of what people would say of it, the family of the cause is among the first."""
    book = load_causes()
    config = "samples/healthy/printer.cfg"
    machine = check_config(config, Asks(draws=256)).machines["extruder"]
    tried = spread(CAUSES, 2)
    wrong = [
        told
        for cause in book.causes
        if cause.name in tried
        for told in misses(cause, machine, book)
    ]
    assert wrong == []


def test_every_cause_says_what_it_can_hurt_with() -> None:
    """What touches wiring says power off and unplugged, what feeds says when to stop.

    Words that a remedy of wiring, a resistor or a jumper uses: common practice, no source.
    """
    book = load_causes()
    told = {**{c.name: (c.remedy, c.hazards) for c in book.causes},
            **{t.name: (t.do, t.hazards) for t in book.tests.values()}}  # fmt: skip
    for name, (text, hazards) in told.items():
        wired = any(word in text.lower() for word in ("wire", "plug ", "cable", "jumper"))
        if wired or "resistor on the" in text.lower() or "sense resistors" in text.lower():
            assert "electric" in hazards, name
    assert "power off" in book.cautions["electric"]
    assert "pull the plug" in book.cautions["electric"]
    assert "wait" in book.cautions["electric"]
    assert "stop at the first ground filament" in book.cautions["feeding"]
    for test in book.tests.values():
        if test.risk == 2 and test.name != "nozzle-up":
            assert "feeding" in test.hazards, test.name
