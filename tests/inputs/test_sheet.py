"""The hardware sheet: every field, bands, extruders, bases, and every kind of mistake."""

from __future__ import annotations

import pickle
from collections.abc import Callable

import pytest
from held import held
from outside import units

from advisor.base import InputError, OriginKind, SheetError
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog
from advisor.inputs.sheet import Sheet, SheetMistakes, SheetValue, read_sheet
from advisor.inputs.sheet_fields import load_fields

# The sheet of the design's contract, every field of it, with made-up values.
WHOLE = """
motor:
  class: round-36
  rated_current: 1.0 A
  rating_basis: peak
  holding_torque: 0.09..0.14 N m
  phases_on: 2
  resistance: 2.4 ohm
  inductance: 1.8 mH
  detent_torque: 5 mN m
  rotor_inertia: 10 g cm2
  step_angle: 1.8 deg
  insulation_limit: 130 degC
  measured_case: {temperature: 55 degC, current: 0.5 A, ambient: 24 degC}
drive:
  class: twin-large
  driven_gears: 2
  gear_diameter: 15 mm
  bite_depth: 0.15 mm
  stages: 2
  efficiency: 0.90
  free_gap: 4 mm
  mount: petg
  measured_force: {force: 55..65 N, outcome: slipped}
hotend:
  class: standard
  insert: split-3
  melt_length: 12.5 mm
  split_length: 4 mm
  channels: 3
  heater_power: 50 W
  heat_loss: 15 W
  measured_flow: {flow: 11 mm3/s, material: PLA, temperature: 220 degC, nozzle: 0.4 mm}
filament: {material: petg, diameter: 1.75 mm, temperature: 240 degC, density: 1.27 g/cm3}
supply: {voltage: 24 V}
ambient: 23 degC
chamber: 40 degC
path: bowden
tube_length: 400 mm
asked: 24mm3/s
allow: [run-current-missing, counted-twice]
"""
EXPECTED = {
    "motor.class": "round-36", "motor.rated_current": 1.0, "motor.rating_basis": "peak",
    "motor.holding_torque": (0.09, 0.115, 0.14), "motor.phases_on": 2.0, "motor.resistance": 2.4,
    "motor.inductance": 1.8e-3, "motor.detent_torque": 5e-3, "motor.rotor_inertia": 1e-6,
    "motor.step_angle": 0.031415926535, "motor.insulation_limit": 403.15,
    "motor.measured_case_temperature": 328.15, "motor.measured_case_current": 0.5,
    "motor.measured_case_ambient": 297.15, "drive.class": "twin-large", "drive.driven_gears": 2.0,
    "drive.gear_diameter": 0.015, "drive.bite_depth": 1.5e-4, "drive.stages": 2.0,
    "drive.gear_efficiency": 0.9, "drive.free_gap": 0.004, "drive.mount": "petg",
    "drive.measured_force": (55.0, 60.0, 65.0), "drive.measured_outcome": "slipped",
    "hotend.class": "standard", "hotend.insert": "split-3", "hotend.melt_length": 0.0125,
    "hotend.split_length": 0.004, "hotend.channels": 3.0, "hotend.heater_power": 50.0,
    "hotend.heat_loss": 15.0, "hotend.measured_flow": 1.1e-8, "hotend.measured_material": "pla",
    "hotend.measured_temperature": 493.15, "hotend.measured_nozzle": 4e-4,
    "filament.material": "petg", "filament.diameter": 1.75e-3, "hotend.temperature": 513.15,
    "material.density": 1270.0, "supply.voltage": 24.0, "ambient.room": 296.15,
    "ambient.motor": 313.15, "drive.path": "bowden", "drive.tube_length": 0.4,
    "demand.stated_flow": 2.4e-8,
}  # fmt: skip


def mistakes(text: str) -> list[str]:
    """Return the sentences of all mistakes of a sheet."""
    with pytest.raises(SheetError) as caught:
        read_sheet(text, "hw.yaml")
    return str(caught.value).splitlines()


def test_the_whole_sheet() -> None:
    """Every field of the contract gives its fact in SI."""
    facts = read_sheet(WHOLE, "hw.yaml").shared.facts

    assert set(facts) == set(EXPECTED)
    for name, value in EXPECTED.items():
        if isinstance(value, str):
            assert held(facts[name]) == value
        else:
            assert held(facts[name]) == pytest.approx(value)


