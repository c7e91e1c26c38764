"""What a skip test says of a machine, and what every command makes of it.

The torque of a stepper is its current times a constant (from memory of P. P. Acarnley, Stepping
Motors); a flow asks for a push, so current and flow of a first click tell the two against each
other. That is checked on clicks worked out here by hand, not by the code that reads them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from every import every
from ran import Run
from tiers import only_wide, spread, wide

from advisor import Asks, WeighError
from advisor.answers.lint import check_config
from advisor.answers.skip_read import read_skip_tests
from advisor.weigh import SkipReadAnswer, read_skip_table

ROOT = Path(__file__).resolve().parents[2]
HEALTHY = str(ROOT / "samples/healthy/printer.cfg")
TABLE = str(ROOT / "samples/healthy/skip-test.csv")
HEAD = "step; approach; current [A]; reported [A]; last_good [mm3/s]; first_click [mm3/s]; noticed"
CURRENTS = (0.37, 0.28, 0.21)


@pytest.fixture(autouse=True)
def _at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def clicks(stronger: float = 1.0) -> dict[float, float]:
    """Return the flows of the first clicks of the typical healthy machine [mm3/s], by hand.

    Torque: constant x sqrt 2 x current, less detent; push: drag + reference x (flow / reference
    flow) ^ exponent, times travel over 2 pi efficiency. `stronger` multiplies the torque.
    """
    book = check_config(HEALTHY, Asks(use_tests=False)).books["extruder"]
    constant, detent, travel, efficiency, drag, push, flow, power = (
        book.nominal(name) or 0.0
        for name in (
            "motor.torque_constant", "motor.detent_torque", "drive.travel_per_motor_turn",
            "drive.gear_efficiency", "force.path_drag", "hotend.reference_force",
            "hotend.reference_flow", "model.force_exponent",
        )
    )  # fmt: skip
    applied = {0.37: 0.3671, 0.28: 0.2754, 0.21: 0.2142}  # steps 11, 8 and 6 of 0.0306 A
    found = {}
    for current, real in applied.items():
        torque = stronger * constant * 2**0.5 * real - detent
        force = torque * 2 * np.pi * efficiency / travel
        found[current] = 1e9 * flow * ((force - drag) / push) ** (1 / power)
    return found


def table(rows: list[str], head: str = HEAD) -> str:
    notes = ("# material: pla", "# temperature: 215 degC", "# nozzle: 0.4 mm")
    return "\n".join((*notes, head, *rows)) + "\n"


def seen(flows: dict[float, float], noticed: str = "seen") -> list[str]:
    """Return rows of a ramp of 3 % whose first click is half a step late."""
    return [
        f"1; 1; {current}; ; {flow / 1.015:.3f}; {flow * 1.015 * 1.015:.3f}; {noticed}"
        for current, flow in flows.items()
    ]


def read(folder: Path, rows: list[str]) -> SkipReadAnswer:
    path = folder / "clicks.csv"
    path.write_text(table(rows), encoding="utf-8")
    return read_skip_tests([str(path)], HEALTHY, Asks())


def test_the_clicks_of_the_typical_machine_leave_it_typical(tmp_path: Path) -> None:
    """The range shrinks to less than half round the same figure; the push is what is told."""
    made = read(tmp_path, seen(clicks()))
    told = made.calibration
    assert told is not None
    assert told.before is not None
    assert told.after is not None
    assert told.contradiction is None
    assert told.after.value == pytest.approx(told.before.value, rel=0.04)
    width = (told.after.high - told.after.low) / (told.before.high - told.before.low)
    assert width < 0.5
    for point, expected in zip(made.tests[0].points, clicks().values(), strict=True):
        assert point.expected is not None
        assert point.expected.value == pytest.approx(expected, rel=0.01)
        assert point.applied == pytest.approx(point.current, abs=0.006)


@wide
@only_wide
def test_a_stronger_motor_or_an_easier_push_raises_the_capacity(tmp_path: Path) -> None:
    """Clicks at flows that 25 % more torque would bear; and the other way round."""
    after = {}
    for stronger in (0.8, 1.0, 1.25):
        told = read(tmp_path, seen(clicks(stronger))).calibration
        assert told is not None
        assert told.after is not None
        after[stronger] = told.after.value

    assert after[0.8] < after[1.0] < after[1.25]


@wide
@only_wide
def test_no_click_to_the_end_is_one_sided(tmp_path: Path) -> None:
    """It can only raise the low end; a slip of the gears says the same of the motor."""
    flows = clicks(1.15)
    for noticed in ("none", "slip"):
        rows = [f"1; 1; {current}; ; {flow:.2f}; ; {noticed}" for current, flow in flows.items()]
        told = read(tmp_path, rows).calibration
        assert told is not None
        assert told.before is not None
        assert told.after is not None
        assert told.after.low > told.before.low
        assert told.after.high > 0.9 * told.before.high


@wide
@only_wide
def test_gears_that_slip_say_where_the_grip_ends(tmp_path: Path) -> None:
    """Seen to slip at a flow, the grip's range ends lower than where nothing was seen up to it."""
    flow = clicks()[0.37]
    held = read(tmp_path, [f"1; 1; 0.37; ; {flow:.2f}; ; none"])
    slipped = read(tmp_path, [f"1; 1; 0.37; ; {flow:.2f}; ; slip"])

    assert held.grip is not None
    assert slipped.grip is not None
    assert slipped.grip.high < held.grip.high


