"""The library's door: every question of the commands, in trade units, with nothing printed."""

from __future__ import annotations

import contextlib
import dataclasses
import doctest
import importlib
import inspect
import io
import json
import os
import re
import subprocess
import sys
import types
import typing
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fresh import imported_anew
from tiers import only_wide, spread, wide

import advisor
from advisor import cli
from advisor.library import bench, machines
from advisor.report import json as report_json

ROOT = Path(__file__).resolve().parents[2]
BARE, ASKS, HEALTHY = (
    f"samples/{name}/printer.cfg" for name in ("no-sheet", "asks-too-much", "healthy")
)
KEPT = [f"samples/healthy/kept/{day}.csv" for day in ("2026-05-12", "2026-06-03")]
CLICKS = "samples/healthy/skip-test.csv"
TABLE, PRINT = "samples/healthy/flow-test.csv", "samples/asks-too-much/box.gcode"

QUESTIONS: dict[str, Callable[[], Any]] = {
    "check": lambda: advisor.check(BARE),
    "compare": lambda: advisor.compare(BARE, vary={"motor.run_current": [0.4, 0.5]}, target=15),
    "demand": lambda: advisor.demand(PRINT, ASKS, caps=[8, 12, 24]),
    "derate": lambda: advisor.derate(1.0),
    "diagnose": lambda: advisor.diagnose(HEALTHY, sees="clicks@retracts"),
    "edits": lambda: advisor.edits("samples/over-driven/printer.cfg"),
    "explain": lambda: advisor.explain("flow.capacity", BARE),
    "flow": lambda: advisor.flow(ASKS, asked=24),
    "grip": lambda: advisor.grip(HEALTHY),
    "session": lambda: advisor.session(ASKS, materials="petg"),
    "sheet": lambda: advisor.sheet(BARE),
    "skip_plan": lambda: advisor.skip_plan(HEALTHY),
    "skip_read": lambda: advisor.skip_read(CLICKS, HEALTHY),
    "torque": lambda: advisor.torque(HEALTHY),
    "weigh_compare": lambda: advisor.weigh_compare(KEPT, HEALTHY),
    "weigh_next": lambda: advisor.weigh_next(TABLE, HEALTHY, prove=12),
    "weigh_plan": lambda: advisor.weigh_plan(HEALTHY),
    "weigh_read": lambda: advisor.weigh_read(TABLE, HEALTHY),
}
FUNCTIONS = sorted((*QUESTIONS, "undo"))
HELPERS = ["as_json", "json_schema"]
ERRORS = [
    "AdvisorError", "InputError", "MendError", "Mistakes", "PrintError", "ProfileError",
    "SheetError", "UnreadableError", "UsageError", "WeighError",
]  # fmt: skip
RECORDS = [
    "AccelRow", "AdvanceLimits", "Asks", "Band", "BandLine", "ByHand", "Calibration", "CapRow",
    "CapTimesAnswer", "CappedTime",
    "CapacityChange", "Case", "CatalogueFigure", "CauseLine", "CauseOdds", "CompareReport",
    "Contrast", "CurrentDoubt", "DeliveredMore", "DemandReport", "DiagnoseReport", "FedLength",
    "NextTest", "OutcomeMeaning",
    "DemandRow", "DerateReport", "Derivation", "Edit", "Evenness", "ExcessPlace", "Explanation",
    "ExtruderReport", "FeatureAsk", "Figure", "Figures", "FileStatus", "Finding", "Fix",
    "FlowReport", "FlowRow", "GripReport", "GripRow", "LaterSetting", "LeftOutTest",
    "Level", "LeverAnswer",
    "LeverGain", "LimitBand", "MeasureGroup", "MeasureInput", "MendReport", "MotorNeed", "MotorRow",
    "NextPiece", "NextStep", "OperatingPoint", "Origin", "OriginKind", "ProvedFlow",
    "Reason", "RefusedMoves", "Report",
    "RetractLimits", "SeriesRow", "SessionCurrent", "SessionReport", "SessionStep",
    "SkipFile", "SkipLevel", "SkipNarrows", "SkipPlan", "SkipPlanAnswer", "SkipReadAnswer",
    "SkipSeenPoint", "SkipTest", "SlicerTime", "SlowedMoves", "Span",
    "SpeedCeiling", "State", "TargetReport", "TorqueReport", "UsedTest", "Variant",
    "WeighCompareAnswer", "WeighNextAnswer", "WeighPlan",
    "WeighPlanAnswer", "WeighPlanStep", "WeighReadAnswer", "Weighed", "WeighedByHand",
    "WeighedSlip", "WeighedStep", "WeighedTest", "WindowRow", "WorstPlace",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def test_the_public_names_are_these() -> None:
    """Who adds or takes away a name says so here; `dir` lists them, and each is documented."""
    assert sorted(advisor.__all__) == sorted((*FUNCTIONS, *HELPERS, *ERRORS, *RECORDS))
    assert set(dir(advisor)) == {*advisor.__all__, "__version__"}
    for name in advisor.__all__:
        assert inspect.getdoc(getattr(advisor, name)), name


def test_no_module_has_the_name_of_a_question() -> None:
    """A module `advisor.flow` would take the function's place once it is imported."""
    modules = {path.stem for path in (ROOT / "advisor").iterdir()}
    assert not modules & {*FUNCTIONS, *HELPERS}


def test_each_command_has_its_question() -> None:
    """All commands but `report`, which writes a page."""
    from advisor.cli.app import COMMANDS

    named = {
        "lint": {"check"},
        "mend": {"edits", "undo"},
        "skip-test": {"skip_plan", "skip_read"},
        "weigh": {"weigh_compare", "weigh_next", "weigh_plan", "weigh_read"},
    }
    due = {one for name in COMMANDS if name != "report" for one in named.get(name, {name})}
    assert due == set(FUNCTIONS)


@wide
def test_the_examples_in_the_documentation_run() -> None:
    """Every public function has one."""
    for module in spread((machines, bench, report_json), 2):
        found = doctest.DocTestFinder(recurse=True).find(module)
        examples = {one.name.rpartition(".")[2]: one.examples for one in found}
        named = set(module.__all__) & set(advisor.__all__)
        assert all(examples[name] for name in named)
        assert doctest.testmod(module).failed == 0


@wide
@pytest.mark.parametrize("name", spread(list(QUESTIONS), 4))
def test_a_question_prints_nothing(name: str) -> None:
    """Neither on stdout nor on stderr; it answers with a record of the names above."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        answer = QUESTIONS[name]()
    assert (out.getvalue(), err.getvalue()) == ("", "")
    told = {type(one).__name__ for one in _records(answer)}
    assert told <= set(RECORDS)
    assert name == "sheet" or type(answer).__name__ in told


def _records(value: Any) -> Iterator[Any]:
    """Yield every record in an answer; an array or a class of another kind fails."""
    if isinstance(value, str | bytes | bool | int | float | None):
        return
    if isinstance(value, Mapping):
        for part in value.values():
            yield from _records(part)
    elif isinstance(value, Sequence | frozenset):
        for part in value:
            yield from _records(part)
    elif isinstance(value, advisor.Figure):
        yield value
        assert not isinstance(value.value, np.ndarray)
        yield from _records(value.origin)
    else:
        assert dataclasses.is_dataclass(value), type(value)
        yield value
        for item in dataclasses.fields(value):
            yield from _records(getattr(value, item.name))


def test_every_type_that_an_answer_names_is_public() -> None:
    """From the return type of each function down through the fields of all records."""
    waiting = [typing.get_type_hints(getattr(advisor, name))["return"] for name in FUNCTIONS]
    seen: set[Any] = set()
    while waiting:
        kind = waiting.pop()
        if kind in seen:
            continue
        seen.add(kind)
        waiting += typing.get_args(kind)
        if dataclasses.is_dataclass(kind):
            waiting += typing.get_type_hints(kind).values()
    ours = {one.__name__ for one in seen if getattr(one, "__module__", "").startswith("advisor")}
    assert len(ours) > 40
    assert ours <= set(RECORDS)


def _told(*words: str) -> dict[str, Any]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        cli.main([*words, "--format", "json"])
    tree: dict[str, Any] = json.loads(out.getvalue())
    return tree


def test_facts_are_in_the_trade_unit_they_name() -> None:
    """As the command's JSON has them, each beside its unit; its figures have nine digits."""
    tree = _told("lint", BARE)["extruders"][0]["facts"]
    facts = advisor.check(BARE).extruders[0].facts
    assert tree.keys() == facts.keys()
    for name, due in tree.items():
        figure = facts[name]
        assert due["state"] == figure.state.value
        if isinstance(due["value"], float):
            assert (figure.value, figure.low, figure.high) == pytest.approx(
                (due["value"], due["low"], due["high"]), rel=1e-8
            ), name
        else:
            assert due["value"] == figure.value
    assert (facts["motor.run_current"].value, facts["motor.run_current"].unit) == (0.55, "A rms")


def test_weighed_tests_are_in_the_units_of_the_json() -> None:
    """Planned and read: each field of the JSON that a record has too."""
    pairs = [
        (advisor.weigh_plan(HEALTHY).plan, _told("weigh", "plan", HEALTHY)["plan"]),
        (
            advisor.weigh_read(TABLE, HEALTHY).tests[0],
            _told("weigh", "read", TABLE, "--config", HEALTHY)["tests"][0],
        ),
    ]
    for record, tree in pairs:
        _same(record, tree)


def _same(record: Any, tree: Any) -> None:
    if isinstance(tree, dict) and dataclasses.is_dataclass(record):
        for name in tree.keys() - {"unit"}:
            _same(getattr(record, name), tree[name])
    elif isinstance(tree, list):
        for one, other in zip(record, tree, strict=True):
            _same(one, other)
    elif isinstance(tree, float):
        assert record == pytest.approx(tree, rel=1e-8)
    else:
        assert record == tree or isinstance(tree, dict)


@pytest.mark.parametrize(
    ("text", "number"),
    [({"asked": "24 mm3/s"}, {"asked": 24}), ({"temperature": "230 C"}, {"temperature": 230.0}),
     ({"fields": "hotend.melt_length=20 mm"}, {"fields": {"hotend.melt_length": 20}}),
     ({"fields": ["hotend.class=long"]}, {"fields": {"hotend.class": "long"}})],
)  # fmt: skip
def test_a_number_is_taken_in_the_trade_unit(text: Any, number: Any) -> None:
    """The same as the text with its unit, by keyword or in `Asks`."""
    capacity = [
        advisor.check(BARE, **words).extruders[0].facts["flow.capacity"].band
        for words in (text, number)
    ]
    assert capacity[0] == capacity[1]


def test_a_sweep_takes_numbers_of_an_array() -> None:
    """numpy's floats; the currents are what the driver makes of 0.4, 0.5 and 0.6 A."""
    answer = advisor.compare(BARE, vary={"motor.run_current": np.linspace(0.4, 0.6, 3)})
    assert [one.short for one in answer.variants[1:]] == ["0.4 A", "0.5 A", "0.6 A"]
    applied = [one.run_current.value for one in answer.variants[1:] if one.run_current]
    assert applied == pytest.approx([0.4, 0.5, 0.6], abs=0.04)


def test_a_config_is_a_path_a_folder_a_list_or_its_own_text() -> None:
    """All tell of the same machine; a text's name in places is '-'."""
    path = Path(BARE)
    told = [
        advisor.check(given) for given in (str(path), path, path.parent, [path], path.read_text())
    ]
    assert len({str(one.extruders[0].facts["flow.capacity"]) for one in told}) == 1
    assert told[-1].files[0].path == "-"
    with pytest.raises(advisor.UsageError, match="stands in a list"):
        advisor.check([path.read_text()])
    with pytest.raises(advisor.UsageError, match="has no file to edit"):
        advisor.edits(path.read_text())


def test_keywords_go_over_a_record() -> None:
    """What is given both ways counts as the keyword says."""
    asks = advisor.Asks(material="petg", asked="5 mm3/s")
    assert advisor.flow(BARE, asks, asked=30).asked.value == pytest.approx(30)
    assert advisor.flow(BARE, asks).asked.value == pytest.approx(5)
    with pytest.raises(TypeError, match="no keyword 'profile'; did you mean 'profiles'"):
        advisor.check(BARE, profile="fast.ini")


MISTAKES: list[tuple[Callable[[], Any], str, str | None, str | None]] = [
    (lambda: advisor.check("gone.cfg"), "gone.cfg", None, "check the path"),
    (lambda: advisor.check(BARE, sheet="gone.yaml"), "gone.yaml", None, "check the path"),
    (lambda: advisor.demand("gone.gcode", BARE), "gone.gcode", None, "check the path"),
    (lambda: advisor.weigh_read("gone.csv", BARE), "gone.csv", None, "check the path"),
    (lambda: advisor.flow(BARE, asked="24 K"), "24 K", None,
     ("write a flow, such as 12mm3/s, a line (120mm/s x 0.45 x 0.2), 5mm/s of filament or "
     "0.9g/min")),
    (lambda: advisor.explain("petgg"), "petgg", None, "did you mean 'petg'?"),
    (lambda: advisor.flow(BARE, material="petgg", asked=3), "petgg", None,
     "did you mean 'petg'?"),
    (lambda: advisor.check(BARE, fields={"hotend.melt_lenght": 2}), "hotend.melt_lenght", None,
     "did you mean 'hotend.melt_length'?"),
]  # fmt: skip


def test_an_error_has_place_thing_problem_and_remedy() -> None:
    """One class to catch; the thing is what was given, the remedy what to do."""
    for question, thing, place, remedy in MISTAKES:
        with pytest.raises(advisor.AdvisorError) as caught:
            question()
        error = caught.value
        assert (error.thing, error.place, error.remedy) == (thing, place, remedy)
        assert error.problem in str(error)


def test_an_error_in_a_file_has_its_line(tmp_path: Path) -> None:
    """Line 2 of a sheet."""
    sheet = tmp_path / "hardware.yaml"
    sheet.write_text("motor:\n  rated_curent: 1 A\n")
    with pytest.raises(advisor.SheetError, match="rated_curent") as caught:
        advisor.check(BARE, sheet=sheet)
    assert caught.value.place == f"{sheet}:2:3"
    assert advisor.check(BARE, sheet=sheet, strict=False).errors == (str(caught.value),)


def test_remedies_name_keywords_and_not_options() -> None:
    """What the command line calls --asked is asked= here."""
    with pytest.raises(advisor.UsageError) as caught:
        advisor.compare(BARE)
    assert caught.value.remedy.startswith("give sheets twice, or vary")
    with pytest.raises(advisor.UsageError, match=r"asked: '24 K'"):
        advisor.flow(BARE, asked="24 K")


def test_the_signature_spells_the_keywords_out() -> None:
    """As a notebook shows them: each of `Asks`, but for what stdin brings."""
    shown = inspect.signature(advisor.flow).parameters
    due = {item.name for item in dataclasses.fields(advisor.Asks)} - {"stdin", "stdin_name"}
    assert due <= shown.keys()
    assert shown["strict"].default is True


def test_a_question_takes_what_the_command_hands_on() -> None:
    """A parameter that the inner function gains is one of the library's too."""
    from advisor.answers.builds.compare import compare
    from advisor.answers.derate_motor import derate
    from advisor.answers.weigh_plan import WishTexts

    pairs = [(derate, advisor.derate), (compare, advisor.compare)]
    for inner, outer in pairs:
        due = inspect.signature(inner).parameters.keys()
        assert due <= inspect.signature(outer).parameters.keys()
    wishes = {item.name for item in dataclasses.fields(WishTexts)}
    assert wishes <= inspect.signature(advisor.weigh_plan).parameters.keys()


def test_a_record_prints_briefly() -> None:
    """No array of samples in a notebook."""
    extruder = advisor.check(BARE).extruders[0]
    assert repr(extruder.facts).startswith("<Figures: ")
    capacity = extruder.facts["flow.capacity"]
    assert repr(capacity) == f"<Figure flow.capacity: {capacity.band} mm3/s>"
    assert "array" not in repr(advisor.weigh_read(TABLE, HEALTHY))


def test_written_edits_can_be_put_back(tmp_path: Path) -> None:
    """The file is what it was, to the byte."""
    config = tmp_path / "printer.cfg"
    for name in ("printer.cfg", "hardware.yaml"):
        (tmp_path / name).write_bytes((ROOT / "samples/over-driven" / name).read_bytes())
    before = config.read_bytes()
    assert advisor.edits(config, write=True).written == (str(config),)
    assert config.read_bytes() != before
    assert advisor.undo(config).undone
    assert config.read_bytes() == before


@wide
@only_wide
def test_it_is_typed(tmp_path: Path) -> None:
    """A caller's mistake is found by mypy."""
    assert (ROOT / "advisor/py.typed").exists()
    user = tmp_path / "user.py"
    user.write_text(
        "import advisor\n"
        "a = advisor.flow('x.cfg', asked=24, sheet='y.yaml', extruder='extruder')\n"
        "reveal_type(a)\n"
        "reveal_type(advisor.check('x').extruders[0].facts['flow.capacity'].low)\n"
        "advisor.flow('x.cfg', asked=[1])\n"
        "advisor.flow('x.cfg', profile='p')\n"
    )
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path), str(user)],
        capture_output=True, text=True, check=False, cwd=tmp_path,
        env={**os.environ, "MYPYPATH": str(ROOT)},
    )  # fmt: skip
    assert "advisor.answers.machine_records.FlowReport" in done.stdout
    assert 'Revealed type is "float | None"' in done.stdout.replace(
        "Union[float, None]", "float | None"
    )
    assert "user.py:5" in done.stdout
    assert "user.py:6" in done.stdout
    assert "Found 2 errors" in done.stdout