def test_every_fact_has_its_place_and_text() -> None:
    """Origin is the sheet, with line, column, field and the user's own text."""
    fact = read_sheet(WHOLE, "hw.yaml").shared.facts["motor.holding_torque"]

    assert held(fact) == SheetValue(0.09, fact.nominal, 0.14)
    assert fact.origin.kind is OriginKind.SHEET
    assert str(fact.origin.at) == "hw.yaml:6:19"
    assert (fact.origin.setting, fact.origin.text) == ("motor.holding_torque", "0.09..0.14 N m")
    assert fact.number.unit == "N m"


def test_measurements_are_records() -> None:
    """What was measured together stays together, bands by their typical value but the force."""
    measured = read_sheet(WHOLE, "hw.yaml").shared.measured

    assert measured["measured_force"].number("force").stated == (55.0, 60.0, 65.0)
    assert measured["measured_force"].text("outcome") == "slipped"
    assert measured["measured_flow"].nominal("flow") == pytest.approx(11e-9)
    assert measured["measured_flow"].text("material") == "pla"
    assert measured["measured_case"].nominal("current") == 0.5
    assert measured["measured_case"].at.line == 14


def test_allowed_rules_are_kept_with_their_place() -> None:
    """For the rulebook to use."""
    allow = read_sheet(WHOLE, "hw.yaml").allow

    assert [(one.rule, one.at.line) for one in allow] == [
        ("run-current-missing", 41), ("counted-twice", 41)]  # fmt: skip


def test_units_agree_with_pint() -> None:
    """Every unit a field is shown in converts as pint (an independent unit library) does."""
    registry = units()
    spelled = {"degC": "degC", "A rms": "A", "N m": "N*m", "mN m": "mN*m", "g cm2": "g*cm**2",
               "mm3/s": "mm**3/s", "g/cm3": "g/cm**3", "1": "", "-": ""}  # fmt: skip
    for field in load_fields().fields.values():
        if field.type != "number":
            continue
        quantity = registry.Quantity(3.0, spelled.get(field.unit, field.unit))
        assert parse_unit(field.unit).to_si(3.0) == pytest.approx(
            quantity.to_base_units().magnitude
        ), field.path


@pytest.mark.parametrize(
    ("text", "basis"),
    [
        ("1.0 A peak", "peak"),
        ("1.0 A rms", "rms"),
        ("700 mA rms", "rms"),
        ("0.9..1.1 A peak", "peak"),
    ],
)
def test_the_unit_of_a_rating_may_name_its_basis(text: str, basis: str) -> None:
    """'1.0 A peak' states the basis too."""
    facts = read_sheet(f"motor: {{rated_current: {text}}}", "hw.yaml").shared.facts

    assert held(facts["motor.rating_basis"]) == basis
    assert facts["motor.rated_current"].number.unit == "A"


def test_a_plain_ampere_states_no_basis() -> None:
    """The basis of '1.0 A' is for others to assume."""
    facts = read_sheet("motor: {rated_current: 1.0 A}", "hw.yaml").shared.facts

    assert "motor.rating_basis" not in facts


@pytest.mark.parametrize(
    "text",
    ["rated_current: 1 A rms, rating_basis: peak", "rating_basis: peak, rated_current: 1 A rms"],
)
def test_a_basis_may_not_contradict_the_unit(text: str) -> None:
    """Either order."""
    assert "disagree" in mistakes(f"motor: {{{text}}}")[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [("50:10", 5.0), ("44:10, 37:17", 4.4 * 37 / 17), ("9.5", 9.5)],
)
def test_a_gear_ratio_for_old_configs(text: str, value: float) -> None:
    """As teeth or as a number."""
    facts = read_sheet(f'drive: {{gear_ratio: "{text}"}}', "hw.yaml").shared.facts

    assert held(facts["drive.gear_ratio"]) == pytest.approx(value)


def test_percent_and_plain_numbers() -> None:
    """An efficiency is 0.9 or 90 %."""
    for text in ("0.9", "90 %"):
        facts = read_sheet(f"drive: {{efficiency: {text}}}", "hw.yaml").shared.facts
        assert held(facts["drive.gear_efficiency"]) == pytest.approx(0.9)


