"""`weigh compare`: what cancels, what changes sign, and what is said; on the simulated bench."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from bench import Nature, Shared, evening, weigh
from machines import SETUP, flows, true_machine
from ran import VALIDATOR, Run
from tiers import only_wide, spread, wide

from advisor.weigh import Pair, evaluate, pair_of, read_weighed
from advisor.weigh.records import Evaluation

ROOT = Path(__file__).resolve().parents[2]
CONFIG = str(ROOT / "samples/healthy/printer.cfg")
KEPT = ROOT / "samples/healthy/kept"
MAY, JUNE = str(KEPT / "2026-05-12.csv"), str(KEPT / "2026-06-03.csv")
EVEN = Nature(slip=0.2, power=1.0, beyond_melt=0.2, skipping=0.8)


def read(text: str) -> Evaluation:
    return evaluate(read_weighed(text.encode(), "t.csv"), SETUP)


def tables(places: tuple[int, int] = (300, 900), **more: Any) -> tuple[str, str]:
    """Two machines weighed on one evening."""
    rng = np.random.default_rng(7)
    shared = evening(rng)
    one, other = (
        weigh(list(flows("healthy")), true_machine("healthy", place).limits, rng, shared=shared,
              **more)
        for place in places
    )  # fmt: skip
    return one, other


def pair(one: str, other: str, *, one_spool: bool = True) -> Pair:
    return pair_of(read(one), read(other), one_spool=one_spool)


def times(text: str, gain: float) -> str:
    """The same table from a scale that shows so many times the mass."""
    head, _, rows = text.partition("skipped\n")
    made = []
    for row in rows.splitlines():
        flow, length, mass, skipped = row.split(";")
        made.append(f"{flow}; {length}; {float(mass) * gain:.5f}; {skipped}")
    return f"{head}skipped\n" + "\n".join(made) + "\n"


def test_identical_tables_show_no_difference() -> None:
    """It covers 0, is 0 in the middle, and either is as likely to be more."""
    one, _ = tables()
    same = pair(one, one)
    told = same.more()

    assert told is not None
    assert told.more.low < 0.0 < told.more.high
    assert told.more.value == pytest.approx(0.0, abs=1e-9)
    assert told.sure == pytest.approx(0.5)
    assert same.slow_ratio.value == 1.0
    assert [row.more.value for row in same.rows()] == pytest.approx([0.0] * len(same.rows()))


@wide
@only_wide
def test_changing_the_tables_over_changes_the_sign_alone() -> None:
    """Band, typical value, how sure, and every row; also where one was not reached."""
    short = "\n".join(tables()[1].splitlines()[:8]) + "\n"
    for one, other in (tables(), (tables()[0], short)):
        made, back = pair(one, other), pair(other, one)
        told, turned = made.more(), back.more()
        assert told is not None
        assert turned is not None
        assert told.more.value == pytest.approx(-turned.more.value)
        assert told.more.low == pytest.approx(-turned.more.high)
        assert told.more.high == pytest.approx(-turned.more.low)
        assert told.sure == pytest.approx(1.0 - turned.sure)
        assert (told.at_least, told.at_most) == (turned.at_most, turned.at_least)
        for row, opposite in zip(made.rows(), back.rows(), strict=True):
            assert row.more.value == pytest.approx(-opposite.more.value)
            assert row.sure == pytest.approx(1.0 - opposite.sure)


def test_an_error_of_the_scale_that_both_share_cancels() -> None:
    """Correlated quantities (JCGM 100:2008, F.1.2.3): a factor common to both is in no result;
    one that only the second has moves all its flows by as much."""
    one, other = tables()
    plain, both = pair(one, other), pair(times(one, 1.03), times(other, 1.03))
    alone = pair(one, times(other, 1.03))
    told, shared, moved = plain.more(), both.more(), alone.more()

    assert told is not None
    assert shared is not None
    assert moved is not None
    assert shared.more.value == pytest.approx(told.more.value, abs=0.02)
    assert shared.sure == pytest.approx(told.sure, abs=0.005)
    assert alone.ratio == pytest.approx(1.03 * plain.ratio, rel=1e-3)
    assert moved.more.value == pytest.approx(told.more.value + 0.03 * 16.0, abs=0.12)


def test_a_second_spool_widens_what_is_said() -> None:
    """Its diameter and density are others: +-0.02 mm is 1.3 % of the section (JCGM 100, 4.3.7)."""
    one, other = tables()
    same, two = pair(one, other), pair(one, other, one_spool=False)

    assert same.spools == 0.0
    assert 0.013 < two.spools < 0.035
    assert two.unsure == pytest.approx(np.hypot(same.unsure, two.spools))
    wide = [row.more.high - row.more.low for row in two.rows()]
    narrow = [row.more.high - row.more.low for row in same.rows()]
    assert all(wide > narrow for wide, narrow in zip(wide, narrow, strict=True))


def test_what_a_drive_feeds_of_what_is_commanded_counts() -> None:
    """The same machine with a rotation distance that is 6 % off: the slow runs tell it."""
    rng = np.random.default_rng(3)
    shared, limits = Shared(1.75e-3, 1240.0), true_machine("healthy", 300).limits
    ways = (1.0, 0.94)
    one, other = (
        weigh(list(flows("healthy")), limits, rng, shared=shared, feed=feed, being=EVEN)
        for feed in ways
    )
    made = pair(one, other)
    told = made.more()

    assert made.slow_ratio.low < 0.94 < made.slow_ratio.high
    assert told is not None
    assert told.more.low < 0.0 < told.more.high


@wide
@only_wide
def test_evenness_tells_a_drive_that_pulses() -> None:
    """Pieces that scatter 2 % more than weighing explains are told, others are not: of thirty
    even drives at 95 % at most five (binomial, 1 in 100 for more)."""
    rng = np.random.default_rng(5)
    limits = true_machine("healthy", 300).limits
    slow = [0.25 * limits["skip"] * (1.0 + 0.1 * n) for n in range(8)]
    false = 0
    for _ in range(30):
        text = weigh(slow, limits, rng, being=EVEN)
        found = read(text).evenness
        assert found is not None
        false += found.beyond is not None
    assert false <= 5

    rows = weigh(slow, limits, rng, being=EVEN).splitlines()
    for number in range(2, len(rows)):
        cells = rows[number].split(";")
        cells[2] = f" {float(cells[2]) * (1.0 + 0.03 * (-1) ** number):.3f}"
        rows[number] = ";".join(cells)
    found = read("\n".join(rows) + "\n").evenness
    assert found is not None
    assert found.beyond is not None
    assert 0.02 < found.beyond < 0.05


def test_one_drive_on_two_days_in_words_and_in_json(run: Run) -> None:
    """The answer first, the days, the roll, one chart, one table, the model beside it."""
    ran = run("weigh", "compare", MAY, JUNE, "--config", CONFIG)
    told = json.loads(run("weigh", "compare", MAY, JUNE, "--config", CONFIG, "--format",
                          "json").out)  # fmt: skip
    words = " ".join(ran.out.split())

    assert (ran.code, ran.err) == (0, "")
    assert words.startswith("answer no clear difference: B, the same drive later, delivers -")
    assert "12 May, " in words
    assert "3 June, " in words
    assert "caution the rolls differ: that alone moves such a limit by some 6 %" in words
    assert "Delivered, % of the slow run, over the flow in mm" in words
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    VALIDATOR.validate(told)
    assert told["change"]
    assert not told["shared_filament"]
    assert [test["date"] for test in told["tests"]] == ["2026-05-12", "2026-06-03"]
    assert told["rows"][0]["flow"] == pytest.approx(3.8)


@wide
@pytest.mark.parametrize(
    ("old", "new", "change"),
    spread(
        [
            ("rotation distance: 45.2 mm", "rotation distance: 44 mm", True),  # calibrated anew
            ("# gear ratio: 9\n", "", True),  # what a table does not say is as on the machine
            ("motor: round-36", "motor: square-42-long", False),
            ("rotation distance: 45.2 mm", "rotation distance: 22.7 mm", False),
            ("nozzle: 0.4 mm", "nozzle: 0.6 mm", False),
            ("date: 2026-06-03", "date: 2026-05-12", False),
        ],
        1,
    ),
)
def test_when_it_is_one_drive_on_two_days(tmp_path: Path, old: str, new: str, change: bool) -> None:
    """By what both heads say of motor, gears, nozzle and filament, and two days."""
    import advisor

    text = Path(JUNE).read_text(encoding="utf-8")
    assert old in text
    later = tmp_path / "later.csv"
    later.write_text(text.replace(old, new), encoding="utf-8")

    assert advisor.weigh_compare([MAY, later], CONFIG).change is change


@wide
@only_wide
def test_two_drives_with_a_sheet_each(run: Run, tmp_path: Path) -> None:
    """The one that does more is told with how sure; the other way round it is less."""
    rng = np.random.default_rng(2)
    spool = Shared(1.75e-3, 1240.0)
    limits = true_machine("healthy", 300).limits
    for name, factor in (("small", 1.0), ("big", 1.5)):
        better = {key: value * factor for key, value in limits.items()}
        planned = [flow * factor for flow in flows("healthy")]
        text = weigh(planned, better, rng, shared=spool, being=EVEN, head=f"# name: {name}")
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    sheet = str(ROOT / "samples/healthy/hardware.yaml")
    small, big = (str(tmp_path / f"{name}.csv") for name in ("small", "big"))
    both = ("--config", CONFIG, "--config", CONFIG, "--sheet", sheet, "--sheet", sheet)
    more = " ".join(run("weigh", "compare", small, big, *both).out.split())
    less = " ".join(run("weigh", "compare", big, small, *both).out.split())

    found = re.match(r"answer B delivers ([\d.]+) \(.*?\) mm\S* more before it under-extrudes, "
                     r"(\d+) % sure", more)  # fmt: skip
    assert found is not None
    assert 4.0 < float(found[1]) < 12.0
    assert int(found[2]) >= 95
    assert "neither table says its roll ('# roll: grey'): taken as one; another roll alone" in more
    assert f"answer B delivers {found[1]} (" in less
    assert "less before it under-extrudes" in less


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((MAY, "--config", CONFIG), "1 table cannot be set against each other; name two"),
        ((MAY, MAY, "--config", CONFIG), "a table is named twice"),
        ((MAY, JUNE), "--config"),
        ((MAY, JUNE, *("--config", CONFIG) * 3), "there are 3 configs for 2 tables"),
        ((MAY, JUNE, "--config", CONFIG, "--extruder", "other"), "no extruder 'other'"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...], words: str) -> None:
    """Exit 2, one sentence, nothing on stdout."""
    ran = run("weigh", "compare", *arguments)

    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err


def test_a_table_that_cannot_be_read_is_told(run: Run, tmp_path: Path) -> None:
    """Exit 3 with its place; JSON is valid and has no test."""
    bad = tmp_path / "bad.csv"
    bad.write_text("flow; mass\n1; x\n", encoding="utf-8")
    ran = run("weigh", "compare", MAY, str(bad), "--config", CONFIG)
    told = run("weigh", "compare", MAY, str(bad), "--config", CONFIG, "--format", "json")

    assert (ran.code, ran.out) == (3, "")
    assert f"{bad}:1" in ran.err
    assert told.code == 3
    VALIDATOR.validate(json.loads(told.out))
    assert json.loads(told.out)["tests"] == []
