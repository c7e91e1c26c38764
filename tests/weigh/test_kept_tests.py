"""Weighed tests that are kept in a folder: which are used, which are left out, and what is said."""

from __future__ import annotations

import math
import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from every import every
from ran import Run
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.lint import check_config
from advisor.base import KEPT_NAMES, KEPT_TABLES, KEPT_USED, Weighed
from advisor.weigh import day_of, read_weighed, weigh_numbers
from advisor.weigh.table_records import day_words

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "healthy"
TABLE = (SAMPLE / "flow-test.csv").read_text(encoding="utf-8")


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The healthy sample in a folder of its own, with an empty folder for its tests."""
    for name in ("printer.cfg", "hardware.yaml", "profile.ini"):
        shutil.copy(SAMPLE / name, tmp_path)
    (tmp_path / "flow-tests").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def keep(machine: Path, name: str, *notes: str, table: str = TABLE) -> Path:
    """Lay a table into the folder, its head with more notes."""
    path = machine / "flow-tests" / name
    path.write_text("".join(f"# {note}\n" for note in notes) + table, encoding="utf-8")
    return path


def weighed(machine: Path, **asks: Any) -> Weighed:
    made = check_config(str(machine / "printer.cfg"), Asks(**asks)).report.extruders[0].weighed
    assert made is not None
    return made


def test_a_test_beside_the_config_counts_as_one_by_hand(machine: Path, run: Run) -> None:
    """The same capacity; said first, by day; JSON says which; `--no-tests` undoes it."""
    by_hand = run("lint", "printer.cfg", "--weighed", str(SAMPLE / "flow-test.csv"), "--format",
                  "json").json["extruders"][0]  # fmt: skip
    bare = run("lint", "printer.cfg")
    keep(machine, "may.csv", "date: 2026-05-12")
    told = run("lint", "printer.cfg", "--format", "json").json["extruders"][0]
    lines = run("lint", "printer.cfg").out.splitlines()

    assert told["weighed"]["after"] == by_hand["weighed"]["after"]
    assert lines[0] == "tests       uses 1 weighed test (12 May)"
    (used,) = told["weighed"]["tests"]
    assert (used["date"], used["kept"], used["other_roll"]) == ("2026-05-12", True, False)
    assert not by_hand["weighed"]["tests"][0]["kept"]
    assert run("lint", "printer.cfg", "--no-tests").out == bare.out


@wide
def test_each_command_that_takes_tests_uses_them_and_says_so(machine: Path, run: Run) -> None:
    """All that have the option --weighed, in their first line."""
    keep(machine, "may.csv", "date: 2026-05-12")
    keep(machine, "june.csv", "date: 2026-06-03")
    line = "tests       uses 2 weighed tests (12 May, 3 June)"
    commands = (("flow",), ("lint",), ("torque",), ("grip",), ("session",),
                ("compare", "--vary", "nozzle.diameter=0.6 mm"))  # fmt: skip
    for command in spread(commands, 1):
        name, *more = command
        assert run(name, "printer.cfg", *more).out.splitlines()[0] == line, command


@wide
@only_wide
def test_so_do_the_page_the_plan_and_the_explanation(machine: Path, run: Run) -> None:
    """In the head of the page, in words of the plan, in the figure that is explained."""
    keep(machine, "may.csv", "date: 2026-05-12")
    keep(machine, "june.csv", "date: 2026-06-03")
    page = run("report", "printer.cfg", "--html", "-").out
    assert "uses 2 weighed tests (12 May, 3 June)" in page
    assert "planned around what was weighed before" in run("weigh", "plan", "printer.cfg").out
    explained = run("explain", "flow.capacity", "printer.cfg", "--format", "json").json
    lint = run("lint", "printer.cfg", "--format", "json").json["extruders"][0]
    assert explained["derivation"][0]["value"] == lint["facts"]["flow.capacity"]["value"]


MISFITS = {
    "motor: square-42-long": "motor class: square-42-long, here round-36",
    "motor: the small one": "motor class: the small one, here round-36",
    "gear ratio: 7.5": "gear ratio: 7.5, here 9",
    "gear ratio: 50:10, 40:20": "gear ratio: 10, here 9",
    "rotation distance: 22.7 mm": "rotation distance: 22.7 mm, here 45.2 mm",
    "nozzle: 0.6 mm": "nozzle diameter: 0.6 mm, here 0.4 mm",
    "material: petg": "filament material: petg, here pla",
    "hotend: standard": "hotend class: standard, here long",
    "diameter: 2.85 mm": "filament diameter: 2.85 mm, here 1.75 mm",
    "hardware: big gears": "it is of the build 'big gears'",
    "sheet: other.yaml": "it is of the sheet 'other.yaml'",
    "extruder: extruder9": "the config has no extruder 'extruder9'",
}


def test_what_is_of_another_machine_or_filament_is_left_out(machine: Path) -> None:
    """Each with the reason; a good one beside them is used."""
    plain = TABLE.replace("# material: pla\n", "").replace("# nozzle: 0.4 mm\n", "")
    keep(machine, "good.csv")
    for number, note in enumerate(MISFITS):
        keep(machine, f"odd{number:02}.csv", note, table=plain)
    made = weighed(machine)
    told = {Path(test.file).name: test.reason for test in made.left_out}

    assert [Path(test.file).name for test in made.tests] == ["good.csv"]
    assert told == {f"odd{number:02}.csv": why for number, why in enumerate(MISFITS.values())}


FITS = ("motor: round-36", "gear ratio: 45:5", "gear ratio: 9", "hotend: LONG",
        "rotation distance: 44 mm", "gears: twin-large", "a remark: none")  # fmt: skip


@wide
@every("notes", spread((FITS[4:], FITS[:4]), 1))
def test_what_is_as_on_the_machine_or_nearly_is_used(machine: Path, notes: tuple[str, ...]) -> None:
    """A gear ratio as teeth, a calibration some per cent off, a drive nobody states."""
    for old in (machine / "flow-tests").iterdir():
        old.unlink()
    for number, note in enumerate(notes):
        keep(machine, f"{number}.csv", note, table=TABLE.replace("name: ", f"name: {number} "))
    made = weighed(machine)

    assert not made.left_out
    assert len(made.tests) == len(notes)


def test_flows_follow_a_rotation_distance_that_was_set_anew(machine: Path) -> None:
    """The motor turned as fast for a flow of then as it does for one that is as much larger now."""
    keep(machine, "one.csv", "rotation distance: 45.2 mm")
    same = weighed(machine).after
    keep(machine, "one.csv", "rotation distance: 47.46 mm")  # 5 % more than the config's 45.2
    less = weighed(machine).after

    assert same is not None
    assert less is not None
    assert less.high < same.high
    assert less.value <= same.value


@wide
@only_wide
def test_another_roll_widens(machine: Path) -> None:
    """By day the newest one's roll is asked about, unless the sheet names one."""
    keep(machine, "a.csv", "date: 2026-05-12", "roll: grey")
    own = weighed(machine).after
    other = weighed(machine, fields=("filament.roll=white",))
    same = weighed(machine, fields=("filament.roll=Grey ",))

    assert own is not None
    assert other.after is not None
    assert same.after == own
    assert other.tests[0].other_roll
    assert other.after.low < 0.98 * own.low
    assert other.after.high - other.after.low > 1.05 * (own.high - own.low)
    keep(machine, "b.csv", "date: 2026-04-12", "roll: white")
    assert [test.other_roll for test in weighed(machine).tests] == [True, False]


