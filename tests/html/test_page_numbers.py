"""Every number of the page is the one that the other commands give for the same machine."""

from __future__ import annotations

import functools
import io
import json
import re
from collections.abc import Iterator
from contextlib import redirect_stdout
from typing import Any

import pytest
from html_pages import Made
from html_reading import Node
from tiers import only_wide, spread, wide

from advisor.cli import main
from advisor.report.look import typeset
from advisor.report.words import material_words

PRINT = {"profiles": ("asks-too-much/profile.ini",), "sliced": "asks-too-much/box.gcode"}
STATUS = r"\((found|from memory|common practice|derived)\)"
MACHINES: dict[str, tuple[str, dict[str, Any], list[str]]] = {
    "print": (
        "asks-too-much/printer.cfg", PRINT,
        ["--profile", "asks-too-much/profile.ini", "--print", "asks-too-much/box.gcode"],
    ),
    "weighed": (
        "healthy/printer.cfg", {"weighed": ("healthy/flow-test.csv",)},
        ["--weighed", "healthy/flow-test.csv"],
    ),
    "asked": ("over-driven/printer.cfg", {"asked": "9mm3/s"}, ["--asked", "9mm3/s"]),
    "no sheet": ("no-sheet/printer.cfg", {}, []),
    "two extruders": ("include-tree/sorghum/printer.cfg", {}, []),
    "mixed up": ("mixed-up/printer.cfg", {}, []),
}  # fmt: skip


@functools.cache
def told(*arguments: str) -> Any:
    """What a command answers, as JSON."""
    stream = io.StringIO()
    with redirect_stdout(stream):
        main([*arguments, "--format", "json"])
    return json.loads(stream.getvalue())


def band_of(data: Node) -> tuple[float | None, ...]:
    """Value and ends of a number of the page."""
    found = (data.attributes[key] for key in ("value", "data-low", "data-high"))
    return tuple(None if text is None else float(text) for text in found)


def band_in(tree: dict[str, Any]) -> tuple[float | None, ...]:
    """Value and ends of an estimate of the JSON."""
    return tree["value"], tree["low"], tree["high"]


def of(html: Node, name: str, extruders: list[str]) -> Iterator[Node]:
    """Yield the section of this name of each extruder."""
    several = len(extruders) > 1
    for number, _ in enumerate(extruders, 1):
        yield html.one("section", id=f"e{number}-{name}" if several else name)


@pytest.fixture(params=[pytest.param(name, marks=wide) for name in spread(list(MACHINES), 1)])
def machine(request: pytest.FixtureRequest, page: Made) -> tuple[Node, Any, list[str]]:
    """The page of a machine, what lint says of it, and the arguments for other commands."""
    config, asked, options = MACHINES[request.param]
    return page(config, **asked)[1], told("lint", config, *options), [config, *options]


def test_the_answer_is_that_of_lint(machine: tuple[Node, Any, list[str]]) -> None:
    """Capacity and asked flow with their ends, to the last digit that JSON has."""
    html, lint, _ = machine
    answers = html.all("dl", class_="answer")
    assert [dl.get("data-extruder") for dl in answers] == [x["name"] for x in lint["extruders"]]
    for dl, extruder in zip(answers, lint["extruders"], strict=True):
        for kind, fact in (("is-capacity", "flow.capacity"), ("is-answer", "demand.asked_flow")):
            shown = [band_of(x) for x in dl.one("div", class_=kind).all("data")]
            known = extruder["facts"].get(fact, {"value": None})
            assert shown == ([band_in(known)] if known["value"] is not None else [])


