"""`weigh plan`, `weigh read` and `--weighed` from end to end: text, JSON, files, exit codes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from bench import weigh
from machines import flows, true_machine
from ran import Run
from tiers import only_wide, spread, wide

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIG = str(SAMPLES / "healthy/printer.cfg")
TABLE = str(SAMPLES / "healthy/flow-test.csv")


def test_plan_writes_gcode_and_table_and_tells_the_cautions(run: Run, tmp_path: Path) -> None:
    """Text with flows, length, time, cautions; both files new; nothing else on stdout."""
    gcode, table = tmp_path / "test.gcode", tmp_path / "test.csv"
    ran = run("weigh", "plan", CONFIG, "--gcode", str(gcode), "--csv", str(table))

    assert ran.code == 0
    assert ran.err == ""
    assert "Stay with the machine, its power switch in reach" in " ".join(ran.out.split())
    assert "14 pieces" in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    assert gcode.read_text(encoding="utf-8").startswith("; Weighed flow test: PLA, 215 C")
    assert "step; flow [mm3/s]; length [mm]" in table.read_text(encoding="utf-8")


def test_plan_overwrites_nothing(run: Run, tmp_path: Path) -> None:
    """A filled-in table is worth more than a new plan."""
    table = tmp_path / "test.csv"
    table.write_text("mine", encoding="utf-8")
    ran = run("weigh", "plan", CONFIG, "--csv", str(table))

    assert ran.code == 2
    assert "is there already; name a new file" in ran.err
    assert ran.out == ""
    assert table.read_text(encoding="utf-8") == "mine"


def test_plan_that_cannot_be_written_says_so(run: Run, tmp_path: Path) -> None:
    """A folder that is not there."""
    ran = run("weigh", "plan", CONFIG, "--gcode", str(tmp_path / "no" / "test.gcode"))

    assert ran.code == 2
    assert "there is no folder for" in ran.err


def test_plan_refuses_in_text_and_json(run: Run) -> None:
    """Exit 1 with the reason; JSON is valid and has no plan."""
    config = str(SAMPLES / "over-driven/printer.cfg")
    ran = run("weigh", "plan", config)
    told = run("weigh", "plan", config, "--format", "json")

    assert ran.code == told.code == 1
    assert ran.out.startswith("test        none is planned\n")
    assert told.json["plan"] is None
    assert "derated limit" in told.json["refused"][0]


def test_plan_in_json(run: Run) -> None:
    """Steps with flow, speed, length, moves and time in trade units."""
    made = run("weigh", "plan", CONFIG, "--from", "10mm3/s", "--to", "20mm3/s", "--steps", "6",
               "--format", "json").json  # fmt: skip
    steps = made["plan"]["steps"]

    assert [step["reference"] for step in steps] == [True, *[False] * 6, True]
    assert steps[1]["flow"] == pytest.approx(10.0)
    assert steps[-2]["flow"] == pytest.approx(20.0)
    assert steps[1]["speed"] == pytest.approx(10.0 / 2.40528, rel=1e-4)
    assert made["plan"]["temperature"] == pytest.approx(215.0)
    assert made["plan"]["expected_knee"]["unit"] == "mm3/s"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("weigh", "plan", CONFIG, "--from", "fast"), "--from: "),
        (("weigh", "plan", CONFIG, "--temperature", "hot"), "hot"),
        (("weigh", "plan", CONFIG, "--extruder", "extruder9"), "no extruder 'extruder9'"),
        (("weigh", "read", TABLE), "--config"),
        (("weigh", "read", TABLE, TABLE, "--config", CONFIG), "a table is named twice"),
        (("weigh", "wiegh"), "wiegh"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...], words: str) -> None:
    """Exit 2, one sentence on stderr, nothing on stdout."""
    ran = run(*arguments)

    assert ran.code == 2
    assert ran.out == ""
    assert words in ran.err


def test_read_tells_limit_loss_and_calibration(run: Run) -> None:
    """The sample's table in text: limit, skips, loss, slow run, picture, capacity."""
    ran = run("weigh", "read", TABLE, "--config", CONFIG)
    lines = ran.out.splitlines()

    assert ran.code == 0
    assert lines[0] == "answer      set the slicer's cap to 12.3 mm\u00b3/s"
    assert lines[1].startswith("limit       under-extrusion starts at ")
    assert "the motor limits first, its usual margin of torque kept" in " ".join(ran.out.split())
    assert len(lines) <= 30
    assert any(
        line.startswith("skips       none up to 17.6 mm\u00b3/s; the motor") for line in lines
    )
    assert any(line.startswith("cause       not clear: slipping ") for line in lines)
    assert any(
        line.startswith("whole       97 % or more comes out up to 17.6 mm\u00b3/s")
        for line in lines
    )
    assert any(line.startswith("noted       at 18.9 mm\u00b3/s: one click") for line in lines)
    assert any(
        line.startswith("slow run    99.4 +- 3.7 % (95 %) of what was commanded") for line in lines
    )
    assert "53 % narrower)" in " ".join(ran.out.split())
    assert sum("o" in line[38:] and "%" in line[12:19] for line in lines) >= 11
    assert all(len(line) <= 80 for line in lines)