def test_tests_of_one_other_roll_are_apart_together(machine: Path) -> None:
    """Correlated quantities (JCGM 100:2008, F.1.2.3): n tests that share what the roll adds have a
    mean with the variance s^2/n + r^2; taken as independent each must have s^2 + n r^2."""
    from advisor.answers.matched_tests import used_tests
    from advisor.machine import ExtruderInputs

    tables = [
        read_weighed(f"# roll: {roll}\n{TABLE}".encode(), f"{n}.csv")
        for n, roll in enumerate(["white", "white", "white", "red", "grey"])
    ]
    spread, scatter = weigh_numbers("rolls")["spread"], 0.03
    apart = [one.apart for one in used_tests(ExtruderInputs("extruder", {}), tables, tables)]
    mean = 1.0 / sum(1.0 / (scatter**2 + each**2) for each in apart[:3])

    assert apart[3:] == [spread, 0.0]
    assert mean == pytest.approx(scatter**2 / 3 + spread**2)


def test_a_broken_table_is_one_sentence_and_the_rest_goes_on(machine: Path, run: Run) -> None:
    """Exit 0, nothing on stderr; it is counted as not read; the plan and edits are made as well."""
    keep(machine, "good.csv")
    keep(machine, "new.csv", table=TABLE.replace("0.8", "x.8"))
    keep(machine, "empty.csv", table="")
    ran = run("lint", "printer.cfg")
    told = run("lint", "printer.cfg", "--format", "json").json["extruders"][0]["weighed"]

    assert (ran.code, ran.err) == (0, "")
    assert ran.out.splitlines()[0] == "tests       uses 1 weighed test (first roll)"
    words = " ".join(ran.out.split())
    assert "left out flow-tests/empty.csv: line 1: there is no table in this file" in words
    assert "flow-tests/new.csv: line 8: mass: 'x.83' is no number" in words
    assert words.endswith("3 files read, 2 not")
    assert [test["broken"] for test in told["left_out"]] == [True, True]
    assert run("mend", "printer.cfg").code == 0
    assert run("weigh", "plan", "printer.cfg").code == 0


