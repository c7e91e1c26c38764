"""The questions of the hardware sheet: their order, what an answer may be, what is written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from every import every
from held import held
from hypothesis import HealthCheck, given, settings, strategies as st
from tiers import examples, only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.interview import Interview
from advisor.answers.lint import check_config
from advisor.answers.questions import Question
from advisor.answers.sheet_text import sheet_text
from advisor.base import InputError, Span, UnreadableError, UsageError
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog
from advisor.inputs.sheet import Sheet, read_sheet
from advisor.inputs.sheet_fields import SheetField, load_fields, read_value
from advisor.machine.summary import measure_next

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
BARE = str(SAMPLES / "no-sheet" / "printer.cfg")
TWO = """\
[printer]
max_velocity: 300
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 1.75
[extruder1]
rotation_distance: 22.6
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 1.75
"""


def facts_of(sheet: Sheet, extruder: str = "") -> dict[str, Any]:
    return {name: held(fact) for name, fact in sheet.part(extruder).facts.items()}


def upto(interview: Interview, path: str) -> Question:
    """Leave questions open until one comes."""
    while (question := interview.question) is not None and question.path != path:
        interview.leave_open()
    assert question is not None, path
    return question


def test_what_narrows_most_is_asked_first() -> None:
    """The first question is the class that settles what `measure next` ranks first."""
    checked = check_config(BARE, Asks())
    first = measure_next(checked.books["extruder"].facts, load_catalog().facts)[0]
    question = Interview(BARE, Asks()).question

    assert first.fact == "hotend.melt_length"
    assert question is not None
    assert (question.path, question.share) == ("hotend.class", first.share)


def test_a_share_is_a_share() -> None:
    """Nothing explains more than all; where only rounding differs, nothing explains anything."""
    facts, infos = check_config(BARE, Asks()).books["extruder"].facts, load_catalog().facts
    for target in ("flow.capacity", "motor.derated_current", "motor.set_current"):
        shares = [row.share for row in measure_next(facts, infos, target)]
        assert all(0.0 < share <= 1.0 for share in shares)
    assert facts["motor.set_current"].known
    assert measure_next(facts, infos, "motor.set_current") == ()


def test_the_order_follows_the_answers() -> None:
    """A melt length that is known is not asked for, and something else comes first."""
    interview = Interview(BARE, Asks())
    before = interview.capacity
    upto(interview, "hotend.melt_length")
    interview.answer("20 mm")
    after = interview.capacity
    left = [question.path for question in interview.left()]

    assert before is not None
    assert after is not None
    assert after.high - after.low < 0.9 * (before.high - before.low)
    assert "hotend.melt_length" not in left
    assert left[0].startswith("drive.")


def test_what_the_current_hangs_on_is_asked() -> None:
    """Motor class, rating, what it means, the mount; the air as soon as a mount can soften."""
    interview = Interview(BARE, Asks())
    weighty = [question.path for question in interview.left() if question.weighty]

    for path in ("motor.class", "motor.rated_current", "motor.rating_basis", "drive.mount"):
        assert path in weighty
    assert "motor.step_angle" not in weighty

    upto(interview, "drive.mount")
    interview.answer("petg")
    assert "chamber" in [question.path for question in interview.left() if question.weighty]


def test_what_the_config_states_is_not_asked() -> None:
    """Neither the kinematics nor what a sheet states already."""
    interview = Interview(str(SAMPLES / "healthy" / "printer.cfg"), Asks())
    paths = {question.path for question in interview.left()}

    assert "drive.gear_ratio" not in paths
    assert not paths & {"motor.class", "motor.rated_current", "hotend.class", "drive.mount"}


@wide
@only_wide
@every(
    ("path", "text", "stated"),
    [
        ("hotend.melt_length", "12.5", "12.5 mm"),
        ("hotend.melt_length", "12..14", "12..14 mm"),
        ("motor.rated_current", "1.0", "1.0 A"),
        ("motor.rated_current", "1.0 A peak", "1.0 A peak"),
        ("motor.holding_torque", "10 N cm", "10 N cm"),
        ("chamber", "45", "45 degC"),
        ("drive.driven_gears", "2", "2"),
        ("hotend.class", "2", "long"),
        ("hotend.class", "Ext", "extra-long"),
        ("hotend.class", "LONG", "long"),
        ("motor.rating_basis", "2", "rms"),
    ],
)
def test_an_answer_is_written_with_its_unit(path: str, text: str, stated: str) -> None:
    """A bare number gets the unit due; a choice may be given by number or by its beginning."""
    interview = Interview(BARE, Asks())
    upto(interview, path)

    assert interview.answer(text) == (stated,)
    field = load_fields().fields[path]
    value, _ = read_value(field, stated, at=Span("x", 1), catalog=load_catalog())
    found = facts_of(read_sheet(interview.text(), "x"))[field.fact]
    assert found in (value, getattr(value, "typical", value))


@wide
@only_wide
@every(
    ("path", "text", "words"),
    [
        ("hotend.melt_length", "1.25", "has no unit"),  # 1.25 cm was meant
        ("motor.rated_current", "800", "has no unit"),  # mA were meant
        ("motor.holding_torque", "10", "has no unit"),  # N cm were meant
        ("hotend.melt_length", "12 bananas", "is no unit we know"),
        ("hotend.melt_length", "12,5 mm", "write '12.5 mm'"),
        ("hotend.melt_length", "14..12 mm", "falls"),
        ("hotend.melt_length", "-3 mm", "must be above"),
        ("drive.driven_gears", "1.5", "no whole number"),
        ("hotend.class", "9", "not in the list"),
        ("filament.material", "pa", "begins several"),
        ("filament.material", "ptg", "did you mean 'petg'?"),
        ("hotend.melt_length", "\x1b[A", "is no value"),
        ("motor.measured_case", "60 degC", "this takes 2 to 3 values"),
    ],
)
def test_a_bad_answer_is_one_sentence(path: str, text: str, words: str) -> None:
    """It changes nothing: the question stands."""
    interview = Interview(BARE, Asks())
    question = upto(interview, path)
    with pytest.raises(InputError, match=words.replace("?", r"\?")) as caught:
        interview.answer(text)

    assert interview.answers == {}
    assert interview.question == question
    assert "\n" not in str(caught.value)


@wide
@only_wide
def test_answers_that_contradict_are_refused(tmp_path: Path) -> None:
    """What the unit of one says may not contradict another; alone, it settles the other."""
    sheet = tmp_path / "hardware.yaml"
    sheet.write_text("motor: {rating_basis: rms}\n")
    interview = Interview(BARE, Asks(sheet=str(sheet)))
    upto(interview, "motor.rated_current")
    with pytest.raises(InputError, match=r"'1\.0 A peak' and 'rms' disagree"):
        interview.answer("1.0 A peak")

    free = Interview(BARE, Asks())
    upto(free, "motor.rated_current")
    free.answer("1.0 A peak")
    assert "motor.rating_basis" not in {question.path for question in free.left()}
    assert facts_of(read_sheet(free.text(), "x"))["motor.rating_basis"] == "peak"


@wide
@only_wide
def test_a_measurement_is_one_answer() -> None:
    """Its parts come with commas, the last may be left out."""
    interview = Interview(BARE, Asks())
    upto(interview, "motor.measured_case")
    interview.answer("61 degC, 0.5 A, 24")
    measured = read_sheet(interview.text(), "x").shared.measured["measured_case"]

    assert {n: round(v.nominal, 2) for n, v in measured.values.items()} == {
        "temperature": 334.15, "current": 0.5, "ambient": 297.15,
    }  # fmt: skip


def _texts(field: SheetField, question: Question) -> st.SearchStrategy[str]:
    """Answers to a field: most can be, some cannot."""
    junk = st.sampled_from(
        ["", "x", "12 bananas", "-1", "1e9 kg", "a: b", "#", "'", "?!", "\ufeff"]
    )
    if field.type != "number":
        words = [name for name, _ in question.choices] or list(field.choices) or ["pla"]
        return st.sampled_from(words) | junk
    if field.count:
        return st.integers(0, 5).map(str) | junk
    if field.unit in ("", "-"):
        return st.sampled_from(["0.9", "90 %", "0.85..0.95", "2"]) | junk
    unit = parse_unit(field.unit)
    low = next((b[0] for b in (field.above, field.at_least) if b is not None), 0.0)
    high = field.at_most[0] if field.at_most is not None else low + 1.0
    part = st.floats(0.01, 0.99).map(lambda x: float(unit.from_si(low + x * (high - low))))
    one = part.map(lambda x: f"{x:.4g} {field.unit}")
    band = st.tuples(part, part).map(lambda p: f"{min(p):.4g}..{max(p):.4g} {field.unit}")
    return one | band | part.map(lambda x: f"{x:.4g}") | junk


@wide
@settings(
    max_examples=examples(3, 12, 200), deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
@given(data=st.data())
def test_the_sheet_states_what_was_answered(data: st.DataObject) -> None:
    """Whatever is answered, left open and taken back: the sheet holds the answers, no more."""
    interview, catalog = Interview(BARE, Asks()), load_catalog()
    history: list[dict[str, str]] = []
    expected: dict[str, str] = {}
    for _ in range(data.draw(st.integers(1, 12))):
        question = interview.question
        if question is None:
            break
        act = data.draw(st.sampled_from(["answer"] * 4 + ["leave", "back"]))
        if act == "back":
            assert interview.back() is bool(history)
            expected = history.pop() if history else expected
            continue
        if act == "leave":
            history.append(expected)
            interview.leave_open()
            continue
        parts = [data.draw(_texts(field, question)) for field in question.fields]
        try:
            stated = interview.answer(", ".join(parts))
        except InputError:
            continue
        history.append(expected)
        paths = [field.path for field in question.fields]
        expected = {**expected, **dict(zip(paths, stated, strict=False))}
    found = facts_of(read_sheet(interview.text(["# any"]), "x", catalog=catalog))

    wanted: dict[str, Any] = {}
    for path, text in expected.items():
        field = load_fields().fields[path]
        value, kind = read_value(field, text, at=Span("x", 1), catalog=catalog)
        exact = not isinstance(value, str) and value.low == value.high
        wanted[field.fact] = value.typical if exact else value
        if kind is not None and field.basis is not None:
            wanted[load_fields().fields[field.basis].fact] = kind
    assert found == wanted


@wide
@pytest.mark.parametrize(
    "path", spread(sorted(SAMPLES.glob("*/hardware.yaml")), 2), ids=lambda p: p.parent.name
)
def test_an_old_sheet_is_kept(path: Path) -> None:
    """Every sample's sheet comes back with the same facts, texts, measurements and allowances."""
    old = read_sheet(path.read_text(encoding="utf-8"), str(path))
    interview = Interview(BARE, Asks(sheet=str(path)))
    new = read_sheet(interview.text(), "new.yaml")

    for name in ("", *old.extruders):
        assert facts_of(new, name) == facts_of(old, name)
        pairs = [(f.origin.setting, f.origin.text) for f in old.part(name).facts.values()]
        assert pairs == sorted(
            [(f.origin.setting, f.origin.text) for f in new.part(name).facts.values()],
            key=pairs.index,
        )
    assert [(one.rule, one.reason) for one in new.allow] == [
        (one.rule, one.reason) for one in old.allow
    ]


