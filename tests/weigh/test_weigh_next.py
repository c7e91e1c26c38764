"""`weigh next`: what a piece is expected to tell, which one is chosen, and when a test may end.

Expected information is held against scipy's entropies and distributions, what is chosen against
the bench of this folder, which shares no code with it, and the reading against `weigh read`.
"""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pytest
from bench import Nature, delivered
from machines import AREA, SETUP, book
from ran import Run
from scipy import stats
from tiers import only_wide, wide

from advisor.weigh.belief import Belief, Expected, Rows, believed
from advisor.weigh.choice import AllowedFlows, choose_piece, information, outcomes, where, whether
from advisor.weigh.fit_points import first_loss
from advisor.weigh.outlook import Outlook, OutlookBench, outlook_of
from advisor.weigh.plan import Bench, Wishes, make_plan, one_by_one
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.table import next_row
from advisor.weigh.weigh_data import weigh_numbers
from tests.weigh.test_weigh_plan import feeds

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIG = str(SAMPLES / "healthy/printer.cfg")
LIMITS = {"grip": 16e-9, "slip": 21e-9, "skip": 27e-9, "melt": 24e-9, "buckling": 60e-9}
BEING = Nature(slip=0.2, power=1.0, beyond_melt=0.3, skipping=0.8, droop=0.02)
OWN = 0.007
HEAD = "# material: pla\n# temperature: 215 degC\nflow [mm3/s]; length [mm]; mass [g]; skipped\n"


@functools.cache
def at() -> OutlookBench:
    """A sample's machine under the test."""
    loss = first_loss(book("healthy"))
    assert loss is not None
    made = Bench(
        area=AREA, density=1240.0, temperature=488.15, loss=loss,
        largest_speed=0.06, largest_accel=1.5, largest_move=0.1,
    )  # fmt: skip
    whole = make_plan(made, Wishes())
    return OutlookBench(SETUP, loss, whole, one_by_one(whole, made, Wishes()), 0.06 * AREA)


@functools.cache
def belief(*flows: float) -> Belief:
    """What is believed after pieces of a machine that slips at 16 mm3/s."""
    ratios = [1.0, *(delivered(f * 1e-9, LIMITS, BEING)[0] / (f * 1e-9) for f in flows)]
    rows = Rows(
        np.array([4.9, *flows]) * 1e-9, np.array(ratios), np.full(len(ratios), OWN),
        np.zeros(len(ratios), bool),
    )  # fmt: skip
    return believed(rows, Expected.of(at().loss, weigh_numbers("next")), 600)


def table(*rows: tuple[float, float, str], head: str = HEAD) -> str:
    """Return a table: flow in mm3/s, part of a whole piece, skipped."""
    return head + "".join(f"{q:g}; 280; {0.835 * part:.3f}; {word}\n" for q, part, word in rows)


def asked(text: str, prove: float | None = None) -> Outlook:
    table = read_weighed(text.encode(), "t.csv", unfinished=True)
    return outlook_of(table, at(), prove=prove, ahead=False)


def test_expected_information_is_the_entropy_that_is_lost() -> None:
    """Watson 2017, eq. 8 and 9 (expected entropy after a trial), by scipy.stats.entropy.

    H(question) - sum over outcomes of p(outcome) H(question | outcome), enumerated; and by the
    theory (Cover, Thomas, Elements of Information Theory, 2nd ed., 2.4, from memory) within 0 and
    both entropies, 0 where the outcome tells nothing.
    """
    rng = np.random.default_rng(3)
    for _ in range(20):
        labels = np.sort(rng.integers(0, 5, 60))
        likely = rng.dirichlet(np.full(7, 0.4), 60)
        prior = np.bincount(labels, minlength=5) / 60
        before = stats.entropy(prior, base=2)
        after = 0.0
        for outcome in range(7):
            joint = np.bincount(labels, weights=likely[:, outcome], minlength=5) / 60
            after += joint.sum() * stats.entropy(joint, base=2)
        told = information(labels, likely)

        assert told == pytest.approx(before - after, abs=1e-9)
        assert -1e-12 <= told <= min(before, stats.entropy(likely.mean(axis=0), base=2)) + 1e-12
        assert information(labels, np.tile(likely[:1], (60, 1))) == pytest.approx(0.0, abs=1e-9)


