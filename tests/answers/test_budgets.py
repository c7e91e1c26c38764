"""What is far larger than a machine's files is looked at within a budget, and that is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiers import only_wide, spread, wide

from advisor import Asks, Report
from advisor.answers.lint import check
from advisor.base import Event, Span
from advisor.base.budgets import EVENTS_PER_FILE, EXTRUDERS, HINTS, SHEET_BYTES, SHEET_NODES
from advisor.cli.report_parts import gathered
from advisor.judge import allow
from advisor.judge.repeats import within_budget

CONFIG = """\
[extruder]
nozzle_diameter: 0.4
filament_diameter: 1.75
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
"""
MORE = "more-than-is-told"


def told(folder: Path, text: str, *, sheet: str | None = None) -> Report:
    (folder / "printer.cfg").write_text(text, encoding="utf-8")
    if sheet is not None:
        (folder / "hardware.yaml").write_text(sheet, encoding="utf-8")
    return check([str(folder / "printer.cfg")], Asks())


def test_the_value_that_counts_is_among_those_told(tmp_path: Path) -> None:
    """Of 3,000 values of one key the last is told, and the others are counted."""
    text = CONFIG + "".join(f"pressure_advance: 0.{i}\n" for i in range(1000, 4000))
    found = told(tmp_path, text).findings
    twice = [one for one in found if one.rule == "duplicate-setting"]
    (more,) = [one for one in found if one.rule == MORE]

    assert len(twice) <= EVENTS_PER_FILE
    assert "is 0.3999 here" in max(twice, key=lambda one: one.at.line if one.at else 0).message
    counted = int(more.message.split()[1])
    assert counted + len(twice) == 2999


def test_a_replaced_value_is_told_whatever_stands_before_it(tmp_path: Path) -> None:
    """Thousands of duplicates that do not matter hide none that does."""
    noise = "[fan]\n" + "".join(f"k{i}: 1\nk{i}: 2\n" for i in range(3000))
    found = told(tmp_path, f"{noise}{CONFIG}rotation_distance: 7.5\n").findings

    (twice,) = [one for one in found if one.rule == "duplicate-setting"]
    assert "7.5" in twice.message
    assert not [one for one in found if one.rule == MORE]


def test_the_last_of_each_kind_on_a_setting_comes_first() -> None:
    """Within a file; each file has its own budget; what was counted before is added."""
    events = [Event("a", Span("x", i), {"section": "s", "key": "k"}) for i in range(1, 11)]
    events += [Event("b", Span("x", i)) for i in range(11, 21)]
    events += [Event("a", Span("y", 1)), Event("events-left-out", Span("x", 30), {"count": "5"})]
    kept = within_budget(events, most=3)

    assert [(one.kind, one.at.line) for one in kept if one.at.file == "x"] == [
        ("a", 1), ("a", 10), ("b", 20), ("events-left-out", 2),
    ]  # fmt: skip
    assert kept[3].fields == {"count": str(20 - 3 + 5)}
    assert within_budget(events[:5], most=5) == events[:5]
    slicer = [Event("c", Span("p", i), {"setting": "ab"[i > 1]}) for i in range(1, 9)]
    assert [one.at.line for one in within_budget(slicer, most=2)] == [1, 8, 2]


def test_more_extruders_than_any_machine_has(tmp_path: Path) -> None:
    """The first ones are worked out, by their number, and the rest is said."""
    body = CONFIG.removeprefix("[extruder]\n")
    text = CONFIG + "".join(f"[extruder{i}]\n{body}" for i in range(1, 100))
    report = told(tmp_path, text)
    (more,) = [one for one in report.findings if one.rule == "more-extruders-than-worked-out"]

    assert [one.name for one in report.extruders] == [
        "extruder", *(f"extruder{i}" for i in range(1, EXTRUDERS)),
    ]  # fmt: skip
    assert "has 100 extruders; only the first 32 " in more.message
    assert more.at is not None
    assert text.splitlines()[more.at.line - 1] == f"[extruder{EXTRUDERS}]"


def test_allowances_are_looked_up_and_not_searched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten thousand comments cost one pass over the lines, and few near misses."""
    asked: list[str] = []
    monkeypatch.setattr(allow, "near_miss", lambda word, known: asked.append(word) or "")
    looked = 0
    search = allow._COMMENT

    class Counting:
        def search(self, text: str) -> object:
            nonlocal looked
            looked += 1
            return search.search(text)

    monkeypatch.setattr(allow, "_COMMENT", Counting())
    text = CONFIG + "# feedwright: allow no-such-rule, because\n" * 10_000 + "max_temp: 280\n"
    found = told(tmp_path, text).findings
    notes = [one for one in found if one.rule == "allowance-of-unknown-rule"]
    (more,) = [one for one in found if one.rule == MORE]

    assert len(asked) == HINTS
    assert looked == len(text.splitlines())
    assert len(notes) == EVENTS_PER_FILE
    assert "9000 more" in more.message