def test_bases_and_single_extruders_are_kept(tmp_path: Path) -> None:
    """A base is written out; what one extruder has of its own stays its own; reasons stay."""
    (tmp_path / "printer.cfg").write_text(TWO)
    (tmp_path / "base.yaml").write_text(
        "motor: {class: round-36, holding_torque: 0.09..0.10..0.14 N m}\nambient: '23 \u00b0C'\n"
    )
    (tmp_path / "hardware.yaml").write_text(
        "base: base.yaml\nmotor: {rated_current: 1.0 A peak}\n"
        "extruders:\n  extruder1: {motor: {class: square-42-long}, hotend: {class: long}}\n"
        "allow:\n  - 'unknown-fixture, because: it # is \"so\"'\n"
    )
    old = read_sheet((tmp_path / "hardware.yaml").read_text(), str(tmp_path / "hardware.yaml"),
                     open_text=lambda name: Path(name).read_text())  # fmt: skip
    interview = Interview(str(tmp_path / "printer.cfg"), Asks())
    new = read_sheet(interview.text(), "elsewhere.yaml")

    for name in ("", "extruder1"):
        assert facts_of(new, name) == facts_of(old, name)
    assert "holding_torque: 0.09..0.10..0.14 N m" in interview.text()
    assert [(a.rule, a.reason) for a in new.allow] == [(a.rule, a.reason) for a in old.allow]


