"""The table of a weighed test: every way it may be written, and every mistake with its place."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings, strategies as st
from tiers import examples

from advisor.base import AdvisorError, UnreadableError, WeighError
from advisor.weigh.reader import Skipped, WeighedTable, WeighMistakes, read_weighed

HEAD = "flow [mm3/s]; length [mm]; mass [g]; skipped; note\n"
ROWS = "3; 280; 0.83; no; slow\n10; 280; 0.82; no;\n15; 280; 0.71; yes; clicks\n"


def read(text: str, file: str = "t.csv") -> WeighedTable:
    return read_weighed(text.encode(), file)


def mistakes(text: str) -> list[str]:
    with pytest.raises(WeighError) as caught:
        read(text)
    return str(caught.value).split("\n")


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_comma_semicolon_and_tab(mark: str) -> None:
    """The separator is told from the header; the same runs come out."""
    table = read((HEAD + ROWS).replace("; ", mark).replace(";", mark))

    assert [run.flow for run in table.runs] == pytest.approx([3e-9, 10e-9, 15e-9])
    assert [run.mass for run in table.runs] == pytest.approx([0.83e-3, 0.82e-3, 0.71e-3])
    assert [run.skipped for run in table.runs] == [Skipped.NO, Skipped.NO, Skipped.YES]
    assert [run.note for run in table.runs] == ["slow", "", "clicks"]
    assert [run.at.line for run in table.runs] == [2, 3, 4]


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_decimal_comma(mark: str) -> None:
    """0,83 g is 0.83 g; also in quotes between commas."""
    dotted = read(HEAD + ROWS)
    comma = read((HEAD + ROWS).replace(".", ",").replace("; ", mark).replace(";", mark))
    quoted = read('flow,length,mass\n3,280,"0,83"\n10,280,"0,82"\n15,280,"0,71"\n')

    assert [run.mass for run in comma.runs] == [run.mass for run in dotted.runs]
    assert [run.mass for run in quoted.runs] == [run.mass for run in dotted.runs]


def test_what_a_spreadsheet_writes_is_read() -> None:
    """The standard library's csv writer, quotes and all, in UTF-16 and in an 8-bit code page."""
    rows = [["Flow [mm3/s]", "Length [mm]", "Mass [g]", "Skipped", "Note"],
            ["3", "280", "0.83", "no", "a; b, \u00e9"], ["10", "280", "0.82", "NO", 'say "x"'],
            ["15", "280", "0.7", "Yes", ""]]  # fmt: skip
    stream = io.StringIO()
    csv.writer(stream, delimiter=",").writerows(rows)

    for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
        table = read_weighed(stream.getvalue().encode(encoding), "t.csv")
        assert [run.note for run in table.runs] == ["a; b, \u00e9", 'say "x"', ""]
        assert [run.skipped.value for run in table.runs] == ["no", "no", "yes"]


def test_pieces_tare_and_units() -> None:
    """Several pieces are shared out, the container is taken off, units are those of the header."""
    table = read(
        "# tare: 12.5 g\n"
        "speed [mm/min]\tlength [cm]\tpieces\tmass [mg]\ttare [g]\n"
        "60\t28\t2\t14160\t\n"
        "300\t28\t1\t830\t0\n"
        "400\t28\t1\t820\t0\n"
    )

    assert table.runs[0].speed == pytest.approx(1e-3)
    assert table.runs[0].length == pytest.approx(0.28)
    assert table.runs[0].mass == pytest.approx(0.83e-3)
    assert table.runs[0].pieces == 2
    assert table.runs[1].mass == pytest.approx(0.83e-3)


@pytest.mark.parametrize(
    ("header", "unit"), [("mass_g", 1e-3), ("Mass (mg)", 1e-6), ("WEIGHT [kg]", 1.0)]
)
def test_the_header_may_say_its_unit_in_several_ways(header: str, unit: float) -> None:
    """Brackets, round or square, or behind an underscore; in any case."""
    table = read(f"flow mm3/s;length_mm;{header}\n3;280;0.5\n4;280;0.5\n5;280;0.5\n")

    assert table.runs[0].mass == pytest.approx(0.5 * unit)


