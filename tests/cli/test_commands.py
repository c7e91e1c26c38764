"""The commands: what they hand on, what they write where, and their exit codes."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from cli_answers import EXPLANATION, Runner, derating, report
from jsonschema import Draft202012Validator

import advisor
from advisor.answers.asks import Asks
from advisor.base import FileStatus, Level, SheetError, Span, UnreadableError, UsageError
from advisor.cli import main
from advisor.report.json import json_schema

VALIDATOR = Draft202012Validator(json_schema())
StandIn = Callable[[str, Any], list[Any]]
ERROR, WARNING, NOTE = Level.ERROR, Level.WARNING, Level.NOTE


@pytest.mark.parametrize(
    ("levels", "fail_on", "code"),
    [
        ((), "error", 0), ((NOTE, WARNING), "error", 0), ((ERROR,), "error", 1),
        ((WARNING,), "warning", 1), ((NOTE,), "warning", 0), ((NOTE,), "note", 1),
        ((ERROR,), "never", 0),
    ],
)  # fmt: skip
def test_the_exit_code_follows_fail_on(
    levels: tuple[Level, ...], fail_on: str, code: int, run: Runner, stand_in: StandIn
) -> None:
    """1 where a finding is at or above --fail-on, else 0."""
    stand_in("check", report(*levels))
    assert run("lint", "printer.cfg", "--fail-on", fail_on).code == code


def test_the_default_of_fail_on_is_error(run: Runner, stand_in: StandIn) -> None:
    """A warning alone does not fail, an error does."""
    stand_in("check", report(WARNING))
    assert run("lint", "printer.cfg").code == 0
    stand_in("check", report(WARNING, ERROR))
    assert run("lint", "printer.cfg").code == 1


@pytest.mark.parametrize("form", ["text", "json", "sarif"])
def test_what_could_not_be_read_wins_over_findings(
    form: str, run: Runner, stand_in: StandIn
) -> None:
    """The worst of all files: 3, with the sentence on stderr, whatever else was found."""
    stand_in("check", report(ERROR, errors=("gone.cfg: there is no such file",)))
    ran = run("lint", "printer.cfg", "gone.cfg", "--format", form, "--fail-on", "never")

    assert ran.code == 3
    assert ran.err == "feedwright: gone.cfg: there is no such file\n"


def test_a_missing_include_is_no_fault(run: Runner, stand_in: StandIn) -> None:
    """A finding tells of it; the files that were asked for were read."""
    files = (FileStatus("printer.cfg", "read"), FileStatus("addon.cfg", "missing"))
    stand_in("check", replace(report(WARNING), files=files))
    ran = run("lint", "printer.cfg")

    assert (ran.code, ran.err) == (0, "")
    assert ran.out.endswith("1 warning; 1 file read, 1 not\n")


def test_options_reach_the_check(run: Runner, stand_in: StandIn) -> None:
    """Each option has its place in what the check is asked."""
    calls = stand_in("check", report())
    run("lint", "a.cfg", "b", "--sheet", "s.yaml", "--profile", "p.ini", "--profile", "q.ini",
        "--material", "petg", "--asked", "24mm3/s", "--preset", "fast",
        "--parents", "up", "--print", "box.gcode", "--weighed", "w.csv", "--no-allow")  # fmt: skip

    (((paths, asks), options),) = calls
    assert list(paths) == ["a.cfg", "b"]
    assert asks == Asks(
        sheet="s.yaml",
        profiles=("p.ini", "q.ini"),
        presets=("fast",),
        parents=("up",),
        sliced="box.gcode",
        material="petg",
        asked="24mm3/s",
        weighed=("w.csv",),
        allow=False,
    )
    assert options == {}


def test_a_dash_reads_standard_input_as_bytes(
    run: Runner, stand_in: StandIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bytes stay bytes; the name to show can be given."""
    calls = stand_in("check", report())
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"[extruder]\r\n\xff")))
    run("lint", "-", "--stdin-name", "printer.cfg")

    asks = calls[0][0][1]
    assert (asks.stdin, asks.stdin_name) == (b"[extruder]\r\n\xff", "printer.cfg")