@wide
@only_wide
def test_answers_go_where_they_count(tmp_path: Path) -> None:
    """For an extruder that is named, under its name; what belongs to the machine, at the top."""
    config = tmp_path / "printer.cfg"
    config.write_text(TWO)
    interview = Interview(str(config), Asks(), extruder="extruder1")
    upto(interview, "hotend.class")
    interview.answer("long")
    upto(interview, "supply.voltage")
    interview.answer("24 V")
    sheet = read_sheet(interview.text(), "x")

    assert facts_of(sheet) == {"supply.voltage": 24.0}
    assert facts_of(sheet, "extruder1") == {"supply.voltage": 24.0, "hotend.class": "long"}
    first = Interview(str(config), Asks())
    upto(first, "hotend.class")
    first.answer("long")
    assert facts_of(read_sheet(first.text(), "x")) == {"hotend.class": "long"}


def test_a_material_of_the_command_line_is_an_answer() -> None:
    """It is not asked for; a sheet that names one keeps it."""
    interview = Interview(BARE, Asks(material="petg"))
    assert "filament.material" not in {question.path for question in interview.left()}
    assert facts_of(read_sheet(interview.text(), "x")) == {"filament.material": "petg"}

    sheet = str(SAMPLES / "healthy" / "hardware.yaml")
    kept = Interview(BARE, Asks(material="petg", sheet=sheet))
    assert facts_of(read_sheet(kept.text(), "x"))["filament.material"] == "pla"