def test_the_way_is_that_of_lint(machine: tuple[Node, Any, list[str]]) -> None:
    """The flow of each stage, and where the neck is."""
    html, lint, _ = machine
    names = [x["name"] for x in lint["extruders"]]
    stages = {
        "motor": "torque", "grip": "grip", "gap": "buckling", "melt": "melt", "heater": "heater",
    }  # fmt: skip
    for section, extruder in zip(of(html, "way", names), lint["extruders"], strict=True):
        limits = {x["limit"]: x for x in extruder["limits"]}
        for stage, name in stages.items():
            row = section.one("li", data_stage=stage)
            limit = limits[name]
            shown = [band_of(x) for x in row.all("data")]
            known = [(limit["flow"], limit["low"], limit["high"])]
            assert shown == (known if limit["flow"] is not None else [])
            neck = "bottleneck" in row.get("class").split()
            assert neck == (extruder["bottleneck"] == name)
            assert bool(row.all("strong")) == (neck or name in extruder["level_with"])


def test_the_strands_are_as_long_as_the_numbers(machine: tuple[Node, Any, list[str]]) -> None:
    """Sure part to the low end, hollow part to the high end, ring at the value, line at the ask."""
    html, lint, _ = machine
    for section, extruder in zip(
        of(html, "way", [x["name"] for x in lint["extruders"]]), lint["extruders"], strict=True
    ):
        axis = section.all(class_="axis")
        if not axis:
            assert extruder["facts"]["flow.capacity"]["value"] is None
            continue
        top = float(axis[0].children[-1].words)
        for row in section.all("li"):
            for kind, attribute, place in (
                ("maybe", "width", 2), ("sure", "width", 1), ("nominal", "cx", 0),
            ):  # fmt: skip
                for shape in row.one("svg", role="img").all(class_=kind):
                    value = band_of(row.all("data")[0])[place]
                    per_cent = float(shape.get(attribute).removesuffix("%"))
                    expected = 100.0 if value is None else min(100.0, 100 * value / top)
                    assert per_cent == pytest.approx(expected, abs=0.006)


def test_the_findings_are_those_of_lint(machine: tuple[Node, Any, list[str]]) -> None:
    """Each of them once, with its level in words, message, place, reason and cited work."""
    html, lint, _ = machine
    shown = html.all("li", class_="finding")
    found = list(lint["findings"])
    assert len(shown) == len(found)
    for item in shown:
        level, message = item.children[0].words.split(" ", 1)
        told_of = (item.get("data-rule"), level, message)
        finding = next(
            x for x in found if (x["rule"], x["level"], typeset(x["message"])) == told_of
        )
        found.remove(finding)
        assert finding["level"] in item.get("class").split()
        if finding["line"]:
            place = f"{finding['file']}:{finding['line']}:{finding['column']}"
            assert place in item.words
        assert typeset(" ".join(finding["why"].split())) in item.words or item.words.endswith(
            "said above."
        )
        if finding["fix"] is not None:
            assert finding["fix"]["to"] in item.words
    assert found == []


def test_the_counts_are_those_of_lint(machine: tuple[Node, Any, list[str]]) -> None:
    """How many errors, warnings and notes."""
    html, lint, _ = machine
    words = html.one("p", class_="sum").words
    for level, count in lint["summary"].items():
        said = re.search(rf"(\d+) {level}", words)
        assert (int(said[1]) if said else 0) == count


def test_what_to_measure_is_that_of_lint(machine: tuple[Node, Any, list[str]]) -> None:
    """In the same order, with the same share."""
    html, lint, _ = machine
    shown = [item.words for item in html.all("ol", class_="measures") for item in item.children]
    entries = [x for extruder in lint["extruders"] for x in extruder["measure_next"]]
    assert len(shown) == len(entries)
    for words, entry in zip(shown, entries, strict=True):
        per_cent = max(1, round(100 * entry["share_of_spread"]))
        assert words.startswith(f"{per_cent} %: {entry['title']}")
        assert typeset(entry["how"]) in words