@pytest.mark.parametrize(
    ("word", "said"),
    [("y", "yes"), ("X", "yes"), ("1", "yes"), ("n", "no"), ("0", "no"), ("-", "no"),
     ("?", "unsure"), ("", "unsure"), ("maybe", "unsure")],
)  # fmt: skip
def test_skipped_yes_no_unsure(word: str, said: str) -> None:
    """The words people use."""
    table = read(f"flow;length;mass;skipped\n3;280;0.8;no\n4;280;0.8;no\n5;280;0.8;{word}\n")

    assert table.runs[2].skipped.value == said


def test_notes_say_how_it_was_done() -> None:
    """Material, temperature, nozzle, scale, name; free comments are passed over."""
    table = read(
        "# Notes of a rainy day: nothing special\n# name: second roll\n# material: PETG\n"
        "# temperature: 240 degC\n# nozzle: 0.6 mm\n# density: 1.25..1.29 g/cm3\n"
        "# diameter: 1.73 mm\n# scale: 0,001 g\n" + HEAD + ROWS
    )
    found = table.conditions

    assert (found.name, found.material) == ("second roll", "petg")
    assert found.temperature == pytest.approx(513.15)
    assert found.nozzle == pytest.approx(0.6e-3)
    assert found.density == pytest.approx((1250.0, 1270.0, 1290.0))
    assert found.diameter == pytest.approx((1.73e-3,) * 3)
    assert found.scale == pytest.approx(1e-6)


def test_runs_that_were_not_made_are_left_out() -> None:
    """A line without a mass counts as not run."""
    table = read(HEAD + ROWS + "20; 280; ; ; stopped, motor hot\n")

    assert len(table.runs) == 3
    assert table.left_out == 1


@pytest.mark.parametrize(
    ("text", "where", "what", "remedy"),
    [
        ("", "1:1", "there is no table", "weigh plan"),
        ("3;280;0.8\n4;280;0.8\n", "1:1", "no header", "flow [mm3/s]; length [mm]"),
        ("flow;mass\n3;0.8\n", "1:1", "'length' is missing", "add a column 'length [mm]'"),
        ("length;mass\n280;0.8\n", "1:1", "'flow' is missing", "speed"),
        ("flow;length\n3;280\n", "1:1", "'mass' is missing", "add a column 'mass [g]'"),
        ("flow;lenght;mass\n", "1:6", "unknown column 'lenght'", "did you mean 'length'?"),
        ("flow;length;mass;mass\n", "1:1", "'mass' is there twice", "take one out"),
        ("flow;length;mass [mm]\n", "1:13", "mass cannot be in 'mm'", "give it in g"),
        (HEAD + "3; 280; half; no;\n", "2:9", "mass: 'half' is no number", "the number alone"),
        (HEAD + "3; 280; 0.8 g; no;\n", "2:9", "mass: '0.8 g' is no number", "in the header"),
        (HEAD + "3; 280; 1.280,5; no;\n", "2:9", "'1.280,5' is no number", "between thousands"),
        (HEAD + "3; 280; -0.8; no;\n", "2:9", "the mass is negative (-0.8)", "zero the scale"),
        (HEAD + "-3; 280; 0.8; no;\n", "2:1", "flow cannot be -3", "0.001 to 400 mm3/s"),
        (HEAD + "3; 0; 0.8; no;\n", "2:4", "length cannot be 0", "1 mm to 100 m"),
        (HEAD + "3; ; 0.8; no;\n", "2:1", "the length is empty", "give the length"),
        (HEAD + "; 280; 0.8; no;\n", "2:1", "the flow is empty", "give the flow"),
        (HEAD + "3; 280; 0.8; perhapps;\n", "2:14", "'perhapps' is not known", "yes, no or unsure"),
        ("flow,length,mass\n3,280,0,83\n", "2:1", "has 4 cells, the header 3", "by semicolons"),
        ("flow;length;mass;pieces\n3;280;0.8;1.5\n", "2:11", "pieces cannot be 1.5", "whole"),
        ("# tare: 5 g\nflow;length;mass\n3;280;0.8\n", "3:7", "less than the container", "tare"),
        ("# temprature: 215 degC\n" + HEAD, "1:15", "'temprature' is no note", "'temperature'?"),
        ("# temperature: 215\n" + HEAD + ROWS, "1:16", "temperature", "degC"),
        ("# material: plaa\n" + HEAD + ROWS, "1:13", "material", "did you mean 'pla'?"),
        ("# temperature: 1e308 degC\n" + HEAD + ROWS, "1:16", "'1e308 degC'", "100 to 600 degC"),
        ("# nozzle: 1e155 mm\n" + HEAD + ROWS, "1:11", "'1e155 mm'", "0.01 to 20 mm"),
        ("# density: 1..90 g/cm3\n" + HEAD + ROWS, "1:12", "density", "0.2 to 12 g/cm3"),
        ("# nozzle: 0 mm\n" + HEAD + ROWS, "1:11", "nozzle cannot be '0 mm'", "give what was used"),
        (HEAD, "1:1", "no mass is filled in", "weigh the pieces"),
        (HEAD + "3; 280; ; ;\n4; 280; ; ;\n", "1:1", "no mass is filled in", "weigh the pieces"),
        (HEAD + "3; 280; 0.8; no;\n", "1:1", "only one flow was weighed", "at least two faster"),
        (HEAD + "3; 280; 0.8; no;\n4; 280; 0.8; no;\n", "1:1", "only 2 flows", "slow reference"),
        (HEAD + ROWS.replace("no", "yes"), "1:1", "skipped in every run", "slower reference"),
    ],
)  # fmt: skip
def test_each_mistake_has_place_and_remedy(text: str, where: str, what: str, remedy: str) -> None:
    """One clear sentence: file, line, column, what is wrong, what to do."""
    sentences = mistakes(text)
    told = next((s for s in sentences if what in s), sentences[0])

    assert told.startswith(f"t.csv:{where}: ")
    assert what in told
    assert remedy in told.split("; ", 1)[1]


