"""The answer of `diagnose` for people: families, and what speaks for a cause. Hand-made answers."""

from __future__ import annotations

import shlex
from dataclasses import replace

from diagnose_answers import diagnose_answer

from advisor.answers import CauseLine, DiagnoseReport
from advisor.report.diagnose_text import render
from advisor.report.look import Look
from advisor.report.symptom_text import closing

_FAMILY = "The gears do not hold the filament as they should"


def _labelled(report: DiagnoseReport, label: str) -> list[str]:
    """Return what stands behind a label below a cause."""
    lines = render(report).splitlines()
    return [line.split(maxsplit=1)[1] for line in lines if line.startswith(f"  {label} ")]


def test_a_family_is_told_by_its_title_and_its_causes_below() -> None:
    """In the first line as in the list; the first cause is 'either', the others 'or'."""
    report = diagnose_answer()
    resistor, dirty, loose = report.causes
    third = replace(loose, name="third", title="The gears do not mesh")
    line = CauseLine(causes=(dirty, loose, third), odds=0.4, together=_FAMILY)
    told = replace(report, shown=(line, CauseLine(causes=(resistor,), odds=0.3)))
    assert _labelled(told, "either") == ["The gears are worn"]
    assert _labelled(told, "or") == ["The idler presses too weakly", "The gears do not mesh"]
    text = " ".join(render(told).split())
    assert f"answer {_FAMILY}: about 4 in 10." in text
    assert f"4 in 10 {_FAMILY} either The gears are worn" in text
    pair = replace(report, shown=(CauseLine(causes=(dirty, loose), odds=0.31),))
    assert _labelled(pair, "either") == _labelled(pair, "or") == []
    assert "The gears are worn; or the idler presses too weakly" in " ".join(render(pair).split())


def test_of_one_thing_said_nothing_is_told_for_or_against() -> None:
    """It speaks for each cause that is told, or it would not be told."""
    report = diagnose_answer()
    assert _labelled(report, "for")
    alone = replace(report, said=report.said[:1])
    assert _labelled(alone, "for") == _labelled(alone, "against") == []


def test_what_speaks_for_all_that_is_told_is_left_out() -> None:
    """It parts none from another; what speaks for one of them stays, and what speaks against."""
    report = diagnose_answer()
    first, second = (line.causes[0] for line in report.shown)
    one = replace(first, speaks_for=("it is hot", "it clicks"))
    other = replace(second, speaks_for=("it clicks",), speaks_against=("it is hot",))
    shown = (CauseLine(causes=(one,), odds=0.5), CauseLine(causes=(other,), odds=0.3))
    told = replace(report, shown=shown)
    assert _labelled(told, "for") == ["it is hot"]
    assert _labelled(told, "against") == ["it is hot"]
    single = replace(report, shown=shown[:1])
    assert _labelled(single, "for") == ["it is hot; it clicks"]


def test_the_command_after_the_questions_is_one_for_the_shell() -> None:
    """Long commands go over several lines of a terminal; a shell reads them as the one meant."""
    words = (
        "diagnose",
        "my printer.cfg",
        *("--sees", "slips@long-lines", "--fed", "100mm=90mm") * 3,
    )
    text = closing(replace(diagnose_answer(), command=words), Look(width=80))
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    first = next(number for number, line in enumerate(lines) if line.startswith("  feedwright"))
    assert len(lines) > first + 1
    typed = "\n".join(lines[first:]).replace("\\\n", "")
    assert tuple(shlex.split(typed)) == ("feedwright", *words)