def test_each_assumption_has_its_number_and_its_source(
    machine: tuple[Node, Any, list[str]],
) -> None:
    """All that `explain flow.capacity` lists as assumed, with value and ends as lint has them."""
    html, lint, _ = machine
    names = [x["name"] for x in lint["extruders"]]
    for extruder, name in zip(lint["extruders"], names, strict=True):
        if extruder["facts"]["flow.capacity"]["value"] is None:
            continue
        index = names.index(name) + 1
        section = html.one("section", id=f"e{index}-assumptions" if names[1:] else "assumptions")
        rows = {
            span.get("data-fact"): row
            for row in section.all("tr")
            for span in row.all("span")
            if span.get("data-fact")
        }
        facts = extruder["facts"]
        guessed = {x for x in rows if facts.get(x, {}).get("origin") in ("catalogue", "default")}
        stated = {x for x in rows if x in facts} - guessed
        assert guessed or section.all("p")
        for fact in stated | guessed:
            shown = [band_of(x) for x in rows[fact].all("data")]
            if shown:
                assert shown == [band_in(facts[fact])]
            if facts[fact]["at"] is not None:
                at = facts[fact]["at"]
                assert f"{at['file']}:{at['line']}" in rows[fact].words
        cited = [rows[fact].words for fact in guessed if facts[fact]["source"]]
        assert all(re.search(STATUS, words) for words in cited)


def tables_of(html: Node, name: str) -> dict[str, list[list[str]]]:
    """The tables of a section by caption, as rows of cells in words."""
    return {
        table.one("caption").words: [
            [cell.words for cell in row.children] for row in table.one("tbody").children
        ]
        for table in html.one("section", id=name).all("table")
    }


def spoken(words: str) -> float:
    """The value of ``9.7 (6.1-14)``."""
    return float(words.split(" ", 1)[0])


def prefixes(lint: Any) -> list[tuple[str, str]]:
    """Name and id prefix of each extruder."""
    names = [x["name"] for x in lint["extruders"]]
    return [(name, f"e{n}-" if names[1:] else "") for n, name in enumerate(names, 1)]


def test_torque_is_that_of_its_command(machine: tuple[Node, Any, list[str]]) -> None:
    """The same points in the same order with the same torques, the same motors at each voltage."""
    html, lint, arguments = machine
    for name, prefix in prefixes(lint):
        torque = told("torque", *arguments, "--extruder", name)
        tables = tables_of(html, f"{prefix}torque")
        points = tables.get("What the motor must do", [])
        assert [row[0] for row in points] == [x["title"] for x in torque["points"]]
        for row, point in zip(points, torque["points"], strict=True):
            keys = ("motor_speed", "filament_speed", "needed", "usable", "skip")
            for cell, key in zip(row[1:6], keys, strict=True):
                assert spoken(cell) == pytest.approx(point[key]["value"], rel=0.05, abs=1e-9)
            assert row[7] == ("yes" if point["asked"] else "no")
        motors = [v for k, v in tables.items() if k.startswith("Which motor would do")]
        titles = dict.fromkeys(x["title"] for x in torque["motors"])
        assert [row[0] for table in motors for row in table] == list(titles)
        for row in (row for table in motors for row in table):
            answers = [x["serves"] for x in torque["motors"] if x["title"] == row[0]]
            assert [cell.startswith("yes") for cell in row[4:]] == [x is True for x in answers]


def test_grip_is_that_of_its_command(machine: tuple[Node, Any, list[str]]) -> None:
    """Every material in the machine's own gears: share, grip and pressure; one row is its own."""
    html, lint, arguments = machine
    if "--print" in arguments:  # grip takes no print: ask for the same flow
        flow = lint["extruders"][0]["facts"]["demand.asked_push"]["value"]
        arguments = [*arguments[: arguments.index("--print")], "--asked", f"{flow}mm3/s"]
    for name, prefix in prefixes(lint):
        grip = told("grip", *arguments, "--extruder", name)
        own = [x["gears"] for x in grip["grips"] if x["present"]]
        tables = tables_of(html, f"{prefix}grip")
        shown = [v for k, v in tables.items() if k.startswith("Filaments in these gears")]
        assert len(shown) == len(own) <= 1
        rows = [x for x in grip["grips"] if x["gears"] in own]
        more = [v for k, v in tables.items() if k.startswith("How sure")]
        for cells, behind, row in zip(
            (x for table in shown for x in table), (x for table in more for x in table), rows,
            strict=True,
        ):  # fmt: skip
            title = material_words(row["material"]) + (" (this machine)" if row["present"] else "")
            assert cells[0] == behind[0] == title
            for place, key in ((3, "grip"), (4, "pressure"), (5, "yield_strength")):
                assert spoken(behind[place]) == pytest.approx(row[key]["value"], rel=0.05)
            used = row["share"]["value"]
            said = cells[1].removeprefix(f"{material_words(row['material'])}: ")
            said = said.partition(" of the grip")[0]
            if used > 10.0:
                assert said == ">1000 %"
            else:
                assert spoken(said) == pytest.approx(100 * used, rel=0.05)


