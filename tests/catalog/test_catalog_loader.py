"""The loader: what it makes, and what it refuses, with file and line."""

from __future__ import annotations

import dataclasses
import importlib
import json
import sys

import pytest
from every import every
from fresh import imported_anew, wanted_by
from tiers import only_wide, spread, wide

from advisor.base import DataError, InputError
from advisor.base.units import parse_unit
from advisor.catalog import ARTIFACTS, CATEGORIES, CatalogNumber, catalog_from, load_catalog
from advisor.catalog.build import build_catalog, read_rules
from advisor.machine.driver import driver_model

NUMBER = "{low: 0.5, typical: 0.6, high: 0.7, unit: N m, source: motor-table, status: memory}"


TWICE = """a.b: {unit: mm, title: t, stage: gap, sheet: x}
a.c: {unit: mm, title: t, stage: gap, sheet: x}
"""


def with_motor(body: str) -> dict[str, str]:
    """Return small rules with one motor class, whose name stands in line 1."""
    others = {f"catalogue/{word}.yaml": "a: {title: one}\n" for word in CATEGORIES}
    return others | {
        "sources.yaml": "motor-table: {what: a table, status: found, used_for: motors}\n",
        "facts.yaml": "motor.holding_torque: {unit: N m, title: torque, stage: motor}\n"
        "motor.resistance: {unit: ohm, title: resistance, stage: motor}\n"
        "motor.run_current: {unit: A rms, title: current, stage: motor}\n"
        'motor.rating_basis: {unit: "", type: text, title: basis, stage: motor}\n',
        "catalogue/model.yaml": "chain: {title: model}\n",
        "catalogue/motors.yaml": f"giant:\n  title: a giant\n{body}",
    }


def test_artifact_is_json_and_gives_the_same_catalogue() -> None:
    """The compiled form survives a round trip through JSON."""
    data = ARTIFACTS["catalog"]()

    assert catalog_from(json.loads(json.dumps(data))) == load_catalog()


def test_records_are_frozen_and_in_si() -> None:
    """1.24 g/cm3 is 1240 kg/m3; 145 degC is 418.15 K; nothing can be changed."""
    numbers = load_catalog().materials["pla"].numbers

    assert numbers["material.density"].typical == pytest.approx(1240.0)
    assert numbers["material.core_temperature"].typical == pytest.approx(418.15)
    assert numbers["material.density"].unit == "g/cm3"
    with pytest.raises(dataclasses.FrozenInstanceError):
        numbers["material.density"].low = 1.0  # type: ignore[misc]


def test_every_number_has_a_known_source_and_rises() -> None:
    """low <= typical <= high, the source is listed, the unit suits the fact."""
    catalog = load_catalog()
    entries = [e for word in CATEGORIES for e in catalog.category(word).values()]
    count = 0
    for entry in (*entries, catalog.model):
        for fact, number in entry.numbers.items():
            count += 1
            assert number.low <= number.typical <= number.high
            assert number.source in catalog.sources
            unit, due = parse_unit(number.unit), parse_unit(catalog.facts[fact].unit)
            assert (unit.dimension, unit.kind) == (due.dimension, due.kind)
    assert count > 250


def test_adding_an_entry_is_one_edit() -> None:
    """A motor class written in YAML is there by name, with its place."""
    data = build_catalog(with_motor(f"  motor.holding_torque: {NUMBER}\n"))
    entry = catalog_from(data).lookup("motors", "Giant")

    assert entry.numbers["motor.holding_torque"] == CatalogNumber(
        0.5, 0.6, 0.7, "N m", "motor-table", "memory"
    )
    assert str(entry.at) == "rules/catalogue/motors.yaml:1:1"


@pytest.mark.parametrize(
    ("category", "name", "hint"),
    [
        ("materials", "pteg", "unknown material 'pteg'; did you mean 'petg'?"),
        ("motors", "round36", "unknown motor class 'round36'; did you mean 'round-36'?"),
        ("hotends", "zzz", "unknown hotend class 'zzz'; known are standard, long, extra-long"),
        ("drivers", "tmc2290", "unknown driver chip 'tmc2290'; did you mean 'tmc2"),
    ],
)
def test_unknown_name_gets_a_near_miss(category: str, name: str, hint: str) -> None:
    """A name that is not there names the closest one, or all there are."""
    with pytest.raises(InputError) as caught:
        load_catalog().lookup(category, name)

    assert str(caught.value).startswith(hint)


