"""The reader of our own data files: what each kind takes, and how it says what is wrong where."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from every import every

from advisor.base import DataError
from advisor.data import schema as s

PACKAGE = Path(__file__).resolve().parents[2] / "advisor"
# these call the reader of YAML: the schema, and the user's sheet, which tells several mistakes
OWN_WAYS = {
    "data/schema.py", "inputs/sheet_reader.py",
}  # fmt: skip

PART = s.row(
    {"size": s.quantity("mm"), **s.sourced(["a-table"])},
    {"level": s.word(["low", "high"]), "share": s.number(above=0.0, at_most=1.0), "on": s.flag,
     "count": s.whole, "unit": s.unit("N m", "the torque"), "range": s.ends(above=0.0),
     "name": s.text, "tags": s.listed(s.string, least=1), "form": s.pattern(1),
     "mixed": s.either((str, s.text), (object, s.number()))},
)  # fmt: skip
GIVEN = "{size: 2 mm, source: a-table, status: found"


def read(text: str, kind: s.Kind) -> object:
    return kind(s.read_node(text, "rules/x.yaml"))


def test_a_whole_part_is_read() -> None:
    """Every kind at once: numbers as floats, quantities in SI, the keys in the file's order."""
    text = (
        f"{GIVEN}, level: high, share: 1, on: true, count: 3, unit: mN m, range: [1, 2], name: n, "
        "tags: ['', b], form: 'a(b)', mixed: 7}"
    )

    assert read(text, PART) == {
        "size": pytest.approx(0.002), "source": "a-table", "status": "found", "level": "high",
        "share": 1.0, "on": True, "count": 3, "unit": "mN m", "range": [1.0, 2.0], "name": "n",
        "tags": ["", "b"], "form": "a(b)", "mixed": 7.0,
    }  # fmt: skip
    assert read("{a: 1, b: 2}", s.names(s.number())) == {"a": 1.0, "b": 2.0}
    assert read("5 degC", s.quantity("degC", si=False)) == 5.0


@every(
    ("more", "words"),
    [
        (", leval: low", "rules/x.yaml:2:48: 'part' has an unknown key 'leval'; did you mean"),
        (", zzz: low", "has an unknown key 'zzz'; known are size, source, status, level"),
        (", level: hihg", "rules/x.yaml:2:55: 'part level' is 'hihg'; did you mean 'high'?"),
        (", level: 3", "'part level' is '3'; write one of low, high"),
        (", share: 0", "'part share' is 0; write a number above 0 to 1"),
        (", share: 2", "'part share' is 2; write a number above 0 to 1"),
        (", share: true", "'part share' is 'True', no number"),
        (", share: .inf", "'part share' is '.inf', no number"),
        (", share: 1.0e+999", "'part share' is 'inf', not finite"),
        (", on: 1", "'part on' is '1', no flag; write true or false"),
        (", count: 1.5", "'part count' is '1.5', no whole number"),
        (", count: true", "'part count' is 'True', no whole number"),
        (", unit: A", "'part unit' is in 'A', the torque in 'N m'; change the unit"),
        (", unit: N q", "'part unit' cannot be: 'N q' is no unit we know"),
        (", range: [2, 1]", "'part range' is no range; write '[lowest, highest]', above 0"),
        (", range: [0, 1]", "'part range' is no range"),
        (", range: [1, 2, x]", "'part range' is no range"),
        (", range: 3", "'part range' is no range"),
        (", name: ' '", "'part name' must be a text; write one"),
        (", name: [a]", "'part name' must be a text"),
        (", tags: []", "'part tags' has no entry; add one"),
        (", tags: a", "'part tags' must be a list; write '[one, two]'"),
        (", tags: [a, 2]", "'part tags 2' must be a text"),
        (", form: 'a('", "'part form' is no expression"),
        (", form: ab", "'part form' has 0 groups; write exactly 1"),
        (", mixed: [1]", "'part mixed' is '[1]', no number"),
    ],
)  # fmt: skip
def test_a_mistake_has_place_thing_problem_remedy(more: str, words: str) -> None:
    """The sentence begins with file, line and column, and a near miss is named."""
    with pytest.raises(DataError) as caught:
        read(f"part:\n  {GIVEN}{more}}}\n", s.row({"part": PART}))

    assert words in str(caught.value)
    assert re.match(r"rules/x\.yaml:2:\d+: ", str(caught.value))


@every(
    ("text", "words"),
    [
        (
            "{source: a-table, status: found}",
            "rules/x.yaml:1:1: this file has no size; add 'size:'",
        ),
        ("{size: , source: a-table, status: found}", "has no size"),
        ("{size: 2 s, source: a-table, status: found}", "'size' cannot be: "),
        ("{size: 2 mm, source: a-tabel, status: found}", "is 'a-tabel', no source; did you mean"),
        ("{size: 2 mm, source: zzzz, status: found}", "add it to rules/sources.yaml"),
        ("{size: 2 mm, source: a-table, status: sure}", "'status' is 'sure'; write one of found"),
        ("- a", "this file must be a mapping"),
        ("{", "this is no YAML"),
    ],
)
def test_a_whole_file_is_checked(text: str, words: str) -> None:
    """What is missing is told at the mapping that lacks it."""
    with pytest.raises(DataError) as caught:
        read(text, PART)

    assert words in str(caught.value)


@every(
    ("text", "kind", "words"),
    [
        ("- {a: x}", s.listed(s.row({"a": s.number()})), "x.yaml:1:7: 'x a' is 'x', no number"),
        ("- x", s.listed(s.row({"a": s.number()})), "the entry must be a mapping"),
        ("a: 1", s.listed(s.raw, first="name", what="rules"),
         "this file must be a list of rules; write '- name: ...'"),
        ("{oen: 1}", s.names(s.raw, ["one"], "number"), "'oen' is no number; did you mean 'one'?"),
        ("{a: 1, b: 2}", s.row({}, {"a": s.raw, "b": s.raw}, one=["a", "b"]), "needs one of a, b"),
        ("{}", s.row({}, {"a": s.raw, "b": s.raw}, one=["a", "b"]), "give just one of them"),
    ],
)  # fmt: skip
def test_lists_and_names(text: str, kind: s.Kind, words: str) -> None:
    """An entry of a list is told by the text it begins with, a name by its key."""
    with pytest.raises(DataError) as caught:
        read(text, kind)

    assert words in str(caught.value)


def test_a_check_of_ones_own_may_change_the_value_or_refuse() -> None:
    """It is handed the place and what was read."""

    def even(node: s.Node, value: float) -> float:
        if value % 2:
            raise node.wrong("is odd", "double it")
        return value / 2

    assert read("4", s.checked(s.number(), even)) == 2.0
    with pytest.raises(DataError, match="this file is odd; double it"):
        read("3", s.checked(s.number(), even))


def test_nobody_else_reads_our_files_in_a_way_of_their_own() -> None:
    """Two modules call the reader of YAML."""
    found = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if re.search(r"\bread_yaml\(", path.read_text(encoding="utf-8"))
    }

    assert found - {"data/yamlread.py"} == OWN_WAYS