def test_outcomes_are_those_of_normal_errors() -> None:
    """Against scipy.stats.norm for a sound reading, with a misread one in a hundred, and skips."""
    made = belief(14.9)
    mean, spread, skips = made.at(18e-9)
    ratio, likely = outcomes(made, 18e-9, OWN)
    sd = np.hypot(spread, OWN * made.scale)
    wrong = weigh_numbers("fit")["misread"]

    assert likely.sum(axis=1) == pytest.approx(1.0)
    assert likely[:, -1] == pytest.approx(skips)
    step = ratio[1] - ratio[0]
    for one in (10, 300, 590):
        if skips[one] > 0.99:
            continue
        edges = np.append(ratio - step / 2, ratio[-1] + step / 2)
        sound = np.diff(stats.norm.cdf(edges, mean[one], sd[one]))
        due = (1 - skips[one]) * ((1 - wrong) * sound + wrong / ratio.size)
        rough = (step / sd[one]) ** 2 / 24 + 0.005  # the midpoint rule, by its textbook error
        assert likely[one, :-1] == pytest.approx(due, abs=rough * due.max())


def test_what_is_believed_follows_the_pieces() -> None:
    """Whole up to 17 moves the belief up, a light piece at 19 down; the truth stays inside."""
    before = belief()
    whole, light = belief(14.9), belief(14.9, 19.0)
    knee = 16e-9 / (1 - BEING.droop)

    assert before.quantiles([0.05])[0] < whole.quantiles([0.05])[0]
    assert light.quantiles([0.95])[0] < whole.quantiles([0.95])[0]
    for one in (before, whole, light):
        low, high = one.quantiles([0.02, 0.98])
        assert low <= knee <= high


def test_a_piece_that_cannot_tell_is_not_chosen() -> None:
    """Far below where delivery may fall nothing is learnt; the chosen one beats all on a grid."""
    made = belief(14.9)
    labels = where(made)
    rows = Rows(np.array([4.9e-9, 14.9e-9]), np.array([1.0, 0.985]), np.full(2, OWN),
                np.zeros(2, bool))  # fmt: skip
    may = AllowedFlows(6e-9, 0.06 * AREA, OWN)
    chosen = choose_piece(rows, Expected.of(at().loss, weigh_numbers("next")), may)
    grid = np.linspace(6e-9, 0.06 * AREA, 25)
    bits = [information(where(chosen.belief), outcomes(chosen.belief, q, OWN)[1]) for q in grid]

    assert information(labels, outcomes(made, 6e-9, OWN)[1]) < 0.2 * chosen.bits
    assert chosen.bits >= 0.97 * max(bits)


def test_a_yes_or_no_question_is_worth_a_bit_at_most() -> None:
    """And no more than its own entropy by scipy; asked beside what is believed it is next to 0."""
    made = belief(14.9)
    middle = float(made.quantiles([0.5])[0])
    bits = information(whether(made, middle), outcomes(made, middle, OWN)[1])
    share = float(np.mean(made.knee > middle))

    assert 0.05 < bits <= stats.entropy([share, 1 - share], base=2)
    assert information(whether(made, 1.0), outcomes(made, middle, OWN)[1]) == pytest.approx(0.0)


def test_reference_first_then_mid_band() -> None:
    """An empty table; one where the slow run is missing; one that has it."""
    slow, middle = (step.flow for step in at().first.steps)

    for text in (HEAD, table((18, 1, "no"))):
        made = asked(text)
        assert made.reference
        assert made.flow == slow
    made = asked(table((4.9, 1, "no")))
    assert (made.flow, made.stop, made.limit) == (middle, None, None)


@wide
@only_wide
def test_nothing_faster_than_the_first_skip_is_proposed() -> None:
    """The rule of the test: go no faster after the first click."""
    made = asked(table((4.9, 1, "no"), (14.9, 0.99, "no"), (19.9, 0.7, "yes")))

    assert made.flow < 19.9e-9
    assert made.limit is not None


@wide
@only_wide
def test_a_test_ends_at_ten_pieces() -> None:
    """Ten pieces that show no loss."""
    rows = [(4.9, 1, "no"), *((10 + n / 2, 0.995, "no") for n in range(9))]

    assert asked(table(*rows)).stop == "pieces"
    assert asked(table(*rows[:-1])).stop is None


def test_a_test_that_ends_names_the_command_that_reads_it(run: Run, tmp_path: Path) -> None:
    """As it can be typed, with the table and the config that were given."""
    file = tmp_path / "ten pieces.csv"
    rows = [(4.9, 1, "no"), *((10 + n / 2, 0.995, "no") for n in range(9))]
    file.write_text(table(*rows), encoding="utf-8")
    made = run("weigh", "next", str(file), "--config", CONFIG)

    told = " ".join(made.out.split())
    assert f"read it: feedwright weigh read '{file}' --config {CONFIG}" in told