def test_the_print_is_that_of_demand(page: Made) -> None:
    """Sustained flow, peak, shares and features."""
    html = page("asks-too-much/printer.cfg", **PRINT)[1]
    demand = told(
        "demand", "asks-too-much/box.gcode", "--config", "asks-too-much/printer.cfg",
        "--profile", "asks-too-much/profile.ini",
    )  # fmt: skip
    section = html.one("section", id="print")
    (capacity,) = section.all("data")
    assert band_of(capacity) == band_in(demand["capacity"])
    assert (
        f"{demand['sustained']:.1f} mm\u00b3/s in line {demand['sustained_line']}" in section.words
    )
    assert f"{demand['peak']:.1f} mm\u00b3/s in line {demand['peak_line']}" in section.words
    tables = {x.one("caption").words: x.one("tbody") for x in section.all("table")}
    rows = tables["By feature, most demanding first"].children
    assert {row.children[0].words for row in rows} == {x["feature"] for x in demand["features"]}
    peaks = {x["feature"]: f"{x['peak']:.1f}" for x in demand["features"]}
    for row in rows:
        assert row.children[2].words == peaks[row.children[0].words]


@wide
@only_wide
def test_the_weighed_test_is_that_of_weigh_read(page: Made) -> None:
    """The limit and what it makes of the capacity, before and after."""
    html = page("healthy/printer.cfg", weighed=("healthy/flow-test.csv",))[1]
    lint = told("lint", "healthy/printer.cfg", "--weighed", "healthy/flow-test.csv")
    weighed = lint["extruders"][0]["weighed"]
    section = html.one("section", id="weighed")
    bands = [band_of(x) for x in section.all("data")]
    assert band_in(weighed["before"]) in bands
    assert band_in(weighed["after"]) in bands
    before = told("lint", "healthy/printer.cfg")["extruders"][0]["facts"]["flow.capacity"]
    assert band_in(before) == band_in(weighed["before"])
    steps = [x for x in section.all("table") if x.one("caption").words == "The steps of the test"]
    with open("healthy/flow-test.csv", encoding="utf-8") as stream:
        cells = [line.split(";") for line in stream if line[:1].isdigit()]
    run = {float(cell[1]) for cell in cells if cell[4].strip()}  # the slow one stands twice
    assert [float(x.children[0].words) for x in steps[0].one("tbody").children] == sorted(run)


def test_the_diff_is_that_of_mend(page: Made) -> None:
    """Line by line; lines that go and come are marked as such."""
    html = page("over-driven/printer.cfg")[1]
    stream = io.StringIO()
    with redirect_stdout(stream):
        main(["mend", "over-driven/printer.cfg", "--format", "json"])
    patch = json.loads(stream.getvalue())["diff"]
    pre = html.one("pre")
    assert pre.text == patch.removesuffix("\n") + "\n"
    assert patch
    assert all(x.text.startswith("-") for x in pre.all("del"))
    assert all(x.text.startswith("+") for x in pre.all("ins"))
    lines = patch.splitlines()
    assert len(pre.all("del")) == sum(x[:1] == "-" and x[:4] != "--- " for x in lines)
    assert len(pre.all("ins")) == sum(x[:1] == "+" and x[:4] != "+++ " for x in lines)