def test_only_plain_files_inside_of_the_folder_are_read(machine: Path) -> None:
    """A link that leads out, a pipe, a folder, a huge file, a hidden one, another ending."""
    outside = machine.parent / f"{machine.name}-outside.csv"
    outside.write_text(TABLE, encoding="utf-8")
    folder = machine / "flow-tests"
    os.symlink(outside, folder / "link.csv")
    os.mkfifo(folder / "pipe.csv")
    (folder / "folder.csv").mkdir()
    keep(machine, "huge.csv", table=TABLE + "#" * 300_000)
    keep(machine, ".hidden.csv")
    keep(machine, "notes.txt")
    left = {Path(test.file).name: test.reason for test in weighed(machine).left_out}

    assert sorted(left) == ["huge.csv", "link.csv", "pipe.csv"]
    assert "outside" in left["link.csv"]
    assert "larger than 256 kB" in left["huge.csv"]
    assert "TABLE" not in str(left)
    assert weighed(machine, outside=(str(machine.parent),)).tests[0].file.endswith("link.csv")


def test_a_folder_that_leads_out_is_not_used_unless_it_is_named(machine: Path, run: Run) -> None:
    """As a sheet beside the config."""
    other = machine.parent / f"{machine.name}-kept"
    (machine / "flow-tests").rename(other)
    (other / "one.csv").write_text(TABLE, encoding="utf-8")
    os.symlink(other, machine / "flow-tests")

    assert not weighed(machine).tests
    assert "name it with --tests" in weighed(machine).left_out[0].reason
    assert len(weighed(machine, tests=str(other)).tests) == 1
    ran = run("lint", "printer.cfg", "--tests", "nowhere")
    assert (ran.code, ran.out) == (2, "")
    assert "--tests: 'nowhere' is no folder; name one that is there" in ran.err


def test_a_test_named_by_hand_that_lies_there_too_counts_once(machine: Path) -> None:
    """And one by hand is used whatever its head says."""
    path = keep(machine, "one.csv", "motor: square-42-long")
    made = weighed(machine, weighed=str(path))

    assert [(test.kept, test.file) for test in made.tests] == [(False, str(path))]
    assert not made.left_out


def test_too_many_names_are_told(machine: Path) -> None:
    """None of them is read then."""
    for number in range(KEPT_NAMES + 1):
        (machine / "flow-tests" / f"y{number}").touch()
    (told,) = weighed(machine).left_out
    assert "more than 1000 names" in told.reason


@wide
@only_wide
def test_many_tests_are_held_to_the_budgets(machine: Path) -> None:
    """The newest that fit are used, the last by name read."""
    for day in range(1, KEPT_USED + 3):
        keep(machine, f"{day}.csv", f"date: {day}.5.2026", f"name: {day}",
             table=TABLE.replace("# name: first roll\n", ""))  # fmt: skip
    made = weighed(machine)
    assert [test.date for test in made.tests] == [f"2026-05-{day:02}" for day in range(3, 9)]
    assert [test.reason for test in made.left_out] == ["older than the 6 newest that fit"] * 2

    for number in range(KEPT_TABLES):
        keep(machine, f"x{number:03}.csv", "motor: square-42-long")
    assert sum("100 tables are read" in x.reason for x in weighed(machine).left_out) == 8