def test_what_cannot_be_asked_about(tmp_path: Path) -> None:
    """No config, no extruder, a sheet that cannot be read: an error before the first question."""
    with pytest.raises(UnreadableError):
        Interview(str(tmp_path / "none.cfg"), Asks())
    (tmp_path / "printer.cfg").write_text("[printer]\nmax_velocity: 300\n")
    with pytest.raises(UsageError, match="no extruder"):
        Interview(str(tmp_path / "printer.cfg"), Asks())
    (tmp_path / "bad.yaml").write_text("motor: {klass: x}\n")
    with pytest.raises(UnreadableError, match="klass"):
        Interview(BARE, Asks(sheet=str(tmp_path / "bad.yaml")))


@given(
    text=st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=30)
)
def test_any_text_survives_the_writer(text: str) -> None:
    """YAML's own meaning of a text is kept out: what the reader of YAML sees is the text."""
    from advisor.data.yamlread import read_yaml

    written = sheet_text([], {"filament.material": text})
    data = read_yaml(written, "x").data["filament"]["material"]
    assert str(data) == text


def test_each_question_says_how_to_find_out() -> None:
    """Each line how to find out is one short line, and each field or block is known."""
    fields = load_fields()
    known = {*fields.fields, *fields.blocks}
    assert set(fields.questions) <= known
    for words in fields.questions.values():
        assert 10 < len(words) <= 70
        assert "\n" not in words


def test_a_class_that_the_config_contradicts_is_not_taken(tmp_path: Path) -> None:
    """Middle-sized gears beside the rotation distance of small ones: it is asked again."""
    config = tmp_path / "printer.cfg"
    config.write_text(
        "[extruder]\nrotation_distance: 22.6\nmicrosteps: 16\nnozzle_diameter: 0.4\n"
        "filament_diameter: 1.75\nmax_temp: 280\n[tmc2209 extruder]\nrun_current: 0.4\n"
        "sense_resistor: 0.110\n"
    )
    interview = Interview(str(config), Asks())
    while (question := interview.question) is not None and question.path != "drive.class":
        interview.leave_open()
    with pytest.raises(InputError) as caught:
        interview.answer("twin-medium")
    assert "rotation distance of 22.6 mm" in caught.value.problem
    assert interview.question is not None
    assert interview.question.path == "drive.class"
    assert interview.answers == {}
    assert interview.answer("twin-small") == ("twin-small",)


def test_the_hotend_class_is_asked_first() -> None:
    """Whatever else would narrow the answer more, as far as the answer hangs on it."""
    question = Interview(BARE, Asks()).question
    assert question is not None
    assert question.path == "hotend.class"