@wide
@only_wide
def test_the_picture_needs_no_line_drawing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """In an ASCII locale it is ASCII; in a narrow terminal it is numbers alone."""
    monkeypatch.setenv("LC_ALL", "C")
    assert run("weigh", "read", TABLE, "--config", CONFIG).out.isascii()
    monkeypatch.setenv("COLUMNS", "44")
    narrow = run("weigh", "read", TABLE, "--config", CONFIG).out

    assert "100.0 % +-2.2" in narrow
    assert "--o--" not in narrow


def test_read_in_json_keeps_the_contract(run: Run) -> None:
    """The keys of the first test at the top, every estimate with its band and unit."""
    made = run("weigh", "read", TABLE, "--config", CONFIG, "--format", "json").json

    assert set(made["knee"]) == {"value", "low", "high", "unit"}
    assert made["knee"]["low"] < made["knee"]["value"] < made["knee"]["high"]
    assert made["last_without_skips"] == pytest.approx(17.6)
    assert made["reference_ratio"]["value"] == pytest.approx(0.994, abs=0.001)
    assert made["loss"] == "unsure"
    assert made["rotation_distance"] is None
    assert made["tests"][0]["rotation_distance_meant"]["value"] == pytest.approx(
        made["reference_ratio"]["value"] * 45.2, rel=1e-3
    )
    assert made["tests"][0]["clean_flow"] == pytest.approx(17.6)
    assert sum(made["tests"][0]["loss_odds"].values()) == pytest.approx(1.0)
    assert {"flow", "mass", "ratio", "expanded_uncertainty", "skipped"} <= set(made["steps"][0])
    assert made["tests"][0]["knee"] == made["knee"]
    assert made["calibration"]["narrower"] > 0.5
    assert made["calibration"]["after"]["low"] > made["calibration"]["before"]["low"]


@wide
@only_wide
def test_the_same_table_gives_the_same_bytes(run: Run) -> None:
    """No clock, no generator."""
    one = run("weigh", "read", TABLE, "--config", CONFIG, "--format", "json").out

    assert run("weigh", "read", TABLE, "--config", CONFIG, "--format", "json").out == one