def test_all_mistakes_are_told_together_in_the_order_of_the_lines() -> None:
    """Six mistakes in four lines: one error that holds all."""
    text = HEAD + "3; 280; x; no;\n4; -1; -2; ja;\n5; 280; 0.8; no; more; and more\n"
    with pytest.raises(WeighMistakes) as caught:
        read(text)
    told = caught.value.mistakes

    assert [(m.at.line, m.at.column) for m in told if m.at] == [
        (2, 9),
        (3, 4),
        (3, 8),
        (3, 12),
        (4, 1),
    ]
    assert str(caught.value).count("\n") == 4


def test_what_is_no_text_is_refused() -> None:
    """A spreadsheet file, and one too large."""
    with pytest.raises(UnreadableError, match="is no text; save the table as CSV"):
        read_weighed(b"PK\x03\x04\x00\x00\x9d\x81", "t.xlsx")
    with pytest.raises(WeighError, match="this line is no line of a table"):
        read_weighed(HEAD.encode() + b"9" * 200000, "t.csv")
    with pytest.raises(UnreadableError, match="larger than 256 kB"):
        read_weighed(b"a" * 1100000, "t.csv")


@settings(max_examples=examples(20, 150, 150), deadline=None)
@given(
    st.one_of(
        st.text(max_size=200), st.text("flowmasstengh[]()mm3/s;,.\t\n0123456789-# :", max_size=200)
    )
)
def test_any_text_is_read_or_refused_in_a_sentence(text: str) -> None:
    """Nothing but our own errors comes out."""
    try:
        table = read(text)
    except AdvisorError as err:
        told = str(err)
    else:
        told = table.file
    assert told


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + "8; 100; 0.29; no;\n" * 2001, "more than 2000 lines"),
        (HEAD.rstrip() + ";c" * 200 + "\n8; 1\n", "more than 100 columns"),
    ],
)
def test_a_table_beyond_its_budget_is_one_sentence(text: str, words: str) -> None:
    """A log of another program is no weighed test."""
    with pytest.raises(WeighError, match=words) as caught:
        read_weighed(text.encode(), "t.csv")

    assert caught.value.remedy
