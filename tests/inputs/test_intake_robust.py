"""Whatever is given, the intake answers with facts or with one of our errors; and fast."""

from __future__ import annotations

import importlib
import json
import math

import pytest
from fresh import wanted_by
from held import held
from hypothesis import given, settings, strategies as st
from tiers import examples

from advisor.base import SheetError, State
from advisor.base.units import parse_unit
from advisor.config import read_tree_from_bytes
from advisor.inputs.dialect import ARTIFACTS, dialect_from, load_dialect
from advisor.inputs.extruders import read_config
from advisor.inputs.sheet import read_sheet
from advisor.inputs.sheet_fields import load_fields

KEYS = sorted({key for role in load_dialect().roles.values() for key in role.keys})
SECTIONS = ["extruder", "extruder1", "extruder_stepper a", "tmc2209 extruder", "tmc5160 extruder1",
            "printer", "firmware_retraction", "fan", "Extruder", "tmc2209  extruder"]  # fmt: skip
VALUES = st.one_of(
    st.floats(allow_nan=True).map(str),
    st.integers().map(str),
    st.sampled_from(["50:10", "44:7, 37:17", "1:0", "True", "", "????", "{{ x }}", "0,4", "1e400"]),
    st.text(max_size=12),
)
LINES = st.one_of(
    st.sampled_from(SECTIONS).map(lambda name: f"[{name}]"),
    st.builds(lambda k, v: f"{k}: {v}", st.sampled_from(KEYS), VALUES),
    st.builds(lambda k, v: f"  {k}: {v}", st.sampled_from(KEYS), VALUES),
    st.text(max_size=20),
)


@settings(max_examples=examples(20, 150, 150), deadline=None)
@given(st.lists(LINES, max_size=25).map("\n".join))
def test_any_config_gives_facts_or_events(text: str) -> None:
    """Nothing raises; known numbers are finite; what is unreadable has its place."""
    tree = read_tree_from_bytes(text.encode("utf-8", "surrogatepass"), "made-up.cfg")
    config = read_config(tree, load_dialect())

    for part in (config.machine, *(extruder.facts for extruder in config.extruders)):
        for fact in part.values():
            assert (fact.value is not None) == (fact.state is State.KNOWN)
            if isinstance(held(fact), float):
                assert abs(held(fact)) < float("inf")
            if fact.state is State.UNREADABLE:
                assert fact.origin.at is not None
    for extruder in config.extruders:
        for name in extruder.defaults:
            assert extruder.facts[name].state is State.MISSING
    assert [event.at.line for event in config.events] == sorted(
        event.at.line for event in config.events
    )


NUMBERS = sorted(
    key for key, row in load_dialect().roles["extruder"].keys.items() if row.type == "number"
)
PLAIN = VALUES.filter(lambda text: text.isprintable() and not set("#;") & set(text))


@settings(max_examples=examples(20, 200, 200), deadline=None)
@given(st.sampled_from(NUMBERS), PLAIN)
def test_a_number_is_what_float_says(key: str, text: str) -> None:
    """Python's float() decides, as in the firmware; what it refuses is never known."""
    row = load_dialect().roles["extruder"].keys[key]
    tree = read_tree_from_bytes(f"[extruder]\n{key}: {text}\n".encode(), "made-up.cfg")
    config = read_config(tree, load_dialect())
    fact = config.extruders[0].facts[row.fact]
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not math.isfinite(number) or "_" in text:
        assert fact.state is State.UNREADABLE
        assert [event.kind for event in config.events] == ["value-no-number"]
    elif fact.state is State.KNOWN:
        assert held(fact) == pytest.approx(parse_unit(row.unit).to_si(number))
    else:
        assert [event.kind for event in config.events] in (
            ["value-out-of-range"],
            ["value-beyond-any-machine"],
        )


FIELDS = sorted(load_fields().fields)
SCALARS = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=15),
    st.sampled_from(["1 A", "24 V", "0.1 N m", "2 mm", "220 degC", "pla", "round-36", "1..2 mm"]),
)  # fmt: skip


def nested(path: str, value: object) -> object:
    """Return the mapping that a field's path stands for."""
    for name in reversed(path.split(".")):
        value = {name: value}
    return value


@settings(max_examples=examples(20, 150, 150), deadline=None)
@given(st.one_of(st.builds(nested, st.sampled_from(FIELDS), SCALARS).map(json.dumps),
                 st.text(max_size=60)))  # fmt: skip
def test_any_sheet_is_read_or_refused(text: str) -> None:
    """JSON is YAML: a field with anything in it, or any text, gives a sheet or a SheetError."""
    sheet, error = None, None
    try:
        sheet = read_sheet(text, "hw.yaml")
    except SheetError as err:
        error = err

    if sheet is not None:
        assert all(fact.state is State.KNOWN for fact in sheet.shared.facts.values())
    else:
        assert str(error).startswith("hw.yaml:")
        assert error is not None
        assert error.exit_code == 3


def test_compiled_dialects_are_json() -> None:
    """The compiled form survives a round trip and gives the same dialect."""
    data = ARTIFACTS["dialects"]()
    again = dialect_from("ini_firmware", json.loads(json.dumps(data))["ini_firmware"])

    assert again == load_dialect()


def test_reading_a_config_needs_neither_yaml_nor_arrays() -> None:
    """With compiled data neither ruamel nor numpy is imported for a config."""
    with wanted_by("ruamel", "numpy", "lark", "rich") as wanted:
        for module in ("extruders", "dialect", "sheet"):
            importlib.import_module(f"advisor.inputs.{module}")

    assert wanted == set()


@pytest.mark.parametrize("size", [1_000, 20_000])
def test_a_long_sheet_is_no_trap(size: int) -> None:
    """A huge value is refused in a short sentence."""
    with pytest.raises(SheetError) as caught:
        read_sheet(f"motor: {{resistance: {'9' * size}}}", "hw.yaml")

    assert len(str(caught.value)) < 300