def test_lint_and_flow_report_the_calibrated_capacity(run: Run) -> None:
    """Narrower than without, origin measured, and by how much."""
    plain = run("lint", CONFIG, "--format", "json").json["extruders"][0]
    made = run("lint", CONFIG, "--weighed", TABLE, "--format", "json").json["extruders"][0]
    before, after = plain["facts"]["flow.capacity"], made["facts"]["flow.capacity"]
    text = run("lint", CONFIG, "--weighed", TABLE).out
    flow = run("flow", CONFIG, "--asked", "14mm3/s", "--weighed", TABLE, "--format", "json").json

    assert plain["weighed"] is None
    assert after["origin"] == "measured"
    assert after["at"] == {"file": TABLE, "line": 1}
    assert after["high"] - after["low"] < 0.5 * (before["high"] - before["low"])
    assert made["weighed"]["narrower"] == pytest.approx(
        1 - (after["high"] - after["low"]) / (before["high"] - before["low"]), abs=0.01
    )
    assert "weighed     first roll: the range is " in text
    assert "% narrower" in " ".join(text.split())
    assert flow["weighed"] == made["weighed"]
    assert flow["capacity"]["low"] == pytest.approx(after["low"])


def test_demand_reports_the_calibrated_capacity(run: Run, tmp_path: Path) -> None:
    """The print's flow against what was weighed."""
    gcode = tmp_path / "part.gcode"
    gcode.write_text("M83\nG1 X0 Y0 F6000\nG1 X100 E8 F1200\nG1 X0 E8\n", encoding="utf-8")
    made = run(
        "demand", str(gcode), "--config", CONFIG, "--weighed", TABLE, "--format", "json"
    ).json

    assert made["weighed"]["narrower"] > 0.5
    assert made["capacity"]["low"] > 11.0


def table(tmp_path: Path, name: str, *rows: str, notes: str = "") -> str:
    path = tmp_path / name
    head = f"# name: {name}\n{notes}flow;length;mass;skipped\n"
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return str(path)


def test_a_contradicting_test_is_told_with_three_causes(run: Run, tmp_path: Path) -> None:
    """Delivery falls at a fifth of what the machine should do: exit 1, plain words, not used."""
    rows = [f"{q};280;{0.83 * min(1.0, 2.2 / q):.3f};no" for q in (0.8, 1.5, 2, 2.5, 3, 4, 5)]
    poor = table(tmp_path, "poor.csv", *rows)
    ran = run("weigh", "read", poor, "--config", CONFIG)
    lint = run("lint", CONFIG, "--weighed", poor, "--format", "json").json
    words = " ".join(ran.out.split())

    assert ran.code == 1
    assert "the machine as stated cannot explain the test: " in words
    for cause in ("not what is built in", "partial clog", "the idler slips"):
        assert cause in words
    assert "likeliest" in words
    assert "cause 3" in words
    finding = next(f for f in lint["findings"] if f["rule"] == "weighed-test-contradicts-machine")
    assert finding["level"] == "warning"
    assert finding["file"] == poor
    assert "partial clog" in finding["advice"]
    assert lint["extruders"][0]["weighed"]["after"] is None
    step = lint["extruders"][0]["next"]
    assert step["arguments"][:3] == ["diagnose", CONFIG, "--interactive"]
    assert poor in step["arguments"]


def test_a_contradicting_test_is_the_row_that_limits(run: Run, tmp_path: Path) -> None:
    """Where it holds the capacity below every limit, no stage of the machine is called the neck."""
    rows = [f"{q};280;{0.83 * min(1.0, 2.2 / q):.3f};no" for q in (0.8, 1.5, 2, 2.5, 3, 4, 5)]
    poor = table(tmp_path, "poor.csv", *rows)
    (extruder,) = run("lint", CONFIG, "--weighed", poor, "--format", "json").json["extruders"]
    told = run("lint", CONFIG, "--weighed", poor).out.splitlines()
    flow = run("flow", CONFIG, "--weighed", poor, "--asked", "9mm3/s", "--format", "json").json

    assert extruder["bottleneck"] == flow["bottleneck"] == "weighed"
    lowest = min(limit["flow"] for limit in extruder["limits"])
    assert extruder["facts"]["flow.capacity"]["value"] < lowest
    (row,) = [line for line in told if line.startswith("weighed ") and "bottleneck" in line]
    (capacity,) = [line for line in told if line.startswith("capacity ")]
    assert row.split()[1] == capacity.split()[1]
    assert sum("bottleneck" in line for line in told) == 2
    assert extruder["levers"] == []