@pytest.mark.parametrize("text", ["", "\n# nothing yet\n", "motor:\n", "motor:\n  class:\n", "{}"])
def test_an_empty_sheet_states_nothing(text: str) -> None:
    """A starter sheet with blanks is a sheet."""
    sheet = read_sheet(text, "hw.yaml")

    assert sheet.shared.facts == {}
    assert sheet.files == ("hw.yaml",)


def test_extruders_over_shared() -> None:
    """What an extruder states of its own wins; the rest is shared."""
    sheet = read_sheet(
        "motor: {class: round-36, resistance: 2.4 ohm}\nambient: 20 degC\n"
        "extruders: {extruder1: {motor: {resistance: 2.6 ohm}, chamber: 50 degC}}\n",
        "hw.yaml",
    )

    assert held(sheet.part("extruder").facts["motor.resistance"]) == 2.4
    own = sheet.part("extruder1").facts
    assert held(own["motor.resistance"]) == 2.6
    assert own["motor.class"].text == "round-36"
    assert held(own["ambient.motor"]) == pytest.approx(323.15)
    assert held(own["ambient.room"]) == pytest.approx(293.15)


def opener(files: dict[str, str]) -> Callable[[str], str]:
    """Return a function that opens made-up files."""

    def open_text(path: str) -> str:
        if path not in files:
            raise FileNotFoundError(2, "No such file or directory", path)
        return files[path]

    return open_text


def with_base(upper: str, **files: str) -> Sheet:
    """Read a sheet in the folder `s` over files beside it."""
    texts = {f"s/{name}.yaml": text for name, text in files.items()}
    return read_sheet(upper, "s/hw.yaml", open_text=opener(texts))


def test_base_sheet_is_relative_and_overridden() -> None:
    """Field by field; places name the file they stand in."""
    sheet = with_base(
        "base: lab.yaml\nmotor: {resistance: 2.6 ohm}\nallow: [b]\n",
        lab="motor: {class: round-36, resistance: 2.4 ohm}\nsupply: {voltage: 24 V}\nallow: [a]\n",
    )

    facts = sheet.shared.facts
    assert held(facts["motor.resistance"]) == 2.6
    assert facts["motor.class"].origin.at.file == "s/lab.yaml"
    assert held(facts["supply.voltage"]) == 24.0
    assert sheet.files == ("s/hw.yaml", "s/lab.yaml")
    assert [one.rule for one in sheet.allow] == ["b", "a"]


def test_another_class_renews_what_described_the_old_one() -> None:
    """A longer motor does not keep the pancake's resistance; the mount stays where it is."""
    base = ("motor: {class: round-36, resistance: 2.4 ohm}\n"
            "drive: {class: twin-large, mount: pla, free_gap: 3 mm}\n"
            "filament: {material: pla, temperature: 215 degC, diameter: 1.75 mm}\n")  # fmt: skip
    facts = with_base(
        "base: lab.yaml\nmotor: {class: square-42-long, inductance: 3 mH}\n"
        "drive: {class: twin-small}\nfilament: {material: petg}\n",
        lab=base,
    ).shared.facts

    assert "motor.resistance" not in facts
    assert held(facts["motor.inductance"]) == pytest.approx(3e-3)
    assert "drive.free_gap" not in facts
    assert facts["drive.mount"].text == "pla"
    assert "hotend.temperature" not in facts
    assert held(facts["filament.diameter"]) == pytest.approx(1.75e-3)


def test_the_same_class_renews_nothing() -> None:
    """Naming the class again keeps the base's numbers."""
    facts = with_base(
        "base: lab.yaml\nmotor: {class: Round-36}\n",
        lab="motor: {class: round-36, resistance: 2 ohm}",
    ).shared.facts

    assert held(facts["motor.resistance"]) == 2.0


def test_a_measurement_is_replaced_as_a_whole() -> None:
    """A new flow without a nozzle does not take the base's nozzle."""
    measured = with_base(
        "base: lab.yaml\nhotend: {measured_flow: {flow: 14 mm3/s}}\n",
        lab="hotend: {measured_flow: {flow: 11 mm3/s, nozzle: 0.6 mm}}",
    ).shared.measured["measured_flow"]

    assert measured.nominal("flow") == pytest.approx(14e-9)
    assert measured.nominal("nozzle") is None


