"""`feedwright mend`: streams, exit codes, options, questions."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator
from mend_helpers import CONFIG, DRIVER, Machine, patched
from tiers import spread, wide

from advisor.cli import main
from advisor.report.json import json_schema

VALIDATOR = Draft202012Validator(json_schema())
GOOD = DRIVER.replace("0.9", "0.56").replace("0.7", "0.5")


def test_stdout_is_the_diff_and_nothing_else(machine: Machine) -> None:
    """Applied, it gives the same bytes: CRLF, a byte of no text, no last line end."""
    text = b"\xef\xbb\xbf# 20 \xb0C\r\n" + (CONFIG + DRIVER).replace("\n", "\r\n").rstrip().encode()
    machine.config(text)
    ran = machine.run("mend", "printer.cfg")

    assert ran.code == 1
    assert machine.bytes() == text
    there = patched({"printer.cfg": text}, ran.out)
    written = machine.run("mend", "printer.cfg", "--write")
    assert written.code == 0
    assert written.out == ran.out
    assert machine.bytes() == there["printer.cfg"]
    assert machine.bytes() == text.replace(b"0.9", b"0.56").replace(b"0.7\r", b"0.56\r")


def test_the_summary_says_why_and_what_next(machine: Machine) -> None:
    """On stderr: value, place, reason, rule; after a write: backup, undo, restart, slow feed."""
    shown = machine.run("mend", "printer.cfg").err
    written = machine.run("mend", "printer.cfg", "--write").err

    for words in (
        "run_current: 0.9 -> 0.56",
        "printer.cfg:23 in [tmc2209 extruder]",
        "because",
        "fixes",
        "to write    feedwright mend printer.cfg --write",
        "patch -p1",
    ):
        assert words in shown
    (backup,) = machine.hidden()
    plain = " ".join(written.split())
    for words in (backup, "feedwright mend printer.cfg --undo", "Restart the firmware",
                  "feed slowly by hand"):  # fmt: skip
        assert words in plain
    assert max(map(len, shown.splitlines())) <= 80


def test_nothing_to_edit_is_quiet(machine: Machine) -> None:
    """Exit code 0, no byte on stdout, and stderr says so."""
    machine.config(CONFIG + GOOD)
    ran = machine.run("mend", "printer.cfg")

    assert (ran.code, ran.out) == (0, b"")
    assert "Nothing to edit" in ran.err


def test_undo_is_a_diff_too(machine: Machine) -> None:
    """What is put back is shown, exit code 0; without a backup it is 3 and a sentence."""
    before = machine.bytes()
    machine.run("mend", "printer.cfg", "--write")
    ran = machine.run("mend", "printer.cfg", "--undo")

    assert ran.code == 0
    assert b"+run_current: 0.9\n" in ran.out
    assert machine.bytes() == before
    again = machine.run("mend", "printer.cfg", "--undo")
    assert (again.code, again.out) == (3, b"")
    assert "there is no backup of 'printer.cfg'" in again.err


@wide
@pytest.mark.parametrize("options", spread([(), ("--write",), ("--undo",)], 1))
def test_json_keeps_to_the_schema(machine: Machine, options: tuple[str, ...]) -> None:
    """One object, edits with file, line, setting, from, to; stderr stays empty."""
    name = machine.profile()
    if options == ("--undo",):
        machine.run("mend", "printer.cfg", "--write")
    ran = machine.run("mend", "printer.cfg", "--profile", name, "--format", "json", *options)
    VALIDATOR.validate(ran.json)

    assert ran.err == ""
    assert ran.json["undone"] is (options == ("--undo",))
    assert ran.json["diff"].startswith("--- a/")
    if options != ("--undo",):
        edit = ran.json["edits"][0]
        assert (edit["file"], edit["line"]) == ("printer.cfg", 23)
        assert (edit["setting"], edit["from"], edit["to"]) == ("run_current", "0.9", "0.56")
        assert edit["written"] is bool(options)
        assert ran.json["written"] == (["printer.cfg"] if options else [])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("-",), "standard input cannot be mended"),
        (("printer.cfg", "--only", "run-current-above-deratd"),
         "did you mean 'run-current-above-derated'?"),
        (("printer.cfg", "--only", "missing-run-current"), "has no fix that could be an edit"),
        (("printer.cfg", "--skip", "nothing-of-the-kind"), "there is no rule"),
        (("printer.cfg", "--write-profile"), "--write-profile needs a profile"),
        (("printer.cfg", "--undo", "--write"), "--undo goes with no other change"),
        (("two",), "'two' holds 2 configs; name one: two/a.cfg, two/b.cfg"),
    ],
)  # fmt: skip
def test_wrong_usage_is_a_sentence(
    machine: Machine, arguments: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, stdout empty, nothing written."""
    machine.config(CONFIG, "two/a.cfg")
    machine.config(CONFIG, "two/b.cfg")
    before = machine.bytes()
    code = main(["mend", *arguments])
    out, err = capsys.readouterr()

    assert (code, out) == (2, "")
    assert words in err
    assert machine.bytes() == before