def test_a_rotation_distance_that_is_off_is_noted(run: Run, tmp_path: Path) -> None:
    """8 % too little at every flow: the corrected value, in weigh read and as a note of lint."""
    rows = [f"{q};280;0.768;no" for q in (3, 6, 8, 10, 11, 12)]
    off = table(tmp_path, "off.csv", *rows)
    made = run("weigh", "read", off, "--config", CONFIG, "--format", "json").json
    lint = run("lint", CONFIG, "--weighed", off, "--format", "json").json
    finding = next(f for f in lint["findings"] if f["rule"] == "weighed-rotation-distance-off")

    assert made["rotation_distance"]["value"] == pytest.approx(45.2 * 0.9197, rel=1e-3)
    assert made["rotation_distance"]["unit"] == "mm"
    assert finding["level"] == "note"
    assert "41.5" in finding["message"]


@wide
@only_wide
def test_several_tests_are_compared(run: Run, tmp_path: Path) -> None:
    """Two filaments and another nozzle: each with its picture, then side by side."""
    cool = [
        f"{q};280;{0.83 * (1 - 0.04 * max(q - 11, 0)):.3f};no"
        for q in (3, 7, 9, 10, 11, 12, 13, 14, 15)
    ]
    hot = [
        f"{q};280;{0.83 * (1 - 0.04 * max(q - 15, 0)):.3f};no"
        for q in (3, 8, 12, 13, 14, 15, 16, 17, 18, 19)
    ]
    first = table(tmp_path, "cool.csv", *cool, notes="# temperature: 200 degC\n# material: pla\n")
    second = table(tmp_path, "hot.csv", *hot, notes="# temperature: 225 degC\n# material: pla\n")
    third = table(tmp_path, "wide.csv", *hot, notes="# hardware: 0.6 nozzle\n")
    ran = run("weigh", "read", first, second, third, "--config", CONFIG)
    made = run("weigh", "read", first, second, third, "--config", CONFIG, "--format", "json").json
    words = " ".join(ran.out.split())

    assert ran.code == 0
    assert "Side by side" in ran.out
    assert "hot.csv: the limit is" in words
    assert "higher than in cool.csv" in words
    assert [contrast["name"] for contrast in made["contrasts"]] == ["hot.csv", "wide.csv"]
    assert made["contrasts"][0]["knee_ratio"]["low"] > 1.1
    assert made["contrasts"][0]["sure_higher"] > 0.99
    assert made["knee"] == made["tests"][0]["knee"]
    files = run("lint", CONFIG, "--weighed", third, "--weighed", first, "--format", "json").json
    assert files["extruders"][0]["weighed"]["files"] == [first]


@wide
@only_wide
def test_a_second_extruder_has_its_own_tests(run: Run, tmp_path: Path) -> None:
    """A table names its extruder; one that names none is the first one's."""
    config = str(SAMPLES / "include-tree/sorghum/printer.cfg")
    rows = [f"{q};280;0.83;no" for q in (2, 4, 5, 6)]
    mine = table(tmp_path, "mine.csv", *rows, notes="# extruder: extruder1\n")
    made = run("lint", config, "--weighed", mine, "--format", "json").json
    first = run("weigh", "read", mine, "--config", config)

    assert [bool(extruder["weighed"]) for extruder in made["extruders"]] == [False, True]
    assert first.code == 3
    assert "no table is for the extruder 'extruder'" in first.err