def test_bases_of_bases() -> None:
    """Three deep."""
    sheet = with_base("base: a.yaml", a="base: b.yaml\nambient: 20 degC", b="chamber: 45 degC")

    assert set(sheet.shared.facts) == {"ambient.room", "ambient.motor"}
    assert len(sheet.files) == 3


@pytest.mark.parametrize(
    ("upper", "files", "words"),
    [
        ("base: hw.yaml", {}, "s/hw.yaml:1:7: base: 'hw.yaml' leads back to this sheet"),
        ("base: a.yaml", {"a": "\nbase: ../s/hw.yaml"}, "s/a.yaml:2:7: base: '../s/hw.yaml' leads"),
        ("base: b.yaml", {}, "base: 'b.yaml' cannot be read: no such file or directory"),
        ("base: [a]", {}, "base: this is no file name"),
        ("base: a.yaml", {"a": "motor: {clas: x}"}, "s/a.yaml:1:9: unknown field 'clas' in motor"),
        ("base: a.yaml", {"a": "motor: ["}, "this is no YAML"),
    ],
)
def test_bases_that_cannot_be(upper: str, files: dict[str, str], words: str) -> None:
    """A circle, a missing file, no file name, a mistake in the base: each with its place."""
    with pytest.raises(SheetError) as caught:
        with_base(upper, **files)

    assert words in str(caught.value)


def test_without_an_opener_a_base_is_refused() -> None:
    """Nothing is opened behind the caller's back."""
    assert "no other sheet can be opened here" in mistakes("base: other.yaml")[0]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("moter: {class: round-36}", "hw.yaml:1:1: unknown field 'moter'; did you mean 'motor'?"),
        ("motor: {clas: round-36}", "unknown field 'clas' in motor; did you mean 'class'?"),
        ("rated_current: 1 A", "unknown field 'rated_current'; it belongs under 'motor:'"),
        ("motor: {colour: red}", "unknown field 'colour' in motor; known are class, rated_current"),
        ("motor: {class: round36}", "unknown motor class 'round36'; did you mean 'round-36'?"),
        ("drive: {mount: woood}", "unknown motor mount 'woood'; known are metal, pla"),
        ("filament: {material: plaa}", "unknown material 'plaa'; did you mean 'pla'?"),
        ("motor: {rating_basis: pek}", "'pek' is not known here; did you mean 'peak'?"),
        ("path: boden", "unknown filament path 'boden'; did you mean 'bowden'?"),
        ("motor: {holding_torque: 1.0}", "has no unit; a bare number needs a unit, e.g. '1.0 N m'"),
        ("motor: {inductance: 1.8}", "a bare number needs a unit, e.g. '1.8 mH'"),
        ("motor: {detent_torque: 5}", "a bare number needs a unit, e.g. '5 mN m'"),
        ("motor: {holding_torque: 10 A}", "'10 A' is in 'A'; write it in 'N m'"),
        ("filament: {temperature: 220 K}", "'220 K' is in 'K'; write it in 'degC'"),
        ("motor: {measured_case: {temperature: 50 degC, current: 0.5 A peak}}", "in 'A rms'"),
        ("motor: {resistance: 2.4 ohms per phase}", "is no unit we know"),
        ('filament: {diameter: "1,75 mm"}', "has a decimal comma; write '1.75 mm'"),
        ("motor: {resistance: 2.6..2.4 ohm}", "the band '2.6..2.4 ohm' falls"),
        ("motor: {resistance: -2 ohm}", "cannot be: it must be above 0 ohm"),
        ("motor: {inductance: 0 mH}", "cannot be: it must be above 0 mH"),
        ("motor: {holding_torque: 40 N m}", "cannot be: it must be at most 20 N m"),
        ("motor: {rated_current: 0..1 A}", "cannot be: it must be above 0 A"),
        ("motor: {rated_current: 500 A}", "cannot be: it must be at most 20 A"),
        ("drive: {efficiency: 1.2}", "cannot be: it must be at most 1"),
        ("drive: {efficiency: 0.9 mm}", "write a plain number or '%'"),
        ("drive: {driven_gears: two}", "'two' is no whole number; write a whole number such as 2"),
        ("drive: {driven_gears: 2.0}", "'2.0' is no whole number"),
        ("drive: {driven_gears: " + "9" * 400 + "}", "...' is no number of anything"),
        ("drive: {driven_gears: 0}", "cannot be: it must be at least 1"),
        ("motor: {phases_on: 3}", "cannot be: it must be at most 2"),
        ("supply: {voltage: true}", "'true' is no value; write a number such as '1 V'"),
        ("supply: {voltage: [24 V]}", "supply.voltage: this must be one value"),
        ("supply: 24 V", "supply: this must be a block of fields, not '24 V'"),
        ("supply: [24 V]", "supply: this must be a block of fields, not a list"),
        ("asked: fast", "asked: 'fast' is no value"),
        ("hotend: {measured_flow: {material: pla}}", "without its flow says nothing; add"),
        ("drive: {measured_force: {force: 9 N}}", "without its outcome says nothing; add"),
        ("hotend: {melt_length: 12 mm, split_length: 15 mm}",
         "hotend.split_length: '15 mm' is more than hotend.melt_length, '12 mm'; check the two"),
        ("hotend: {heater_power: 10 W, heat_loss: 12 W}", "more than hotend.heater_power, '10 W'"),
        ("extruders: {hotend1: {}}", "extruders: 'hotend1' names no extruder"),
        ("extruders: [extruder]", "extruders: this must be a mapping"),
        ("extruders: {extruder: 3}", "this must be a block of fields, not '3'"),
        ("extruders: {extruder: {supply: {voltage: 24 V}}}", "this holds for the whole machine"),
        ("extruders: {extruder: {base: a.yaml}}", "unknown field 'base'"),
        ("allow: run-current-missing", "allow: this must be a list"),
        ("allow: [Run Current]", "'Run Current' is no rule name"),
        ("- motor", "a sheet is a mapping"),
        ("motor: {class: a, class: b}", "'class' is given twice"),
        ("motor: {class: a", "this is no YAML"),
    ],
)  # fmt: skip
def test_one_mistake(text: str, sentence: str) -> None:
    """Each mistake is one sentence with place, problem and remedy."""
    found = mistakes(text)

    assert len(found) == 1, found
    assert found[0].startswith("hw.yaml:1:")
    assert sentence in found[0]


