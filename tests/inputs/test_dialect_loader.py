"""The dialect files: what is refused, with file and line."""

from __future__ import annotations

import pytest
from every import every

from advisor.base import DataError
from advisor.data.resources import read_text
from advisor.inputs.dialect_build import build_dialects

FIRMWARE, SHEET = "dialects/ini_firmware.yaml", "dialects/sheet.yaml"
ROLES = (
    "title: t\nchip: 'tmc[0-9]+'\nroles:\n"
    "  extruder: {sections: [extruder], scope: extruder}\nkeys:\n  extruder:\n"
)
KEY = (
    "{fact: nozzle.diameter, unit: mm, range: [0.01, 20], missing: it, "
    "source: firmware-settings, status: found}"
)


def build(firmware: str | None = None, sheet: str | None = None) -> None:
    """Build from the given texts, the installed ones for the rest."""
    texts = {path: read_text("rules", path) for path in (FIRMWARE, SHEET)}
    given = {FIRMWARE: firmware, SHEET: sheet}
    build_dialects(texts | {path: text for path, text in given.items() if text is not None})


def test_a_new_key_is_one_line_of_yaml() -> None:
    """The smallest dialect there can be."""
    build(f"{ROLES}    bore: {KEY}\n")


@every(
    ("line", "words"),
    [
        (f"    bore: {KEY.replace('fact: nozzle.diameter, ', '')}", "has no fact"),
        (f"    bore: {KEY.replace('nozzle.diameter', 'nozzle.diametre')}",
         "did you mean 'nozzle.diameter'?"),
        (f"    bore: {KEY.replace('unit: mm', 'unit: s')}", "is in 's', nozzle.diameter in 'mm'"),
        (f"    bore: {KEY.replace('unit: mm', 'unit: mmm')}", "is no unit we know"),
        (f"    bore: {KEY.replace('missing: it, ', '')}", "say under 'missing:' what that means"),
        (f"    bore: {KEY.replace('source: firmware-settings, ', '')}", "has no source"),
        (f"    bore: {KEY.replace('firmware-settings', 'firmware-setings')}",
         "did you mean 'firmware-settings'?"),
        (f"    bore: {KEY.replace('found', 'sure')}", "is 'sure'"),
        (f"    bore: {KEY.replace('missing', 'mising')}", "did you mean 'missing'?"),
        (f"    bore: {KEY.replace('missing: it', 'above: zero, missing: it')}",
         "is 'zero', no number"),
        (f"    bore: {KEY.replace('range: [0.01, 20], ', '')}", "has no range"),
        (f"    bore: {KEY.replace('[0.01, 20]', '[20, 0.01]')}", "is no range"),
        (f"    bore: {KEY.replace('[0.01, 20]', '[true, 20]')}", "write '[lowest, highest]'"),
        (f"    bore: {KEY.replace('missing: it', 'type: integral')}", "did you mean 'integer'?"),
        (f"    bore: {KEY.replace('missing: it', 'default: {value: 1}')}", "has no source"),
        (f"    bore: {KEY.replace('missing: it', 'default: {}')}",
         "needs one of value, expression, catalogue"),
        (f"    bore: {KEY.replace('missing: it', 'default: 4')}", "must be a mapping"),
        ("    bore: 4", "must be a mapping"),
    ],
)  # fmt: skip
def test_keys_are_checked(line: str, words: str) -> None:
    """Each mistake names the line it stands in."""
    with pytest.raises(DataError) as caught:
        build(f"{ROLES}{line}\n")

    assert words in str(caught.value)
    assert str(caught.value).startswith("rules/dialects/ini_firmware.yaml:7:")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("title: t\n", "", "has no title"),
        ("tmc[0-9]+", "tmc[", "is no expression"),
        ("sections: [extruder]", "sections: extruder", "'roles extruder sections' must be a list"),
        ("sections: [extruder]", "sections: ['<nr>']", "has an unknown <nr>"),
        ("scope: extruder", "scope: extruders", "did you mean 'extruder'?"),
        ("roles:\n", "roles:\n  driver: {sections: [d], scope: extruder}\n", "has no keys"),
    ],
)
def test_roles_are_checked(old: str, new: str, words: str) -> None:
    """Section patterns, scopes and keys of a role."""
    with pytest.raises(DataError) as caught:
        build(f"{ROLES}    bore: {KEY}\n".replace(old, new, 1))

    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("  motor.resistance:", "  motor.resistence:", "did you mean 'motor.resistance'?"),
        ("above: 0 ohm", "above: 0 mm", "cannot be"),
        ("above: 0 ohm", "over: 0 ohm", "has an unknown key 'over'"),
        ("catalogue: motors", "catalogue: motor", "did you mean 'motors'?"),
        ("  motor.resistance: {above: 0 ohm, at_least: 0.001 ohm, at_most: 200 ohm}\n", "",
         "say no lower end for 'motor.resistance'"),
        ("[temperature, current]", "[temperature, amps]", "needs unknown 'amps'"),
        ("motor.class: [motor]", "motor.class: [moter]", "names what is no field"),
    ],
)  # fmt: skip
def test_sheet_fields_are_checked(old: str, new: str, words: str) -> None:
    """The fields of the sheet are held to the vocabulary."""
    text = read_text("rules", SHEET)
    assert old in text
    with pytest.raises(DataError) as caught:
        build(sheet=text.replace(old, new, 1))

    assert words in str(caught.value)
    assert str(caught.value).startswith("rules/dialects/sheet.yaml:")


def test_a_chip_of_the_catalogue_has_a_section_that_is_read() -> None:
    """Else its entry would be there in vain: the pattern of the sections must allow its name."""
    text = read_text("rules", FIRMWARE)
    with pytest.raises(DataError, match=r"does not match 'tmc2208'.*write '...\|tmc2208'"):
        build(text.replace('chip: "tmc[0-9]+"', 'chip: "tmc[13-9][0-9]+"'))
