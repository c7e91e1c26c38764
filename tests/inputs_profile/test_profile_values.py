"""What one value means: number, share, no limit, automatic, switched off, expression, list."""

from __future__ import annotations

import pytest
from every import every
from held import held
from hypothesis import given, settings, strategies as st
from strategies import many
from tiers import examples

from advisor.base import State
from advisor.inputs.profile.texts import Shape, classify, is_on
from tests.inputs_profile.conftest import Ask

tries = settings(many, max_examples=examples(20, 120, 2000))
CAP = "demand.profile_flow"
BASE = "layer_height = 0.2\nfilament_type = PLA\nperimeter_speed = 60\n"


def test_a_stated_cap_and_none_and_an_open_one_differ(ask: Ask) -> None:
    """A cap that is stated is KNOWN, no cap is MISSING, one in a missing parent is UNKNOWN."""
    stated = ask({"x.ini": BASE + "filament_max_volumetric_speed = 12\n"}).facts[CAP]
    none = ask({"x.ini": BASE + "filament_max_volumetric_speed = 0\n"}).facts[CAP]
    nowhere = ask({"x.ini": BASE}).facts[CAP]
    still_open = ask({"x.ini": BASE + "inherits = My base\n"}).facts[CAP]

    assert (stated.state, held(stated)) == (State.KNOWN, pytest.approx(12e-9))
    assert (none.state, none.origin.setting) == (State.MISSING, "filament_max_volumetric_speed")
    assert none.origin.at is not None
    assert none.origin.at.line == 4
    assert (nowhere.state, nowhere.origin.at) == (State.MISSING, None)
    assert (still_open.state, still_open.origin.text) == (State.UNKNOWN, "My base")


@pytest.mark.parametrize(
    ("filament", "whole", "expected", "setting"),
    [
        ("12", "10", 10e-9, "max_volumetric_speed"),
        ("8", "10", 8e-9, "filament_max_volumetric_speed"),
        ("12", "0", 12e-9, "filament_max_volumetric_speed"),
        ("0", "10", 10e-9, "max_volumetric_speed"),
        ("0", "0", None, "filament_max_volumetric_speed"),
        ("", "", None, "filament_max_volumetric_speed"),
    ],
)
def test_the_smaller_positive_cap_counts(
    ask: Ask, filament: str, whole: str, expected: float | None, setting: str
) -> None:
    """Of the filament's and the print's cap the smaller one counts, and 0 is no cap."""
    caps = f"filament_max_volumetric_speed = {filament}\nmax_volumetric_speed = {whole}\n"
    fact = ask({"x.ini": BASE + caps}).facts[CAP]

    assert held(fact) == (None if expected is None else pytest.approx(expected))
    assert fact.origin.setting == setting


@pytest.mark.parametrize("text", ["0", "", "nil", "-1", "!140%", "None"])
def test_what_means_nothing_falls_through(ask: Ask, text: str) -> None:
    """0, -1, nil, an empty text and a value switched off leave it to the printer's setting."""
    lines = f"filament_retract_speed = {text}\nretract_speed = 35\n"
    fact = ask({"x.ini": BASE + lines}).facts["profile.retract_speed"]

    assert (held(fact), fact.origin.setting) == (pytest.approx(0.035), "retract_speed")


@every("text", ["={perimeter_speed * 2}", "{if x}10{endif}", "=a+1", "fast",
                                  "-5", "1e400", "nan", "12 mm/s", "1_000", "1e12"])  # fmt: skip
def test_what_is_no_value_is_told(ask: Ask, text: str) -> None:
    """An expression, words, a negative or endless number is UNREADABLE, with place and text."""
    found = ask({"x.ini": BASE + f"max_print_speed = 90\nfilament_max_volumetric_speed = {text}\n"})
    (event,) = [event for event in found.events if event.kind == "profile-value-unreadable"]

    assert found.facts[CAP].state is State.UNREADABLE
    assert event.fields["setting"] == "filament_max_volumetric_speed"
    assert event.fields["text"] == text
    assert (event.at.line, event.fact) == (5, CAP)


def test_an_unreadable_speed_does_not_fall_back(ask: Ask) -> None:
    """A speed that is stated but not readable is not replaced by a more general one."""
    found = ask({"x.ini": "layer_height = 0.2\ninfill_speed = {x}\nmax_print_speed = 90\n"})

    assert "sparse-infill" not in {feature.name for feature in found.features}
    assert "inner-wall" in {feature.name for feature in found.features}


