"""Values of slicer profiles are edited in place and in the file's own style, or told."""

from __future__ import annotations

import json
import zipfile

import pytest
from mend_helpers import PROFILE, Machine, fixes
from tiers import spread, wide

CAP = "filament_max_volumetric_speed"


def mended(machine: Machine, data: str | bytes, name: str) -> bytes:
    machine.profile(data, name)
    report = machine.mend(name, write_profile=True)
    assert [edit.setting for edit in report.edits if edit.role == "profile"] == [CAP]
    assert report.written == (name,)
    return machine.bytes(name)


_CAPS: list[str] = []  # the machine is the same in every test that asks


def new_cap(machine: Machine) -> str:
    if not _CAPS:
        machine.profile()
        edits = machine.mend("fast.ini").edits
        _CAPS.append(next(edit.new for edit in edits if edit.setting == CAP))
    return _CAPS[0]


@wide
@pytest.mark.parametrize(
    ("before", "after"),
    [
        (f"{CAP} = 24", f"{CAP} = {{}}"),
        (f"{CAP}=24", f"{CAP}={{}}"),
        (f"{CAP} =   24.50  ", f"{CAP} =   {{}}  "),
        (f"{CAP} = 24,30", f"{CAP} = {{}},30"),
        (f'{CAP} = "24";30', f'{CAP} = "{{}}";30'),
        (f"  {CAP} = 24", f"  {CAP} = {{}}"),
    ],
)
@pytest.mark.parametrize(
    ("end", "mark"), spread([("\r\n", "\ufeff"), ("\n", ""), ("\n", "\ufeff"), ("\r\n", "")], 1)
)
def test_an_ini_value_is_replaced_alone(
    machine: Machine, before: str, after: str, end: str, mark: str
) -> None:
    """Blanks, quotes, other elements, line ends and the mark in front stay."""
    rest = PROFILE.replace("\n", end).replace(f"{CAP} = 24", "{}")
    new = new_cap(machine)

    got = mended(machine, mark + "# \u00e9" + end + rest.format(before), "p.ini")
    assert got.decode() == mark + "# \u00e9" + end + rest.format(after.format(new))


def test_an_ini_profile_of_an_old_code_page_keeps_its_bytes(machine: Machine) -> None:
    """A degree sign of one byte stays one byte."""
    new = new_cap(machine).encode()
    got = mended(machine, b"# 20 \xb0C\n" + PROFILE.encode(), "p.ini")

    assert got == b"# 20 \xb0C\n" + PROFILE.encode().replace(b"= 24\n", b"= " + new + b"\n")


JSON = """\
{{
    "type": "filament", "name": "invented",
    "filament_type": ["ABS"],{tab}"filament_flow_ratio" : [ "0.98" ],
    "{cap}"{value},
    "note": "a {{ brace\\u007d, a \\"quote\\" and {cap}: 24"
}}"""


@wide
@pytest.mark.parametrize(
    ("before", "after"),
    spread(
        [
            (': ["24"]', ': ["{}"]'),
            (': [ "24", "30" ]', ': [ "{}", "30" ]'),
            (':["24"]', ':["{}"]'),
            (': "24"', ': "{}"'),
            (": 24.0", ": {}"),
            (' :\n        [\n  "24"\n]', ' :\n        [\n  "{}"\n]'),
        ],
        1,
    ),
)
def test_a_json_value_is_replaced_alone(machine: Machine, before: str, after: str) -> None:
    """The element in use, within its quotes or without; all else byte for byte."""
    new = new_cap(machine)
    text = JSON.format(tab="\t", cap=CAP, value=before)
    got = mended(machine, text, "p.json").decode()

    assert got == JSON.format(tab="\t", cap=CAP, value=after.format(new))
    json.loads(got)


def test_an_archive_is_never_written(machine: Machine) -> None:
    """The value to enter is told, and the archive stays as it is."""
    with zipfile.ZipFile(machine.folder / "p.zip", "w") as archive:
        archive.writestr("config.ini", PROFILE)
    before = machine.bytes("p.zip")
    report = machine.mend("p.zip", write=True, write_profile=True)
    (entry,) = report.by_hand

    assert machine.bytes("p.zip") == before
    assert entry.finding.fix is not None
    assert entry.finding.fix.setting == CAP
    assert "archives are not written (p.zip); enter it in the slicer" in entry.reason


def test_utf_16_is_never_written(machine: Machine) -> None:
    """The value to enter is told."""
    machine.profile(PROFILE.encode("utf-16"), "p.ini")
    report = machine.mend("p.ini", write_profile=True)

    assert report.written == ()
    assert "UTF-16" in report.by_hand[0].reason


def test_a_parent_that_others_share_is_not_edited(machine: Machine) -> None:
    """The cap stands in a parent found beside: it is to be entered in the own profile."""
    machine.profile('{"type": "filament", "name": "base", "filament_type": ["ABS"],\n'
                    f' "{CAP}": ["24"]}}', "base.json")  # fmt: skip
    machine.profile('{"type": "filament", "name": "mine", "inherits": "base"}', "mine.json")
    before = machine.bytes("base.json")
    report = machine.mend("mine.json", write_profile=True)

    assert machine.bytes("base.json") == before
    assert [one.reason for one in report.by_hand] == [
        "it stands in a parent (base.json), which others share; enter it in your own profile"
    ]


def test_the_profile_is_written_only_when_asked(machine: Machine) -> None:
    """--write alone writes the config; what is to be set in the slicer is still an edit."""
    name = machine.profile()
    report = machine.mend(name, write=True)

    assert machine.bytes(name) == PROFILE.encode()
    assert report.written == ("printer.cfg",)
    assert [edit.written for edit in report.edits if edit.role == "profile"] == [False]
    assert b"fast.ini" not in report.patch
    assert fixes(machine.mend(name, write_profile=True))[-1][0] == CAP
    assert machine.mend(name).edits == ()