def test_clicks_that_no_such_machine_has_contradict_it(tmp_path: Path, run: Run) -> None:
    """At a third of the flow that is expected: told with the place, exit code 1, nothing taken."""
    rows = seen({current: flow / 3 for current, flow in clicks().items()})
    path = tmp_path / "c.csv"
    path.write_text(table(rows), encoding="utf-8")
    made = run("skip-test", "read", str(path), "--config", HEALTHY)

    assert made.code == 1
    assert "the machine as stated cannot explain the test" in " ".join(made.out.split())
    assert "first clicked at" in " ".join(made.out.split())


def test_a_reported_current_goes_before_the_one_that_was_set(tmp_path: Path) -> None:
    """The firmware answers with what it holds: a step that differs by more is told."""
    rows = [row.replace("; 0.28; ;", "; 0.28; 0.31;") for row in seen(clicks())]
    test = read(tmp_path, rows).tests[0]

    assert test.points[1].applied == pytest.approx(0.306, abs=0.001)
    assert any("reports 0.31 A RMS where 0.28 was set" in one for one in test.remarks)


@wide
@only_wide
def test_an_empty_run_is_read(tmp_path: Path) -> None:
    """The lowest current that turns the empty drive; it is told, and counts for the detent."""
    path = tmp_path / "c.csv"
    path.write_text("# empty run: 0.06 A\n" + table(seen(clicks())), encoding="utf-8")
    made = read_skip_tests([str(path)], HEALTHY, Asks())

    assert made.tests[0].empty_run == pytest.approx(0.06)
    assert made.calibration is not None
    assert made.calibration.after is not None


MISTAKES = {
    "a click below the last good flow": ("1; 1; 0.3; ; 9; 8; seen", "not above the last good"),
    "a word nobody knows": ("1; 1; 0.3; ; 9; 9.3; herd", "did you mean 'heard'"),
    "no last good flow": ("1; 1; 0.3; ; ; 9.3; seen", "the last good flow is empty"),
    "no click and no word": ("1; 1; 0.3; ; 9; ; seen", "write none in 'noticed'"),
    "a click and none": ("1; 1; 0.3; ; 9; 9.3; none", "keep one of the two"),
    "milliamperes": ("1; 1; 300; ; 9; 9.3; seen", "give 0.01 to 5 A RMS"),
    "no number": ("1; 1; 0.3; ; nine; 9.3; seen", "'nine' is no number"),
    "nothing filled in": ("1; 1; 0.3; ; ; ;", "no run is filled in"),
}


@every("case", list(MISTAKES))
def test_a_mistake_of_a_table_is_told_with_what_to_do(case: str) -> None:
    row, words = MISTAKES[case]
    with pytest.raises(WeighError) as told:
        read_skip_table(table([row]).encode(), "t.csv")

    assert words in str(told.value)
    assert str(told.value).startswith("t.csv")


