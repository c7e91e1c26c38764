"""Whole reports for people, held to texts that were read and judged by eye (golden/)."""

from __future__ import annotations

import difflib
from dataclasses import replace
from pathlib import Path

import pytest

from advisor.model import ExtruderReport, Report
from advisor.records import DerateReport, Explanation
from advisor.report import derate_text, explain_text, text
from advisor.report.look import Look

GOLDEN = Path(__file__).parent / "golden"
LOOKS = {
    "80": Look(80),
    "120": Look(120),
    "50": Look(50),
    "ascii": Look(80, drawn=False),
    "words": Look(80, bars=False),
}


WIDE_LOOKS = {**{name: look for name, look in LOOKS.items() if name != "50"}, "60": Look(60)}


def held_to(name: str, shown: str) -> None:
    """Compare with the stored text and show the difference line by line."""
    stored = (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")
    difference = difflib.unified_diff(stored.splitlines(), shown.splitlines(), "golden", "shown")
    assert stored == shown, "\n" + "\n".join(difference)


@pytest.mark.parametrize("look", LOOKS)
def test_a_machine_with_findings(machine: Report, look: str) -> None:
    """Every kind of entry, at each width and in each drawing."""
    held_to(f"machine-{look}", text.render(machine, LOOKS[look]))


def test_a_machine_of_which_nothing_is_asked(quiet_machine: Report) -> None:
    """No finding, no ask: it says what to give next."""
    held_to("quiet-80", text.render(quiet_machine, LOOKS["80"]))


def test_a_machine_of_which_too_little_is_known(bare_machine: Report) -> None:
    """It says which input is missing instead of a number."""
    held_to("bare-80", text.render(bare_machine, LOOKS["80"]))


def test_two_extruders_one_block_each(machine: Report, quiet_machine: Report) -> None:
    """Each extruder has its own way of the filament; findings name theirs."""
    one, two = machine.extruders[0], replace(quiet_machine.extruders[0], name="extruder1")
    held_to("two-80", text.render(replace(machine, extruders=(one, two)), LOOKS["80"]))


def test_a_derating(derating: DerateReport) -> None:
    """The current to set comes first."""
    held_to("derate-80", derate_text.render(derating, LOOKS["80"]))


def test_a_derating_without_a_setting(no_setting: DerateReport) -> None:
    """Where no current is low enough it says why."""
    held_to("derate-none-80", derate_text.render(no_setting, LOOKS["80"]))


def test_a_derivation(explanation: Explanation) -> None:
    """Each step stands below what was made of it, with its place."""
    held_to("explain-fact-80", explain_text.render(explanation, LOOKS["80"]))


def test_a_material(material: Explanation) -> None:
    """Catalogue numbers with band, unit, source and status."""
    held_to("explain-material-80", explain_text.render(material, LOOKS["80"]))


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_no_line_is_wider_than_the_page(machine: Report, look: Look) -> None:
    """Only a word that is wider by itself may stand out."""
    for line in text.render(machine, look).splitlines():
        assert len(line) <= look.width, line


def test_ascii_only_where_asked(machine: Report) -> None:
    """The ASCII report of ASCII input holds nothing but ASCII."""
    assert text.render(machine, LOOKS["ascii"]).isascii()


def test_the_first_three_lines_answer(machine: Report) -> None:
    """Capacity with band, bottleneck, whether the ask fits: before anything else."""
    first, second, third = text.render(machine, Look(80)).splitlines()[:3]

    assert first == "capacity    9.7 mm3/s, likely 6.1 to 14"
    assert second.startswith("bottleneck  grip")
    assert third == "asked       24 mm3/s by the slicer profile: too much, 2.5 times the capacity"


@pytest.mark.parametrize("look", ["80", "ascii"])
def test_no_drawing_carries_meaning_alone(machine: Report, look: str) -> None:
    """Each line with a strand has the flow and the band as numbers before it."""
    lines = text.render(machine, LOOKS[look]).splitlines()
    drawn = [line for line in lines if set(line[56:]) & set("\u2550=")]

    assert len(drawn) == 6
    for line in drawn:
        assert any(part.replace(".", "").isdigit() for part in line[:30].split())


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (5.0, "fits, 52 % of the capacity"),
        (8.0, "just fits, 82 % of the capacity, yet above its low end"),
        (12.0, "likely too much, 1.2 times the capacity"),
        (30.0, "too much, 3.1 times the capacity"),
    ],
)
def test_the_verdict_follows_the_band(machine: Report, asked: float, words: str) -> None:
    """Below the low end it fits; up to the value just; up to the high end likely not; else not."""
    facts = dict(machine.extruders[0].facts)
    for name in ("demand.asked_flow", "demand.profile_flow"):
        facts[name] = replace(facts[name], samples=asked * 1e-9)
    extruder: ExtruderReport = replace(machine.extruders[0], facts=facts)

    shown = text.render(replace(machine, extruders=(extruder,)), Look(80))
    assert words in " ".join(shown.split())


def test_nothing_read_says_nothing_on_stdout(unreadable: Report) -> None:
    """What could not be read is told on stderr; the report stays empty."""
    assert text.render(unreadable) == ""