@pytest.mark.parametrize(
    ("spoil", "words"),
    [("printer.cfg", "there is no file"), ("hardware.yaml", "unknown field 'motr'")],
)
def test_what_cannot_be_read_is_not_mended(
    machine: Machine, spoil: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A missing config, or a sheet with a mistake: exit code 3, no diff, no edit."""
    if spoil == "printer.cfg":
        (machine.folder / spoil).unlink()
    else:
        machine.sheet("motr: 1\n")
    code = main(["mend", "printer.cfg", "--write"])
    out, err = capsys.readouterr()

    assert (code, out) == (3, "")
    assert words in err
    assert machine.hidden() == []


def test_a_folder_with_one_config_is_that_config(machine: Machine) -> None:
    """As for lint."""
    assert machine.run("mend", str(machine.folder)).code == 1


def test_paths_outside_of_the_present_folder_apply_with_patch_d(machine: Machine) -> None:
    """The folder to apply the diff in is told."""
    elsewhere = machine.folder.parent / "elsewhere"
    elsewhere.mkdir()
    ran = machine.run("mend", "../machine/printer.cfg", cwd=elsewhere)

    assert ran.out.startswith(b"--- a/printer.cfg\n")
    assert f"patch -d {machine.folder} -p1" in " ".join(ran.err.split())


@wide
@pytest.mark.parametrize(
    ("replies", "run", "hold", "code"),
    spread(
        [
            ("y\ny\n", "0.56", "0.56", 0),
            ("a\n", "0.56", "0.56", 0),
            ("x\ny\nall\n", "0.56", "0.56", 0),
            ("n\n", "0.9", "0.7", 0),
            ("y\nn\n", "0.56", "0.7", 0),
            ("q\n", "0.9", "0.7", 0),
            ("", "0.9", "0.7", 0),
            ("y\n", "0.9", "0.7", 0),
        ],
        2,
    ),
)
def test_each_edit_is_asked_for(
    machine: Machine, replies: str, run: str, hold: str, code: int
) -> None:
    """Yes and no, all and none; without an answer nothing is written."""
    ran = machine.run("mend", "printer.cfg", "--interactive", "--write", stdin=replies.encode())
    text = machine.bytes().decode()

    assert ran.code == code
    assert f"run_current: {run}\n" in text
    assert f"hold_current: {hold}\n" in text
    assert "make it?" in ran.err


def test_only_what_was_accepted_is_in_the_diff(machine: Machine) -> None:
    """Without --write the accepted edits are shown and nothing is written."""
    before = machine.bytes()
    ran = machine.run("mend", "printer.cfg", "--interactive", stdin=b"y\nn\n")

    assert b"+run_current: 0.56" in ran.out
    assert b"hold_current: 0.56" not in ran.out
    assert ran.code == 1
    assert machine.bytes() == before


def test_the_output_is_the_same_from_run_to_run(machine: Machine) -> None:
    """No times of day, no order of a set."""
    first = machine.run("mend", "printer.cfg", "--format", "json")
    second = machine.run("mend", "printer.cfg", "--format", "json")

    assert first.out == second.out
    assert json.loads(first.out)["edits"]