@wide
@only_wide
def test_a_test_ends_at_a_proof() -> None:
    """A limit far above, or far below; not before three pieces."""
    whole = [(4.9, 1, "no"), (18, 0.995, "no"), (20.5, 0.99, "no")]
    assert asked(table(*whole), prove=14e-9).stop == "proved"
    assert asked(table(*whole[:2]), prove=14e-9).stop is None
    light = [(4.9, 1, "no"), (9, 0.9, "no"), (11, 0.8, "no")]
    made = asked(table(*light), prove=19e-9)
    assert made.stop == "proved"
    assert made.above is not None
    assert made.above < 0.05


def test_the_reading_is_that_of_weigh_read(run: Run, tmp_path: Path) -> None:
    """The same band to the last digit, of a table with four pieces; and the table is only read."""
    file = tmp_path / "t.csv"
    text = table((4.9, 1, "no"), (14.9, 0.99, "no"), (19.9, 0.85, "no"), (17.2, 0.96, "no"))
    file.write_text(text, encoding="utf-8")
    made = run("weigh", "next", str(file), "--config", CONFIG, "--format", "json").json
    read = run("weigh", "read", str(file), "--config", CONFIG, "--format", "json").json

    assert made["limit"] == read["tests"][0]["knee"]
    assert made["limit"] is not None
    assert made["weighed"] == 4
    assert made["used"] == pytest.approx(4 * 290 + 50)
    assert file.read_text(encoding="utf-8") == text


def test_text_gcode_and_row_at_the_bench(run: Run, tmp_path: Path) -> None:
    """From the plan of two pieces on: within 80 columns, and the G-code read back feeds it.

    The 10 mm to be cut away are fed at the slow flow, the piece at its own; the heater goes off.
    """
    test, gcode = tmp_path / "t.csv", tmp_path / "p.gcode"
    assert run("weigh", "plan", CONFIG, "--one-by-one", "--csv", str(test)).code == 0
    lines = test.read_text(encoding="utf-8").splitlines()
    assert [line.split("; ")[1] for line in lines if line[:1].isdigit()] == ["4.9", "14.9"]
    filled = [line.replace("; 1; ; ; ; ;", "; 1; 0.835; ; ; no;") for line in lines]
    test.write_text("\n".join(filled) + "\n", encoding="utf-8")
    ran = run("weigh", "next", str(test), "--config", CONFIG, "--gcode", str(gcode))
    words = gcode.read_text(encoding="utf-8")
    cut, piece = feeds(words)

    assert (ran.code, ran.err) == (0, "")
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    assert "Stay with the machine" in ran.out
    assert sum(length for length, _ in cut) == pytest.approx(10)
    assert sum(length for length, _ in piece) == pytest.approx(280)
    assert {round(speed * AREA * 1e6, 1) for _, speed in cut} == {4.9}
    flow = round(piece[0][1] * AREA * 1e6, 1)
    assert f"weigh a piece at {flow} mm³/s" in ran.out
    assert f"3; {flow:g}; 280; ; 1; ; ; ; ;" in ran.out
    assert words.index("M109 S215") < words.index("M104 S0\n")
    assert "; CAUTION" in words


def test_the_heater_stays_on_only_where_asked(run: Run, tmp_path: Path) -> None:
    """`--keep-hot` turns nothing off, and says so at the top and at the end."""
    test, gcode = tmp_path / "t.csv", tmp_path / "p.gcode"
    test.write_text(table((4.9, 1, "no")), encoding="utf-8")
    words = ("weigh", "next", str(test), "--config", CONFIG, "--gcode", str(gcode), "--keep-hot")
    told = " ".join(run(*words).out.split())
    lines = gcode.read_text(encoding="utf-8").splitlines()

    assert "M104 S0" not in lines
    assert any("stays ON at the end" in line for line in lines[:5])
    assert lines[-1].startswith("M117 Heater is ON")
    assert "leaves the heater ON for the next piece: M104 S0 turns it off" in told