def test_lint_json_is_the_schema_and_nothing_else(run: Runner, stand_in: StandIn) -> None:
    """stdout is one JSON object, stderr is empty."""
    stand_in("check", report(ERROR))
    ran = run("lint", "printer.cfg", "--format", "json")

    VALIDATOR.validate(ran.json)
    assert ran.err == ""


def test_lint_sarif_is_a_log(run: Runner, stand_in: StandIn) -> None:
    """--format sarif writes SARIF 2.1.0."""
    stand_in("check", report(ERROR))
    assert run("lint", "printer.cfg", "--format", "sarif").json["version"] == "2.1.0"


@pytest.mark.parametrize(
    ("name", "command"),
    [
        ("check", ("lint", "a.cfg")), ("derate", ("derate", "1.0A")),
        ("explain", ("explain", "flow.torque")),
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    ("failure", "code"),
    [
        (UnreadableError("it is no text", "give a config", Span("a.cfg", 1)), 3),
        (SheetError("'1 A' is no unit we know", "write A", Span("hardware.yaml", 3, 9)), 3),
        (KeyError("surprise"), 3),
    ],
)
def test_json_is_valid_in_every_outcome(
    name: str, command: tuple[str, ...], failure: Exception, code: int,
    run: Runner, stand_in: StandIn,
) -> None:  # fmt: skip
    """A failure is one sentence on stderr, and a valid object with that sentence on stdout."""
    stand_in(name, failure)
    ran = run(*command, "--format", "json")

    VALIDATOR.validate(ran.json)
    assert ran.code == code
    assert ran.err == f"feedwright: {ran.json['errors'][0]}\n"
    assert ran.err.count("\n") == 1


def test_an_unreadable_file_is_named_in_json(run: Runner, stand_in: StandIn) -> None:
    """The file of the failure has the status unreadable."""
    stand_in("check", UnreadableError("it is no text", "give a config", Span("a.cfg", 1)))
    files = run("lint", "a.cfg", "--format", "json").json["files"]
    assert files == [{"path": "a.cfg", "status": "unreadable", "role": "config"}]


def test_sarif_of_a_failure_is_valid_too(run: Runner, stand_in: StandIn) -> None:
    """The invocation says that it failed."""
    stand_in("check", UnreadableError("it is no text", at=Span("a.cfg", 1)))
    ran = run("lint", "a.cfg", "--format", "sarif")

    assert ran.code == 3
    assert ran.json["runs"][0]["invocations"][0]["executionSuccessful"] is False


def test_an_internal_fault_is_one_sentence(
    run: Runner, stand_in: StandIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No traceback, no mistake for a finding; with FEEDWRIGHT_TRACEBACK the traceback too."""
    stand_in("check", ZeroDivisionError("division by zero"))
    ran = run("lint", "printer.cfg")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("feedwright: INTERNAL ERROR")
    assert "ZeroDivisionError: division by zero" in ran.err
    assert "Traceback" not in ran.err

    monkeypatch.setenv("FEEDWRIGHT_TRACEBACK", "1")
    assert "Traceback" in run("lint", "printer.cfg").err


def test_an_interrupt_is_quiet(run: Runner, stand_in: StandIn) -> None:
    """Ctrl-C: exit code 130 and not a word."""
    stand_in("check", KeyboardInterrupt())
    ran = run("lint", "printer.cfg", "--format", "json")
    assert (ran.code, ran.out, ran.err) == (130, "", "")


def test_a_usage_error_of_the_work_leaves_stdout_empty(run: Runner, stand_in: StandIn) -> None:
    """Exit code 2 and the sentence with its remedy on stderr, in JSON too."""
    stand_in("explain", UsageError("there is no rule or fact 'flow.torqe'", "did you mean ...?"))
    ran = run("explain", "flow.torqe", "--format", "json")

    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "feedwright: there is no rule or fact 'flow.torqe'; did you mean ...?\n"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("lnt", "a.cfg"), "no such command 'lnt'; did you mean 'lint'?"),
        (("lint", "a.cfg", "--formt", "json"), "no such option: --formt; did you mean --format?"),
        (("lint", "a.cfg", "--format", "xml"), "'xml' is not one of 'text', 'json', 'sarif'"),
        (("lint", "a.cfg", "--fail-on", "fatal"), "'fatal' is not one of"),
        (("lint",), "missing argument 'CONFIG...'"),
        (("derate",), "no rated current is stated"),
        (("torque", "a.cfg", "b.cfg"), "unexpected extra argument"),
        (("explain", "a", "b", "c"), "unexpected extra argument"),
        (("lint", "a.cfg", "--sheet"), "'--sheet' requires an argument"),
    ],
)
def test_wrong_usage_is_one_sentence_on_stderr(
    arguments: tuple[str, ...], words: str, run: Runner
) -> None:
    """Exit code 2, stdout empty, the sentence says which help to read."""
    ran = run(*arguments)

    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err
    assert "--help)" in ran.err
    assert ran.err.count("\n") == 1


def test_no_arguments_show_the_help_on_stderr(run: Runner) -> None:
    """stdout is for reports."""
    ran = run()
    assert (ran.code, ran.out) == (2, "")
    assert "feedwright lint printer.cfg" in ran.err


@pytest.mark.parametrize("command", ["lint", "derate", "explain"])
def test_help_begins_with_a_verb_and_ends_with_the_exit_codes(command: str, run: Runner) -> None:
    """First what it does, then examples, then options; 0, 2 and 3 named at the end."""
    ran = run(command, "--help")
    text = " ".join(ran.out.split())

    assert (ran.code, ran.err) == (0, "")
    assert ran.out.splitlines()[2].split()[0] in {"Check", "Work", "Explain"}
    assert text.index("Examples:") < text.index("Arguments:") < text.index("Options:")
    assert text.index("Exit codes:") > text.index("--help")
    assert f"feedwright {command}" in text.partition("Options:")[0]


def test_the_version_is_the_package_s(run: Runner) -> None:
    """--version: name and version on stdout."""
    ran = run("--version")
    assert (ran.code, ran.out, ran.err) == (0, f"feedwright {advisor.__version__}\n", "")


def test_derate_hands_on_what_it_is_given(run: Runner, stand_in: StandIn) -> None:
    """Texts with their units go through unread: the work reads them."""
    calls = stand_in("derate", derating())
    ran = run("derate", "1.0A", "--basis", "peak", "--share", "0.7", "--ambient", "45degC",
              "--mount", "petg", "--driver", "tmc2209", "--sense-resistor", "0.11ohm")  # fmt: skip

    assert ran.code == 0
    assert ran.out.startswith("set         0.56 A RMS")
    assert calls == [(("1.0A",), {
        "basis": "peak", "share": "0.7", "ambient": "45degC", "mount": "petg",
        "driver": "tmc2209", "sense_resistor": "0.11ohm", "reference_resistor": None,
        "material": None, "motor": None, "sheet": None, "fields": (),
    })]  # fmt: skip


def test_derate_json_is_valid(run: Runner, stand_in: StandIn) -> None:
    """--format json keeps to the schema."""
    stand_in("derate", derating())
    VALIDATOR.validate(run("derate", "1.0A", "--format", "json").json)


def test_explain_hands_on_what_it_is_given(run: Runner, stand_in: StandIn) -> None:
    """Name, config and what the command line adds."""
    calls = stand_in("explain", EXPLANATION)
    ran = run("explain", "flow.torque", "printer.cfg", "--sheet", "s.yaml")

    assert ran.code == 0
    assert ran.out.startswith("figure      flow.torque: flow the motor carries\n")
    assert calls == [(("flow.torque",), {"config": "printer.cfg", "asks": Asks("s.yaml")})]


def test_explain_json_is_valid(run: Runner, stand_in: StandIn) -> None:
    """--format json keeps to the schema."""
    stand_in("explain", EXPLANATION)
    VALIDATOR.validate(run("explain", "flow.torque", "--format", "json").json)


def test_colour_is_as_asked(run: Runner, stand_in: StandIn) -> None:
    """Not a terminal: no escape, unless --color always."""
    stand_in("check", report(ERROR))
    assert "\x1b[" not in run("lint", "a.cfg").out
    assert "\x1b[" in run("lint", "a.cfg", "--color", "always").out


def test_the_garbage_collector_is_as_it_was(run: Runner, stand_in: StandIn) -> None:
    """Used as a library, a run leaves no trace in the process."""
    import gc

    stand_in("check", report())
    assert gc.isenabled()
    main(["lint", "a.cfg"])
    assert gc.isenabled()