def test_unknown_fact_gets_a_near_miss() -> None:
    """The vocabulary is looked up the same way."""
    with pytest.raises(InputError, match=r"did you mean 'motor\.resistance'"):
        load_catalog().fact("motor.resistence")


MISTAKES = [
    ("  motor.resistence: 3\n", 3, "did you mean 'motor.resistance'?"),
    ("  motor.resistance: 3\n", 3, "must be a number with its source"),
    (f"  motor.holding_torque: {NUMBER.replace('unit: N m, ', '')}\n", 3, "has no unit"),
    (f"  motor.holding_torque: {NUMBER.replace('source: motor-table, ', '')}\n", 3,
     "has no source"),
    (f"  motor.holding_torque: {NUMBER.replace(', status: memory', '')}\n", 3, "has no status"),
    (f"  motor.holding_torque: {NUMBER.replace('memory', 'memorised')}\n", 3,
     "status' is 'memorised'"),
    (f"  motor.holding_torque: {NUMBER.replace('motor-table', 'motor-tabel')}\n", 3,
     "did you mean 'motor-table'?"),
    (f"  motor.holding_torque: {NUMBER.replace('low: 0.5', 'low: 0.65')}\n", 3, "do not rise"),
    (f"  motor.holding_torque: {NUMBER.replace('high: 0.7', 'high: 0.59')}\n", 3, "do not rise"),
    (f"  motor.holding_torque: {NUMBER.replace('low: 0.5, ', '')}\n", 3, "has no low"),
    (f"  motor.holding_torque: {NUMBER.replace('low: 0.5', 'low: a few')}\n", 3,
     "is 'a few', no number"),
    (f"  motor.holding_torque: {NUMBER.replace('low: 0.5', 'low: .nan')}\n", 3,
     "is '.nan', no number"),
    (f"  motor.holding_torque: {NUMBER.replace('high: 0.7', 'high: 1.0e+999')}\n", 3,
     "is 'inf', not finite"),
    (f"  motor.holding_torque: {NUMBER.replace('low:', 'value: 1, low:')}\n", 3,
     "has a value and a low"),
    (f"  motor.holding_torque: {NUMBER.replace('typical', 'tipical')}\n", 3,
     "unknown key 'tipical'; did you mean 'typical'?"),
    (f"  motor.holding_torque: {NUMBER.replace('N m', 'A')}\n", 3, "the fact in 'N m'"),
    (f"  motor.holding_torque: {NUMBER.replace('N m', 'N q')}\n", 3, "is no unit we know"),
    (f"  motor.run_current: {NUMBER.replace('N m', 'A peak')}\n", 3, "the fact in 'A rms'"),
    ("  motor.rating_basis: [rms]\n", 3, "must be a text"),
    ("  motor.rating_basis: rms\n  motor.rating_basis: peak\n", 4, "is given twice"),
]  # fmt: skip


@every(("body", "line", "words"), MISTAKES)
def test_mistakes_are_refused_with_their_place(body: str, line: int, words: str) -> None:
    """Each mistake names its file and line and what to do."""
    with pytest.raises(DataError) as caught:
        build_catalog(with_motor(body))

    assert words in str(caught.value)
    assert str(caught.value).startswith(f"rules/catalogue/motors.yaml:{line}:")


def test_an_entry_needs_a_title() -> None:
    """A class without a title cannot be shown."""
    texts = with_motor("") | {"catalogue/motors.yaml": "giant: {motor.rating_basis: rms}\n"}

    with pytest.raises(DataError, match="'giant' has no title; add 'title:'"):
        build_catalog(texts)


def test_an_unknown_catalogue_file_is_refused() -> None:
    """A misspelt file is not silently left out."""
    with pytest.raises(DataError, match=r"catalogue/motor\.yaml:1:1: .*did you mean 'cat"):
        build_catalog(with_motor("") | {"catalogue/motor.yaml": "a: {title: b}\n"})


