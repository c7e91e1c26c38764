"""`feedwright demand --caps`: the saving first, a row a flow, what the file cannot tell."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator
from tiers import only_wide, spread, wide

from advisor.report.json import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
ASKED = ("demand", "asks-too-much/box.gcode", "--config", "asks-too-much/printer.cfg")
HEALTHY = ("--config", "healthy/printer.cfg")


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


def sliced(path: Path, setting: str = "") -> str:
    """Write lines of three sections, slowed to 12 mm3/s as a slicer does it."""
    lines, area = ["G90", "M83", "G92 X0 Y0 Z0 E0"], 2.405
    for k in range(1, 301):
        section, length = (0.06, 0.09, 0.12)[k % 3], 20.0 + k % 7
        speed = min((60.0, 300.0)[k % 2], 12.0 / section)
        x, e = (length if k % 2 else 0.0), section * length / area
        lines += [
            f"G1 X{x:.3f} Y{0.4 * k:.2f} F18000",
            f"G1 X{length - x:.3f} E{e:.5f} F{speed * 60:.0f}",
        ]
    path.write_text("\n".join([*lines, setting]) + "\n")
    return str(path)


def test_the_saving_comes_first_on_one_screen(run: Runner) -> None:
    """25 lines of 80 columns at most for twelve flows, the verdict on the flow below; the exit
    code is that of the verdict."""
    ran = run(*ASKED, "--caps", "8..30mm3/s")
    lines = ran.out.splitlines()
    assert lines[0].startswith("answer      from 8 to 30 mm³/s saves ")
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 80
    assert "does not fit" in ran.out
    assert ran.code == run(*ASKED).code == 1
    assert sum(line.startswith("  ") and "═" in line for line in lines) >= 11


def test_narrow_pages_have_no_bars(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    """The figures stay."""
    monkeypatch.setenv("COLUMNS", "40")
    ran = run(*ASKED, "--caps", "8,12mm3/s")
    assert max(map(len, ran.out.splitlines())) <= 40
    assert "2 min 29 s" in ran.out
    assert "═" not in ran.out


def test_json_keeps_to_the_schema(run: Runner) -> None:
    """No cap asked for is null; a flow that nothing reaches leaves the time to the last digit."""
    assert run(*ASKED, "--format", "json").json["caps"] is None
    told = run(*ASKED, "--caps", "8,12,999mm3/s", "--format", "json").json
    VALIDATOR.validate(told)
    caps = told["caps"]
    assert [row["flow"] for row in caps["times"]] == [8.0, 12.0, 999.0]
    assert caps["times"][2]["time"] == told["time"]
    shares = ("share_held_by_cap", "share_speeding", "share_at_set_speed", "share_of_the_rest")
    assert sum(caps[name] for name in shares) == pytest.approx(1.0, rel=1e-8)
    assert caps["nothing_gained_from"] == 999.0
    assert caps["sliced_at"] is None
    assert caps["times"][1]["share_saved"] == pytest.approx(
        1.0 - caps["times"][1]["time"] / caps["times"][0]["time"]
    )


@wide
@pytest.mark.parametrize(("setting", "place"), spread([
    ("; filament_max_volumetric_speed = 12", "sliced      at 12 mm³/s (line 604)"),
    ("", "sliced      at 12 mm³/s: volume is heaped at that flow"),
], 1))  # fmt: skip
def test_above_the_cap_of_the_slicer_nothing_is_told(
    run: Runner, tmp_path: Path, setting: str, place: str
) -> None:
    """Stated by the slicer, or seen as a heap; flows above it have no time."""
    path = sliced(tmp_path / "part.gcode", setting)
    ran = run("demand", path, *HEALTHY, "--caps", "6,12,13,20mm3/s")
    words = " ".join(ran.out.split())
    assert words.startswith("answer from 6 to 12 mm³/s saves ")
    assert "sliced at 12 mm³/s: cannot tell beyond, slice again without the cap" in words
    assert place in ran.out
    assert ran.out.count("cannot be told") == 2
    told = run("demand", path, *HEALTHY, "--caps", "20mm3/s", "--format", "json").json["caps"]
    assert told["sliced_at"] == pytest.approx(12.0, rel=0.01)
    assert told["times"][0]["time"] is None
    assert run("demand", path, *HEALTHY, "--caps", "20mm3/s").out.startswith(
        "answer      what these flows save cannot be told"
    )


def test_one_flow_is_told_against_the_print_as_it_is(run: Runner) -> None:
    """And where it is more than the print asks, it costs nothing."""
    assert "longer than as it is" in " ".join(run(*ASKED, "--caps", "8mm3/s").out.split())
    ran = run(*ASKED, "--caps", "100..900mm3/s")
    assert ran.out.startswith("answer      more flow than 100 mm³/s saves no time")


@pytest.mark.parametrize(("caps", "problem"), [
    ("0", "out of range"),
    ("8..x", "no value"),
    ("30..8mm3/s", "no range"),
    ("8..30mm3/s:40", "no range"),
    ("12mm", "write it in 'mm3/s'"),
    ("1,2,3,4,5,6,7,8,9,10,11,12,13", "13 values"),
])  # fmt: skip
def test_flows_that_cannot_be_are_refused(run: Runner, caps: str, problem: str) -> None:
    """With the remedy."""
    ran = run(*ASKED, "--caps", caps)
    assert ran.code == 2
    assert ran.out == ""
    assert problem in ran.err


@wide
@pytest.mark.parametrize(("text", "flows"), spread([
    ("8..30mm3/s", list(range(8, 31, 2))),
    ("8..30mm3/s:3", [8, 19, 30]),
    ("20,8,12 mm3/s", [8, 12, 20]),
    ("10..11.5", [10 + 0.2 * k for k in range(8)] + [11.5]),
], 2))  # fmt: skip
def test_lists_and_ranges(run: Runner, text: str, flows: list[float]) -> None:
    """A range without a count goes in round steps, twelve flows at most, both ends in."""
    told = run(*ASKED, "--caps", text, "--format", "json").json["caps"]["times"]
    assert [row["flow"] for row in told] == pytest.approx(flows)


@wide
@only_wide
def test_the_slicer_s_own_time_is_explained_or_set_aside(run: Runner, tmp_path: Path) -> None:
    """Told with the caps and with --full, in JSON always; nothing where none is stated."""
    part = tmp_path / "part.gcode"
    asked = ("demand", str(part), "--config", ASKED[3])

    def told(stated: float) -> dict[str, Any]:
        sliced(part)
        part.write_text(f";TIME:{stated:.1f}\nM204 S400\n{part.read_text()}")
        answer = run(*asked, "--format", "json").json
        VALIDATOR.validate(answer)
        return dict(answer)

    first = told(7.0)
    plain, planned = first["slicer_time"]["at_set_speeds"], first["time"]
    assert plain < 0.85 * planned
    for stated, kind, words in (
        (plain, "plain", "reckoned without acceleration"),
        (planned, "alike", "it agrees with this plan"),
        (1.78 * planned, "other", "1.78 times this plan: it reckons with limits other than this"),
    ):
        assert told(stated)["slicer_time"]["kind"] == kind
        assert words in " ".join(run(*asked, "--caps", "8,12mm3/s").out.split())
    assert words in " ".join(run(*asked, "--full").out.split())
    assert run(*ASKED, "--format", "json").json["slicer_time"] is None


@wide
@only_wide
def test_the_page_tells_what_more_flow_would_buy(run: Runner, tmp_path: Path) -> None:
    """The same saving and the same times as in the terminal; without a print it is a mistake."""
    page = str(tmp_path / "part.html")
    given = ("report", ASKED[3], "--html", page)
    assert run(*given, "--caps", "8,12mm3/s").code == 2
    assert run(*given, "--print", ASKED[1], "--caps", "8,12mm3/s").code == 0
    html = Path(page).read_text()
    assert "from 8 to 12 mm\u00b3/s saves 21 % of 2 min 29 s" in html
    assert html.count("<td>2 min 29 s</td>") == html.count("<td>1 min 57 s</td>") == 1
    assert "--caps 8,12mm3/s" in html