def test_a_tag_makes_nothing() -> None:
    """YAML that would make an object elsewhere is plain data here."""
    sheet = read_sheet("motor: !!python/object:os.system {class: round-36}", "hw.yaml")

    assert sheet.shared.facts["motor.class"].text == "round-36"


def test_all_mistakes_are_told_together() -> None:
    """In the order of their places, each with its own."""
    text = "motor:\n  clas: x\n  inductance: 2.4\nfilament: {material: plaa}\nallow: 3\n"
    with pytest.raises(SheetMistakes) as caught:
        read_sheet(text, "hw.yaml")

    assert [mistake.at.line for mistake in caught.value.mistakes] == [2, 3, 4, 5]
    assert len(str(caught.value).splitlines()) == 4
    assert isinstance(caught.value, InputError)
    assert caught.value.exit_code == 3
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_every_sheet_field_is_bounded() -> None:
    """No numeric field takes any number at all; every class field looks in the catalogue.

    But for what the owner calls a roll, which is no word of ours.
    """
    catalog = load_catalog()
    for field in load_fields().fields.values():
        if field.type == "number":
            assert field.above or field.at_least, field.path
            assert field.at_most, field.path
        else:
            assert field.choices or field.catalogue or field.path == "filament.roll", field.path
        assert field.fact in catalog.facts


def test_every_number_of_the_sheet_has_both_ends() -> None:
    """A field of a number is bounded below (above zero where it is a size) and above."""
    for field in load_fields().fields.values():
        if field.type == "number":
            assert field.at_most is not None, field.path
            assert field.at_least is not None, field.path
            if field.above is not None:
                assert field.at_least[0] > field.above[0], field.path


@pytest.mark.parametrize(
    "text", ["motor: {inductance: 1e-300 mH}", "drive: {bite_depth: 1e-300 mm}"]
)
def test_what_no_part_is_smaller_than_is_refused(text: str) -> None:
    """Above zero, and of no size that a part can have."""
    with pytest.raises(SheetError, match=r"must be at least 0\.001 m"):
        read_sheet(text, "s.yaml")