def test_the_plan_writes_what_a_test_is_told_by(machine: Path, run: Run) -> None:
    """Its own head fits the machine; day and roll are left to fill in, the sheet's roll stands."""
    run("weigh", "plan", "printer.cfg", "--csv", "new.csv", "--with", "filament.roll=grey 2")
    text = Path("new.csv").read_text(encoding="utf-8")
    assert "# date:\n# roll: grey 2\n# motor: round-36\n# gear ratio: 9\n" in text
    head = "".join(line for line in text.splitlines(keepends=True) if line.startswith("#"))
    rows = "".join(line for line in TABLE.splitlines(keepends=True) if not line.startswith("#"))
    keep(machine, "one.csv", table=head + rows)

    made = weighed(machine)
    assert not made.left_out
    assert (made.tests[0].date, made.tests[0].roll) == (None, "grey 2")


@wide
@only_wide
def test_reading_a_test_takes_no_other_in(machine: Path, run: Run) -> None:
    """`weigh read` tells what its own tables show; the sheet's questions are those of the sheet."""
    keep(machine, "one.csv")
    arguments = ("weigh", "read", "flow-tests/one.csv", "--config", "printer.cfg")
    alone = run(*arguments)
    keep(machine, "two.csv", table=TABLE.replace("0.81", "0.61"))

    assert run(*arguments).out == alone.out


def test_the_tests_of_each_extruder_are_its_own(machine: Path) -> None:
    """A table that names an extruder is that one's and is no stranger to the other."""
    text = (machine / "printer.cfg").read_text(encoding="utf-8")
    section = text[text.index("[extruder]") :]
    section = section[: section.index("\n[")].replace("[extruder]", "[extruder1]")
    (machine / "printer.cfg").write_text(text + "\n" + section + "\n", encoding="utf-8")
    keep(machine, "one.csv", "extruder: extruder1")
    first, second = check_config(str(machine / "printer.cfg"), Asks()).report.extruders

    assert first.weighed is None
    assert second.weighed is not None
    assert len(second.weighed.tests) == 1


def test_a_rotation_distance_that_was_set_since_is_not_told_again(machine: Path) -> None:
    """A kept test by ruler that is 4 % off tells it, until the config has what it asked for."""
    table = TABLE.replace("; mass [g]", "; fed_length [mm]; mass [g]").replace("; 1; ", "; 1; ; ")
    table = table.replace("1; 3.8; 280; 1; ; 0.83", "1; 3.8; 280; 1; 268.8; 0.80")
    keep(machine, "one.csv", "rotation distance: 45.2 mm", table=table)
    told = check_config(str(machine / "printer.cfg"), Asks()).report.findings
    assert "weighed-rotation-distance-off" in [one.rule for one in told]
    text = (machine / "printer.cfg").read_text(encoding="utf-8")
    mended = text.replace("rotation_distance: 45.2", "rotation_distance: 43.392")
    assert mended != text
    (machine / "printer.cfg").write_text(mended, encoding="utf-8")

    told = check_config(str(machine / "printer.cfg"), Asks()).report.findings
    assert "weighed-rotation-distance-off" not in [one.rule for one in told]
    assert len(weighed(machine).tests) == 1


DAYS = {
    "2026-05-12": "2026-05-12", "2026-5-2": "2026-05-02", "12.5.2026": "2026-05-12",
    "12 May 2026": "2026-05-12", "3 Sept 2026": "2026-09-03", "29. February 2028": "2028-02-29",
}  # fmt: skip
NO_DAYS = ("12/05/2026", "yesterday", "30 February 2026", "12 Ma 2026", "2026", "12.13.2026")


def test_days_are_read_as_people_write_them() -> None:
    """ISO 8601, with dots, in words; with slashes day and month cannot be told apart."""
    from advisor.base import InputError

    assert {text: day_of(text) for text in DAYS} == DAYS
    for text in NO_DAYS:
        with pytest.raises(InputError, match="write it as 2026-05-12"):
            day_of(text)
    assert day_words("2026-06-03", ["2026-05-12", None]) == "3 June"


def test_a_bad_day_is_a_mistake_with_its_place() -> None:
    """Not a test without a day."""
    with pytest.raises(Exception, match=r"t.csv:1:9: date: '12/05/2026' is no day; write it as"):
        read_weighed(f"# date: 12/05/2026\n{TABLE}".encode(), "t.csv")


def test_the_spread_of_rolls_has_a_source() -> None:
    """It is a number of the data, between what owners see and what data sheets allow."""
    assert 0.03 < weigh_numbers("rolls")["spread"] < 0.1
    assert math.isfinite(weigh_numbers("rolls")["spread"])