@every(
    ("name", "text", "words"),
    [
        ("sources.yaml", "a: {what: b, status: found}\n", "sources.yaml:1:1: 'a' has no used_for"),
        ("sources.yaml", "a: {what: b, status: seen, used_for: c}\n", "status' is 'seen'"),
        ("facts.yaml", "a.b: {unit: mm, title: t, stage: gaps}\n", "did you mean 'gap'?"),
        ("facts.yaml", "a.b: {unit: mmm, title: t, stage: gap}\n", "'mmm' is no unit we know"),
        ("facts.yaml", "a.b: {unit: mm, title: t, stage: gap, sheets: c}\n",
         "did you mean 'sheet'?"),
        ("facts.yaml", TWICE, "facts.yaml:2:"),
        ("facts.yaml", "- a\n", "must be a mapping"),
        ("facts.yaml", "a: [\n", "this is no YAML"),
    ],
)  # fmt: skip
def test_sources_and_vocabulary_are_checked(name: str, text: str, words: str) -> None:
    """The other two files are held to the same standard."""
    with pytest.raises(DataError) as caught:
        build_catalog(with_motor("") | {name: text})

    assert words in str(caught.value)


@wide
@only_wide
def test_the_model_names_entries_that_are_there() -> None:
    """An assumed class must be in the catalogue."""
    text = "chain:\n  title: model\n  filament.material: plaa\n"

    with pytest.raises(DataError, match="is 'plaa', no material; did you mean 'pla'"):
        build_catalog(read_rules() | {"catalogue/model.yaml": text})


def test_no_yaml_reader_is_imported_for_compiled_data() -> None:
    """The catalogue package itself imports neither ruamel nor numpy nor lark."""
    with wanted_by("ruamel", "numpy", "lark") as wanted:
        importlib.import_module("advisor.catalog.load")

    assert wanted == set()


def test_no_schema_is_made_where_data_is_compiled() -> None:
    """What reads data files builds their schemas only where it builds the data, too."""
    with imported_anew():
        for module in (
            "catalog.load", "prints.dialect", "judge.load", "judge.levels", "machine.choices",
            "machine.levers", "machine.measures", "inputs.dialect", "inputs.macro_commands",
            "inputs.profile", "weigh.weigh_data",
        ):  # fmt: skip
            importlib.import_module(f"advisor.{module}")

        assert "advisor.data.schema" not in sys.modules


DRIVERS = {path: text for path, text in read_rules().items() if path == "catalogue/drivers.yaml"}[
    "catalogue/drivers.yaml"
]


@wide
@pytest.mark.parametrize(
    ("old", "new", "words"),
    spread(
        [
            ("driver.kind: two-range", "driver.kind: two-rnage", "did you mean 'two-range'?"),
            (
                "driver.kind: two-range",
                "driver.kind: by-hand",
                "write one of two-range, global-scaler",
            ),
            ("driver.kind: two-range", "driver.kind: global-scaler", "needs driver.scaler_levels"),
        ],
        1,
    ),
)
def test_a_wrong_kind_of_driver_is_refused(old: str, new: str, words: str) -> None:
    """The word is one of the vocabulary's, and the entry has the numbers that it needs."""
    texts = read_rules() | {"catalogue/drivers.yaml": DRIVERS.replace(old, new, 1)}
    with pytest.raises(DataError) as caught:
        build_catalog(texts)

    assert words in str(caught.value)
    assert caught.value.at is not None
    assert caught.value.at.file == "rules/catalogue/drivers.yaml"


def test_each_kind_of_driver_needs_what_its_formula_takes() -> None:
    """An entry with these numbers alone gives a current; without one of them it does not."""
    kinds = load_catalog().facts["driver.kind"].choices
    assert kinds is not None
    for kind, needed in kinds.items():
        entries = [e for e in load_catalog().drivers.values() if e.texts["driver.kind"] == kind]
        assert entries, kind
        for left_out in (None, *needed):
            numbers = {n: v for n, v in entries[0].numbers.items() if n in needed and n != left_out}
            entry = dataclasses.replace(entries[0], numbers=numbers)
            resistors = {"sense_resistor": 0.11, "reference_resistor": 12e3}
            if left_out is None:
                model = driver_model(entry, **resistors)
                assert model is not None
                assert 0.1 < float(model.apply(0.5)) < 1.0
            else:
                with pytest.raises(KeyError, match=left_out):
                    driver_model(entry, **resistors)