@wide
@pytest.mark.parametrize(
    ("content", "sentences"),
    spread(
        [
            (b"flow;mass\n3;0.8\n", ["the column 'length' is missing"]),
            (b"flow;length;mass\n3;280;eight\n4;280;-1\n", ["'eight' is no number", "is negative"]),
            (
                b"flow;length;mass;skipped\n3;280;.8;y\n4;280;.8;y\n5;280;.7;y\n",
                ["skipped in every run"],
            ),
            (b"flow;length;mass\n3;280;0\n4;280;.8\n5;280;.7\n", ["nothing came out in the slow"]),
            (b"PK\x03\x04\x00", ["is no text"]),
        ],
        1,
    ),
)
def test_a_bad_table_is_told_in_sentences(
    run: Run, tmp_path: Path, content: bytes, sentences: list[str]
) -> None:
    """Exit 3, each mistake a line of its own on stderr, JSON valid; lint tells it as well."""
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    ran = run("weigh", "read", str(path), "--config", CONFIG, "--format", "json")
    lint = run("lint", CONFIG, "--weighed", str(path), "--format", "json")

    assert ran.code == lint.code == 3
    for sentence in sentences:
        assert any(sentence in line for line in ran.err.splitlines())
        assert any(sentence in error for error in ran.json["errors"])
        assert any(sentence in error for error in lint.json["errors"])
    assert ran.json["knee"] is None
    assert lint.json["extruders"]


def test_none_skipped_is_an_answer(run: Run, tmp_path: Path) -> None:
    """All delivered, nothing skipped: the limit lies above, and the answer is narrower for it."""
    rows = [f"{q};280;0.83;no" for q in (3, 8, 12, 16, 18, 20)]
    path = table(tmp_path, "fine.csv", *rows)
    ran = run("weigh", "read", path, "--config", CONFIG)

    assert ran.code == 0
    assert ran.out.startswith("answer      set the slicer's cap to ")
    assert "\nlimit       not reached: nothing is missing up to 20.0 mm\u00b3/s" in ran.out
    assert "cause       nothing is missing" in ran.out
    assert "narrower" in ran.out


def test_a_simulated_test_on_the_no_sheet_machine(run: Run, tmp_path: Path) -> None:
    """From the bench to the answer, without a sheet: the true capacity lies in the new band."""
    config = tmp_path / "printer.cfg"
    config.write_bytes((SAMPLES / "no-sheet/printer.cfg").read_bytes())
    true = true_machine("no-sheet", 900)
    path = tmp_path / "test.csv"
    text = weigh(list(flows("no-sheet")), true.limits, np.random.default_rng(1))
    path.write_text(text, encoding="utf-8")
    made = run("weigh", "read", str(path), "--config", str(config), "--format", "json").json
    after = made["calibration"]["after"]

    assert after["low"] <= true.limits["capacity"] * 1e9 <= after["high"]


def test_the_cap_is_that_of_flow_and_lint_with_the_same_table(run: Run) -> None:
    """One figure, as the library, the JSON and the text have it."""
    made = run("weigh", "read", TABLE, "--config", CONFIG, "--format", "json").json
    given = (CONFIG, "--weighed", TABLE, "--no-tests", "--format", "json")
    cap = made["calibration"]["set_to"]
    assert cap is not None
    assert cap == run("flow", *given).json["set_to"]
    (extruder,) = run("lint", *given).json["extruders"]
    assert cap == pytest.approx(extruder["facts"]["profile.cap_setting"]["value"])


def test_a_test_that_contradicts_the_machine_names_no_cap(run: Run, tmp_path: Path) -> None:
    """What the config says is wrong then; the likeliest cause comes first."""
    rows = [f"{q};280;{0.83 * min(1.0, 2.2 / q):.3f};no" for q in (0.8, 1.5, 2, 2.5, 3, 4, 5)]
    path = table(tmp_path, "poor.csv", *rows)
    made = run("weigh", "read", path, "--config", CONFIG, "--format", "json").json
    assert made["calibration"]["contradiction"] is not None
    assert made["calibration"]["set_to"] is None
