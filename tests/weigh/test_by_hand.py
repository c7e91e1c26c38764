"""Ruler and caliper beside the scale, against hand computation with the package `uncertainties`.

A ruler errs by 1 mm either way, a caliper by 0.02 mm, a count of marks by a half: rectangles, whose
standard uncertainty is the half width over the root of 3 (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from machines import AREA, SAMPLES, SETUP
from tiers import only_wide, spread, wide
from uncertainties import ufloat
from uncertainties.umath import pow as upow

from advisor import Asks
from advisor.answers.lint import check_config
from advisor.answers.weigh_plan import plan_test
from advisor.answers.weigh_read import read_tests
from advisor.answers.weighed import seen_of
from advisor.base import Band, OriginKind, WeighError
from advisor.report.json import as_json, json_schema
from advisor.report.weigh_text import limit_words, render_read, slow_words
from advisor.weigh.answers import read_in_trade
from advisor.weigh.by_hand import fed_share, scaled, scaled_draws
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.records import Evaluation, Setup

ROOT_3 = math.sqrt(3.0)
HEAD = "flow;length;mass;skipped;fed_length;mark_depth;marks_per_10mm\n"
NOMINAL = 1240.0 * AREA * 0.28 * 1e3  # g


def text(fed: dict[int, float], *, marks: dict[int, float] | None = None,
         depth: dict[int, float] | None = None, mass: float = NOMINAL) -> str:  # fmt: skip
    """Return a table of 280 mm pieces that are whole up to 14 mm3/s and fall to 76 % at 20."""
    flows = {3: 1.0, 8: 1.0, 11: 0.999, 14: 0.998, 17: 0.9, 20: 0.76}
    none: dict[int, float] = {}
    marks, depth = marks or none, depth or none
    rows = [
        f"{q};280;{mass * part:.4f};no;{fed.get(q, '')};{depth.get(q, '')};{marks.get(q, '')}"
        for q, part in flows.items()
    ]
    return HEAD + "\n".join(rows) + "\n"


def read(*args: object, setup: Setup = SETUP, **more: object) -> Evaluation:
    table = read_weighed(text(*args, **more).encode(), "t.csv")  # type: ignore[arg-type]
    return evaluate(table, setup)


def test_calibration_is_told_apart_from_slip() -> None:
    """Of 280 mm 273 go in when slow, 266 at 14 mm3/s: 2.5 % calibration, 2.6 % slip."""
    hand = read({3: 273.0, 14: 266.0}).by_hand
    slow, fast = ufloat(273.0, 1.0 / ROOT_3), ufloat(266.0, 1.0 / ROOT_3)
    slip = 1 - fast / slow
    assert hand is not None
    assert hand.calibration is not None
    (found,) = hand.slips

    assert hand.calibration.value == pytest.approx(0.975)
    assert hand.calibration_expanded == pytest.approx(2 * (slow / 280).std_dev)
    assert hand.calibration.high - 0.975 == pytest.approx(1.64485 * (slow / 280).std_dev, rel=1e-4)
    assert found.flow == pytest.approx(14e-9)
    assert found.by == "ruler"
    assert found.share == pytest.approx(slip.nominal_value)
    assert found.expanded == pytest.approx(2 * slip.std_dev, rel=1e-6)


def test_the_rotation_distance_goes_by_the_ruler_where_there_is_one() -> None:
    """By mass 95 % (filament thin or light), by ruler 97.5 %: 45.2 mm x 0.975, within 0.4 %."""
    by_mass, by_ruler = read({}, mass=0.95 * NOMINAL), read({3: 273.0}, mass=0.95 * NOMINAL)
    assert by_mass.rotation_meant is not None
    assert by_ruler.rotation_distance is not None

    assert by_mass.rotation_meant.value == pytest.approx(45.2e-3 * 0.95, rel=1e-3)
    assert by_ruler.rotation_distance.value == pytest.approx(45.2e-3 * 0.975)
    assert "97.5 +- 0.41 % (95 %) of what was commanded went in by ruler" in slow_words(by_ruler)
    assert "44.070 (" in slow_words(by_ruler)
    exact = read({3: 280.0}, mass=0.95 * NOMINAL)
    assert exact.rotation_distance is None
    assert "right as far as a ruler can tell" in slow_words(exact)


def test_a_light_filament_is_told_where_the_ruler_clears_the_calibration() -> None:
    """Mass 95 %, fed 100 %: a length weighs 5 % less; uncertainty of scale, density, diameter."""
    hand = read({3: 280.0}, mass=0.95 * NOMINAL).by_hand
    density = ufloat(1240.0, 25.0 / ROOT_3)  # 1220 to 1270: half of the range, a rectangle
    diameter = ufloat(1.75, 0.02 / ROOT_3)
    own = math.hypot(0.01 / math.sqrt(6.0), 0.004) / (0.95 * NOMINAL)  # two readings, ooze and cut
    wander = 2 * 0.005 / 1.75
    relative = math.hypot(own, wander)
    mass = ufloat(0.95 * NOMINAL, 0.95 * NOMINAL * relative)
    length = ufloat(280.0, 1.0 / ROOT_3)
    weight = mass * 1e-3 / (density * math.pi / 4 * upow(diameter * 1e-3, 2) * length * 1e-3)
    assert hand is not None
    assert hand.weight is not None

    assert hand.weight == pytest.approx(weight.nominal_value, rel=1e-3)
    assert hand.weight_expanded == pytest.approx(2 * weight.std_dev, rel=0.01)
    assert hand.weight < 1.0 - hand.weight_expanded


def test_marks_that_stand_closer_are_slip() -> None:
    """12 marks on 10 mm when slow, 13.5 at 17 mm3/s: 11.1 % less filament a tooth."""
    hand = read({}, marks={3: 12.0, 17: 13.5}).by_hand
    slow, fast = 10 / ufloat(12.0, 0.5 / ROOT_3), 10 / ufloat(13.5, 0.5 / ROOT_3)
    slip = 1 - fast / slow
    assert hand is not None
    (found,) = hand.slips

    assert found.by == "marks"
    assert found.share == pytest.approx(1 - 12.0 / 13.5)
    assert found.expanded == pytest.approx(2 * slip.std_dev, rel=1e-6)


def test_marks_against_the_teeth_of_the_gear() -> None:
    """A gear of 11 mm with 40 teeth has a pitch of 0.8639 mm, its radius 1 % unsure."""
    pitch = math.pi * 11e-3 / 40
    setup = Setup(AREA, 1.75e-3, (1220.0, 1240.0, 1270.0), 45.2e-3, None, (pitch, 0.01))
    hand = read({}, marks={17: 13.5}, setup=setup).by_hand
    tooth = ufloat(11.0, 0.11) * math.pi / 40
    slip = 1 - 10 / ufloat(13.5, 0.5 / ROOT_3) / tooth
    assert hand is not None
    (found,) = hand.slips

    assert found.by == "gear"
    assert found.share == pytest.approx(slip.nominal_value)
    assert found.expanded == pytest.approx(2 * slip.std_dev, rel=1e-6)
    assert read({}, marks={17: 13.5}).by_hand is None  # no teeth counted, no slow run to compare


def test_the_knee_is_scaled_by_what_went_in() -> None:
    """97.5 % of the flow commanded: interval and draws, against a million draws of numpy."""
    found = read({3: 273.0})
    table = read_weighed(text({3: 273.0}).encode(), "t.csv")
    seen = seen_of(found, table)
    assert found.knee is not None
    assert found.came_out is not None
    assert seen.draws is not None
    assert seen.knee is not None
    rng = np.random.default_rng(1)
    many = rng.choice(found.came_out, 1_000_000) * rng.uniform(272 / 280, 274 / 280, 1_000_000)

    assert seen.knee.value == pytest.approx(0.975 * found.knee.value)
    assert seen.draws.size == found.came_out.size
    assert (np.diff(seen.draws) >= 0.0).all()
    np.testing.assert_allclose(
        np.quantile(seen.draws, (0.05, 0.5, 0.95)), np.quantile(many, (0.05, 0.5, 0.95)), rtol=2e-3
    )
    assert seen.delivered == pytest.approx(0.975 * found.delivered)
    assert "of filament by ruler" in limit_words(found)
    assert "of filament by ruler" not in limit_words(read({}))


def test_a_ruler_that_is_as_unsure_as_the_knee_widens_it() -> None:
    """Spread of draws and of what went in add in squares (JCGM 100:2008, 5.1.2)."""
    draws = 10.0 * np.exp(np.linspace(-1, 1, 1001) * 0.05)
    wide = scaled_draws(draws, Band(1.0, 0.92, 1.08))
    band = scaled(Band(10.0, 9.6, 10.3), Band(0.9, 0.87, 0.93))
    assert wide is not None
    assert band is not None

    assert wide.std() == pytest.approx(
        10.0 * math.hypot(draws.std() / 10.0, 0.08 / 1.6448536), rel=0.02
    )
    assert band.low == pytest.approx(9.0 * (1 - math.hypot(0.04, 0.03 / 0.9)))
    assert band.high == pytest.approx(9.0 * (1 + math.hypot(0.03, 0.03 / 0.9)))
    assert scaled_draws(draws, fed_share(read({}))) is draws


def config(tmp_path: Path, sheet: str = "") -> str:
    """Return the config of a sample, without its sheet or with another."""
    path = tmp_path / "printer.cfg"
    path.write_text((SAMPLES / "healthy" / "printer.cfg").read_text(encoding="utf-8"))
    if sheet:
        (tmp_path / "hardware.yaml").write_text(sheet)
    return str(path)


@wide
@only_wide
def test_the_depth_of_the_marks_is_the_bite_and_narrows_grip(tmp_path: Path) -> None:
    """0.21 mm by caliper, 0.19 to 0.23: measured, at the line of the table."""
    path, plain, deep = config(tmp_path), tmp_path / "plain.csv", tmp_path / "deep.csv"
    plain.write_text(text({}))
    deep.write_text(text({}, depth={3: 0.21}))
    books = [
        check_config(path, Asks(weighed=(str(table),))).machines["extruder"].plain().book
        for table in (plain, deep)
    ]
    bite = books[1].facts["drive.bite_depth"]
    spread = [np.ravel(book.samples("force.grip")) for book in books]

    assert bite.origin.kind is OriginKind.MEASURED
    assert bite.origin.at is not None
    assert bite.origin.at.line == 2
    assert np.ravel(books[1].samples("drive.bite_depth"))[0] == pytest.approx(0.21e-3)
    ranges = [np.log(np.quantile(x, 0.95) / np.quantile(x, 0.05)) for x in spread]
    assert ranges[1] < ranges[0]


@wide
@pytest.mark.parametrize(
    ("notes", "sheet", "depth"),
    spread(
        [
            ("", "drive: {bite_depth: 0.12 mm}", 0.12e-3),
            ("# material: petg\n", "filament: {material: pla}", 0.15e-3),
            ("# hardware: other gears\n", "", 0.15e-3),
        ],
        1,
    ),
)
def test_the_bite_of_the_sheet_stands_and_other_filaments_tell_none(
    tmp_path: Path, notes: str, sheet: str, depth: float
) -> None:
    """What is stated, or the usual 0.15 mm (common practice, no source)."""
    table = tmp_path / "t.csv"
    table.write_text(notes + text({}, depth={3: 0.21}))
    checked = check_config(config(tmp_path, sheet), Asks(weighed=(str(table),)))
    bite = checked.machines["extruder"].plain().book.samples("drive.bite_depth")

    assert np.ravel(bite)[0] == pytest.approx(depth, rel=0.05)


@wide
@only_wide
def test_it_is_told_in_text_and_json(tmp_path: Path) -> None:
    """Slip by ruler and by marks, the bite; the JSON as its schema has it."""
    table = tmp_path / "t.csv"
    made = text({3: 273.0, 14: 266.0}, marks={3: 12.0, 17: 13.5}, depth={3: 0.21})
    table.write_text(made)
    report = read_tests([str(table)], config(tmp_path), Asks())
    shown = " ".join(render_read(report).split())
    tree = as_json(read_in_trade(report))

    assert "at 14.0 mm\u00b3/s 2.6 % less filament went in than in the slow run, by ruler" in shown
    assert "at 17.0 mm\u00b3/s 11 % closer tooth marks" in shown
    assert "sink 0.21 (0.19-0.23) mm into" in shown
    Draft202012Validator(json_schema()).validate(json.loads(tree))


@pytest.mark.parametrize(
    ("head", "row", "words"),
    [
        ("fed", "28", "fed_length cannot be 28 here"),
        ("length by ruler [mm]", "0.2", "fed_length cannot be 0.2"),
        ("mark depth [mm]", "1.5", "mark_depth cannot be 1.5"),
        ("marks_per_10mm", "0", "marks_per_10mm cannot be 0"),
        ("fed_length [g]", "280", "fed_length cannot be in 'g'"),
    ],
)
def test_what_cannot_be_is_refused(head: str, row: str, words: str) -> None:
    """Each with its place and what to do."""
    table = f"flow;length;mass;{head}\n3;280;0.83;{row}\n8;280;0.83;\n11;280;0.83;\n"

    with pytest.raises(WeighError, match=words):
        read_weighed(table.encode(), "t.csv")


def test_the_table_to_fill_in_has_the_columns(tmp_path: Path) -> None:
    """They may stay empty: filled in without them it is a test as ever."""
    made = plan_test(config(tmp_path), Asks()).table
    header = next(line for line in made.splitlines() if line.startswith("step"))
    lines = [line for line in made.splitlines() if not line.startswith(("#", "step"))]
    filled = [line.replace("; 1; ;", "; 1; 0.83;", 1) for line in lines]
    table = read_weighed("\n".join([header, *filled]).encode(), "t.csv")

    for name in ("fed_length [mm]", "mark_depth [mm]", "marks_per_10mm"):
        assert name in header
    assert len(table.runs) == len(lines)
    assert all(run.fed is run.mark_depth is run.mark_pitch is None for run in table.runs)
    assert {run.note for run in table.runs} == {"", "slow reference"}