def test_it_is_light() -> None:
    """Importing loads no numpy, nor what answers need."""
    with imported_anew():
        importlib.import_module("advisor")
        assert [name for name in sys.modules if name.startswith("advisor")] == ["advisor"]


def test_the_lazy_names_come_from_where_they_stand() -> None:
    """The table of homes is the list of names."""
    assert sorted(" ".join(advisor._HOMES.values()).split()) == sorted(advisor.__all__)
    for home, names in advisor._HOMES.items():
        module: types.ModuleType = importlib.import_module(home)
        assert all(getattr(module, name) is getattr(advisor, name) for name in names.split())


def test_the_examples_in_the_readme_run() -> None:
    """Each ``pycon`` block of README.md, with the output it shows."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```pycon\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert blocks
    out = io.StringIO()
    for block in blocks:
        test = doctest.DocTestParser().get_doctest(block, {}, "README.md", "README.md", 0)
        doctest.DocTestRunner().run(test, out=out.write)
    assert out.getvalue() == ""


def test_json_of_an_answer_is_what_the_command_prints() -> None:
    """For three commands, byte for byte; what is no answer is refused."""
    for answer, words in (
        (advisor.check(BARE), ("lint", BARE)),
        (advisor.derate(1.0), ("derate", "1 A")),
        (advisor.weigh_plan(HEALTHY), ("weigh", "plan", HEALTHY)),
    ):
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            cli.main([*words, "--format", "json"])
        assert advisor.as_json(answer) == out.getvalue()
    with pytest.raises(TypeError, match="'str' is no answer"):
        advisor.as_json("nothing")