def test_refuses_what_weigh_plan_refuses(run: Run, tmp_path: Path) -> None:
    """A table of a cold test: exit 1 with the reason, no G-code; JSON is valid."""
    test, gcode = tmp_path / "t.csv", tmp_path / "p.gcode"
    test.write_text(table((4.9, 1, "no")).replace("215", "170"), encoding="utf-8")
    words = ("weigh", "next", str(test), "--config", CONFIG)
    ran = run(*words, "--gcode", str(gcode))

    assert ran.code == 1
    assert "170 °C is below the usual range" in " ".join(ran.out.split())
    assert not gcode.exists()
    assert run(*words, "--format", "json").json["piece"] is None


def test_an_answer_that_rests_on_the_model_says_so(run: Run, tmp_path: Path) -> None:
    """No piece at 0.9 of the flow: said."""
    test = tmp_path / "t.csv"
    words = ("weigh", "next", str(test), "--config", CONFIG, "--prove", "19mm3/s")
    test.write_text(table((4.9, 1, "no"), (9, 0.9, "no"), (11, 0.8, "no")), encoding="utf-8")
    told = " ".join(run(*words).out.split())

    assert "no, under-extrusion starts below 19.0 mm³/s" in told
    assert "rests mostly on the model: no piece at 17.1 mm³/s or above was weighed" in told


def test_mistakes_are_told(run: Run, tmp_path: Path) -> None:
    """No table, a slow run that skipped, a flow the firmware does not feed, a file in place."""
    test = tmp_path / "t.csv"
    words = ("weigh", "next", str(test), "--config", CONFIG)

    assert run(*words).code == 3
    test.write_text(table((4.9, 1, "yes"), (15, 1, "no")), encoding="utf-8")
    ran = run(*words)
    assert ran.code == 3
    assert "skipped in the slow reference" in ran.err
    ran = run(*words, "--prove", "399mm3/s")
    assert ran.code == 2
    assert "the firmware feeds no more than" in ran.err
    ran = run(*words, "--gcode", str(test))
    assert ran.code == 2
    assert "is there already" in ran.err


def test_the_row_keeps_to_the_tables_own_columns() -> None:
    """Speed in mm/min and a decimal comma; nothing where a row waits for its mass already."""
    text = "speed [mm/min]\tlength [cm]\tmass [mg]\tnote\n120,5\t28\t835\t\n"
    values = {"flow": 14.9e-9, "speed": 0.0051, "length": 0.28, "note": "x"}

    assert next_row(text, "t.csv", values) == "306\t28\t\tx"
    assert next_row(text, "t.csv", {**values, "speed": 0.00512}) == "307,2\t28\t\tx"
    waits = "flow; length; mass; skipped\n14.9; 280; ; \n"
    assert next_row(waits, "t.csv", values) == ""
    assert next_row(waits.replace("; ; ", "; 0.8; no"), "t.csv", values) == "14.9; 280; ;"


@wide
@only_wide
def test_a_misread_piece_does_not_hold_the_test_up() -> None:
    """One piece far too light: the next ones stand beside it, and the reader leaves it out.

    A fastest piece that weighs more than the one before it is not the odd one where it fits those
    before that; three rows of which the middle one is 24 % light.
    """
    rows = [(4.9, 1, "no"), (10.6, 1, "no"), (11.9, 0.99, "no"), (14.9, 0.752, "no")]
    made = asked(table(*rows, (15.5, 0.93, "no")))
    flows = {round(flow * 1e-9, 12) for flow, _, _ in rows} | {15.5e-9}
    text = table(*rows, (15.5, 0.93, "no"))
    found = evaluate(read_weighed(text.encode(), "t.csv"), SETUP)

    assert all(abs(made.flow / flow - 1) > 0.01 for flow in flows)
    odd = [step.flow for step in found.steps if step.outlier]
    assert odd == [pytest.approx(14.9e-9)]


def test_a_table_of_speeds_is_taken(run: Run, tmp_path: Path) -> None:
    """Speeds of the filament in place of flows: the row has a speed, a piece near by is seen."""
    head = "# material: pla\n# temperature: 215 degC\nspeed [mm/s]; length; mass; skipped\n"
    test = tmp_path / "t.csv"
    rows = "".join(f"{q / AREA * 1e-6:.3f}; 280; {m}; no\n" for q, m in ((4.9, 0.835), (18, 0.6)))
    test.write_text(head + rows, encoding="utf-8")
    words = ("weigh", "next", str(test), "--config", CONFIG, "--prove", "19mm3/s")
    made = run(*words, "--format", "json").json

    assert made["prove"]["by_model"] is False
    assert made["prove"]["above"] < 0.2
    assert float(made["piece"]["row"].split(";")[0]) == pytest.approx(made["piece"]["speed"], 1e-4)