def test_comments_one_above_the_other_are_about_the_same_line(tmp_path: Path) -> None:
    """Each allows its own rule on the next line with something on it."""
    text = CONFIG.replace(
        "rotation",
        "# feedwright: allow gear-ratio-odd, one\n\n# feedwright: allow two-drivers, two\nrotation",
    )
    document = check_lines(tmp_path, text)

    assert [(words.split(",")[0], line) for words, line in document] == [
        ("allow gear-ratio-odd", 7), ("allow two-drivers", 7),
    ]  # fmt: skip


def check_lines(folder: Path, text: str) -> list[tuple[str, int]]:
    from advisor.config import read_document

    document = read_document(text.encode(), str(folder / "x.cfg"))
    return [(words, line) for words, _, line in allow._comments(document)]


LAUGHS = "a0: &a0 [x, x]\n" + "".join(
    f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]\n" for i in range(1, 12)
)
SHEETS = {
    "aliases that multiply": (LAUGHS, f"more than {SHEET_NODES} values"),
    "an alias of itself": ("motor: &a {class: round-36, x: *a}\n", "nests deeper than 50 levels"),
    "lists in lists": (
        "motor: " + "[" * 20_000 + "]" * 20_000 + "\n",
        "this YAML nests deeper than 50 levels",
    ),
    "too large": ("#" + "a" * SHEET_BYTES + "\n", f"larger than {SHEET_BYTES // 1024} kB"),
}


@wide
@pytest.mark.parametrize("case", spread(list(SHEETS), 2))
def test_a_sheet_beyond_its_budget_is_one_sentence(tmp_path: Path, case: str) -> None:
    """It names the file, the budget and what to do."""
    sheet, words = SHEETS[case]
    (error,) = told(tmp_path, CONFIG, sheet=sheet).errors

    assert words in error
    assert "hardware.yaml" in error
    assert "; " in error


def test_mistakes_of_a_sheet_beyond_those_told_are_counted(tmp_path: Path) -> None:
    """A sheet that is another program's file does not fill the screen."""
    errors = told(tmp_path, CONFIG, sheet="".join(f"k{i}: 1\n" for i in range(300))).errors

    assert len(errors) == 51
    assert errors[-1] == "and 250 more mistakes in it"


@wide
@only_wide
def test_a_folder_of_very_many_configs_is_looked_at_in_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Extruders are counted over the whole run, a config without any as one; the rest is said."""
    monkeypatch.setattr("advisor.answers.lint.MACHINES", 3)
    two = CONFIG + CONFIG.replace("[extruder]", "[extruder1]")
    for name, text in (("a", two), ("b", "[printer]\n"), ("c", CONFIG), ("d", CONFIG)):
        (tmp_path / f"{name}.cfg").write_text(text, encoding="utf-8")
    report = check([str(tmp_path)], Asks(draws=64))
    page = gathered([str(tmp_path)], Asks(draws=64))

    assert len(report.extruders) == 2
    (said,) = report.errors
    assert said.startswith("2 more configs, from '")
    assert "c.cfg' on, were not looked at" in said
    assert page.whole.errors == (said,)
    assert len(page.configs) == 2