@every("text", ["11,14", "11;14", '"11","14"', '["11", "14"]'])
@every(("tool", "expected"), [(0, 11e-9), (1, 14e-9)])
def test_the_element_of_the_extruder_counts(
    ask: Ask, text: str, tool: int, expected: float
) -> None:
    """Lists in both containers are read by extruder."""
    if text[0] == "[":
        file = {"x.json": f'{{"filament_max_volumetric_speed": {text}}}'}
    else:
        file = {
            "x.ini": BASE + f"filament_max_volumetric_speed = {text}\nnozzle_diameter = 0.4,0.6"
        }
    fact = ask(file, tool=tool).facts[CAP]

    assert held(fact) == pytest.approx(expected)


def test_a_list_that_is_too_short_is_told(ask: Ask) -> None:
    """For an extruder beyond the list the first element is taken, and that is told."""
    found = ask({"x.ini": BASE + "filament_max_volumetric_speed = 11,14\n"}, tool=2)
    (event,) = [
        event
        for event in found.events
        if event.fields.get("setting") == "filament_max_volumetric_speed"
    ]

    assert held(found.facts[CAP]) == pytest.approx(11e-9)
    assert event.kind == "profile-list-short"
    assert (event.fields["count"], event.fields["extruder"]) == ("2", "3")


def test_several_filaments_for_one_nozzle_are_told_once(ask: Ask) -> None:
    """Where a list holds more filaments than nozzles and they differ, the choice is told."""
    lines = "filament_max_volumetric_speed = 11,14\ntemperature = 210,250\nnozzle_diameter = 0.4\n"
    found = ask({"x.ini": BASE + lines})
    (event,) = [event for event in found.events if event.kind == "profile-list-choice"]

    assert (event.fields["taken"], event.fields["index"]) == ("11", "1")


def test_machine_modes_are_no_extruders(ask: Ask) -> None:
    """Of a machine limit's normal and silent value the normal one counts, for every extruder."""
    lines = "machine_max_speed_e = 80,40\n"
    fact = ask({"x.ini": BASE + lines}, tool=1).facts["profile.limit_extruder_speed"]

    assert held(fact) == pytest.approx(0.080)


def test_a_share_is_of_what_the_dialect_says(ask: Ask) -> None:
    """A width in '%' is of the layer height in one dialect, of the nozzle in the other."""
    flat = ask({"x.ini": BASE + "extrusion_width = 225%\n"})
    data = {"layer_height": "0.2", "line_width": "112.5%", "outer_wall_speed": "50"}
    by_nozzle = ask({"x.json": data}, nozzle_diameter=0.4e-3)
    stated = ask({"x.json": data | {"nozzle_diameter": ["0.6"]}}, nozzle_diameter=0.4e-3)

    assert held(flat.facts["profile.line_width"]) == pytest.approx(0.45e-3)
    assert held(by_nozzle.facts["profile.line_width"]) == pytest.approx(0.45e-3)
    assert held(stated.facts["profile.line_width"]) == pytest.approx(0.675e-3)


def test_a_share_of_nothing_is_automatic(ask: Ask) -> None:
    """A width of 0 % is as automatic as one of 0."""
    found = ask({"x.ini": BASE + "extrusion_width = 0%\n"})

    assert found.facts["profile.line_width"].state is State.MISSING


def test_a_share_of_what_is_not_known_is_told(ask: Ask) -> None:
    """A share of a nozzle that nobody states has no value, and that is told."""
    found = ask({"x.json": {"line_width": "105%", "outer_wall_speed": "50"}})
    (event,) = [event for event in found.events if event.kind == "profile-share-open"]

    assert found.features[0].width is None
    assert (event.fields["text"], event.fields["of"]) == ("105%", "nozzle_diameter")


def test_a_negative_thickness_is_a_share_of_the_nozzle(ask: Ask) -> None:
    """In the dialect with units in its keys -50 is half the nozzle."""
    found = ask({"x.ini": "layer_thickness_mm = -50\nnozzle_dia_1 = 0.4\ntemperature_C = 200\n"})

    assert held(found.facts["profile.layer_height"]) == pytest.approx(0.2e-3)


def test_automatic_width_and_acceleration_are_none(ask: Ask) -> None:
    """A width of 0 is automatic: the feature has no width, and it is not open."""
    lines = "extrusion_width = 0\ndefault_acceleration = 0\n"
    (feature,) = [f for f in ask({"x.ini": BASE + lines}).features if f.name == "inner-wall"]

    assert (feature.width, feature.acceleration) == (None, None)
    assert feature.unknown == frozenset()
    assert feature.flow_ratio == 1.0