def test_a_missing_column_is_told() -> None:
    with pytest.raises(WeighError, match="the column 'first_click' is missing"):
        read_skip_table(table(["0.3; 9"], "current [A]; last_good [mm3/s]").encode(), "t.csv")


def test_decimal_commas_and_tabs_are_read() -> None:
    text = "current [mA]\tlast good [mm3/s]\tclick\tnoticed\n280\t9,5\t9,8\theard\n"
    row = read_skip_table(text.encode(), "t.csv").rows[0]

    assert (row.current, row.noticed) == (pytest.approx(0.28), "heard")
    assert row.first == pytest.approx(9.8e-9)


ASKED = ("--asked", "12mm3/s")


COMMANDS = [
    ("flow", HEALTHY, *ASKED), ("lint", HEALTHY), ("torque", HEALTHY), ("grip", HEALTHY),
    ("session", HEALTHY), ("compare", HEALTHY, "--vary", "nozzle.diameter=0.6mm"),
]  # fmt: skip


@wide
@every("words", spread(COMMANDS, 1))
def test_every_command_says_first_that_it_uses_the_test(words: tuple[str, ...], run: Run) -> None:
    made = run(*words, "--no-tests", "--skip-test", TABLE)

    assert "uses 1 skip test (9 June)" in made.out.splitlines()[0]


def test_answers_with_it_keep_to_the_schema(run: Run) -> None:
    flow = run("flow", HEALTHY, *ASKED, "--skip-test", TABLE, "--format", "json").json
    told = run("skip-test", "read", TABLE, "--config", HEALTHY, "--format", "json").json

    assert [test["kind"] for test in flow["weighed"]["tests"]] == ["skip"]
    assert told["calibration"]["after"] == flow["weighed"]["after"]
    assert [point["runs"] for point in told["tests"][0]["points"]] == [3, 3, 3]


@wide
@only_wide
def test_the_sheet_may_state_the_clicks(tmp_path: Path, run: Run) -> None:
    """A list of them, or one block; a mistake in one is told with its line."""
    rows = "".join(
        f"    - {{current: {current} A, flow: {flow:.2f} mm3/s}}\n"
        for current, flow in clicks().items()
    )
    own = (ROOT / "samples/healthy/hardware.yaml").read_text(encoding="utf-8")
    sheet, config = tmp_path / "hardware.yaml", tmp_path / "printer.cfg"
    config.write_bytes(Path(HEALTHY).read_bytes())
    sheet.write_text(own.replace("motor:\n", f"motor:\n  measured_skip:\n{rows}"), encoding="utf-8")
    several = run("flow", str(config), *ASKED, "--format", "json").json["weighed"]
    one = f"motor:\n  measured_skip: {{current: 0.28 A, flow: {clicks()[0.28]:.2f} mm3/s}}\n"
    sheet.write_text(own.replace("motor:\n", one), encoding="utf-8")
    single = run("flow", str(config), *ASKED, "--format", "json").json["weighed"]
    rows += "    - {current: 1 A}\n"
    sheet.write_text(own.replace("motor:\n", f"motor:\n  measured_skip:\n{rows}"), encoding="utf-8")
    wrong = run("flow", str(config), *ASKED)

    assert several["narrower"] > single["narrower"] > 0.2
    assert [test["kind"] for test in several["tests"]] == ["skip"]
    assert "a measurement without its flow says nothing" in wrong.err


@wide
@only_wide
def test_a_skip_test_in_the_folder_of_kept_tests_is_told(tmp_path: Path, run: Run) -> None:
    """It is no broken table; named by hand it is used, once, beside the others."""
    kept = tmp_path / "flow-tests"
    kept.mkdir()
    (kept / "clicks.csv").write_bytes(Path(TABLE).read_bytes())
    (tmp_path / "printer.cfg").write_bytes(Path(HEALTHY).read_bytes())
    told = run("flow", str(tmp_path / "printer.cfg"), *ASKED)
    used = run(
        "flow", str(tmp_path / "printer.cfg"), *ASKED, "--skip-test", str(kept / "clicks.csv")
    )

    assert "a skip test is used where it is named" in " ".join(told.out.split())
    assert "uses 1 skip test" in used.out.splitlines()[0]
    assert "left out" not in used.out