@pytest.mark.parametrize(
    ("switch", "state"),
    [("1", State.KNOWN), ("true", State.KNOWN), ("0", State.MISSING), (None, State.MISSING),
     ("maybe", State.UNREADABLE)],
)  # fmt: skip
def test_pressure_advance_needs_its_switch(ask: Ask, switch: str | None, state: State) -> None:
    """A pressure advance that is not switched on is not in force."""
    data = {"type": "filament", "pressure_advance": ["0.04"]}
    data |= {"enable_pressure_advance": [switch]} if switch else {}
    fact = ask({"x.json": data}).facts["profile.pressure_advance"]

    assert fact.state is state
    assert held(fact) == (pytest.approx(0.04) if state is State.KNOWN else None)


def test_pressure_advance_in_a_gcode_field_is_told(ask: Ask) -> None:
    """A command in the start G-code is told with its name, also after a written line end."""
    line = 'start_filament_gcode = "; note\\n{if x}M900 K0.05{endif}"\n'
    found = ask({"x.ini": BASE + line})
    (event,) = [event for event in found.events if event.kind == "profile-advance-in-text"]

    assert (event.fields["command"], event.at.line) == ("M900", 4)
    assert found.facts["profile.pressure_advance"].state is State.MISSING


@pytest.mark.parametrize(
    ("text", "advance"),
    [
        ("; note\\nM900 K0.05", 0.05),
        ("M572 S.04 ; by hand\\nM572 S0.04", 0.04),
        ("SET_PRESSURE_ADVANCE ADVANCE=0.03 EXTRUDER=extruder", 0.03),
        ("M900 K0.05\\nM900 K0.07", None),  # which of them counts is not known
        ("M900 K[advance]", None),
        ("M900 K0.05\\n{if x}M900 K0.02{endif}", None),
        ("; M900 K0.05", None),
        ("M900 K0", None),
    ],
)
def test_a_literal_pressure_advance_of_a_gcode_field_is_read(
    ask: Ask, text: str, advance: float | None
) -> None:
    """What the commands mean is common practice, no source."""
    fact = ask({"x.ini": BASE + f'start_filament_gcode = "{text}"\n'}).facts[
        "profile.pressure_advance"
    ]

    assert fact.nominal == (None if advance is None else pytest.approx(advance))


@pytest.mark.parametrize(
    ("text", "expected", "kind"),
    [
        ("PLA", "pla", None),
        ("petg", "petg", None),
        ("TPU", "tpu-95a", "profile-material-assumed"),
        ("PA-CF", "pa6", "profile-material-assumed"),
        ("TPU 95A", "tpu-95a", None),
        ("MOONDUST", "MOONDUST", "profile-material-unknown"),
    ],
)
def test_materials(ask: Ask, text: str, expected: str, kind: str | None) -> None:
    """A material has our name; what the text leaves open is told, and an unknown text is kept."""
    found = ask({"x.ini": f"filament_type = {text};PLA\nnozzle_diameter = 0.4,0.4\n"})
    kinds = {event.kind for event in found.events if event.fact == "filament.material"}

    assert held(found.facts["filament.material"]) == expected
    assert kinds == ({kind} if kind else set())


def test_a_setting_stated_twice_is_told(ask: Ask) -> None:
    """The later of two values counts, and the first one's line is told."""
    found = ask({"x.ini": BASE + "infill_speed = 80\ninfill_speed = 120\n"})
    (event,) = [event for event in found.events if event.kind == "profile-value-twice"]

    assert (event.fields["first"], event.fields["second"], event.fields["line"]) == (
        "80",
        "120",
        "4",
    )
    assert {f.name: f.speed for f in found.features}["sparse-infill"] == pytest.approx(0.120)


@given(st.floats(-1e9, 1e9), st.booleans())
@tries
def test_every_plain_number_is_one(value: float, percent: bool) -> None:
    """A float as Python writes it is read back, with and without '%'."""
    shape, number = classify(f" {value!r}{'%' if percent else ''} ")

    assert number == value
    assert shape is (Shape.PERCENT if percent else Shape.NUMBER)


@given(st.text(max_size=12))
@tries
def test_any_text_has_a_shape(text: str) -> None:
    """No text makes the reader of values fail; a number is what float() takes for one."""
    shape, number = classify(text)

    assert is_on(text) in (True, False, None)
    if shape is Shape.NUMBER:
        assert number == float(text.strip())


@pytest.mark.parametrize("text", ["1e9", "5e-324", "1e-300"])
def test_what_no_machine_has_is_told_and_not_used(ask: Ask, text: str) -> None:
    """Finite, and no height of a layer: it is unreadable, with the range."""
    found = ask({"x.ini": f"infill_speed = 80\nextrusion_width = 0.45\nlayer_height = {text}\n"})
    (event,) = [event for event in found.events if event.kind == "profile-value-unreadable"]

    assert "it could be 0.0001 to 100000 mm" in event.fields["reason"]
    assert found.facts["profile.layer_height"].state is State.UNREADABLE
