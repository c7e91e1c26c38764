"""A smoke of each study, so that its code is run by the quick tests."""

from __future__ import annotations

import functools
from pathlib import Path

from every import every
from tiers import examples, only_wide, wide

from tests.studies.damaged_configs import try_machines
from tests.studies.hostile_cases import cases
from tests.studies.hostile_ground import ROOT, Case, try_case
from tests.studies.house import House
from tests.studies.range_edges import machines, try_edges

OVER_DRIVEN = (ROOT / "samples" / "over-driven" / "printer.cfg").read_text()
SURE = ("config value", "config path", "sheet value", "profile value", "option")  # all pass


@functools.cache
def table() -> list[Case]:
    return cases()


def few() -> list[Case]:
    sure = [case for case in table() if case.area in SURE]
    return sure[:: max(1, len(table()) // 30)]


def test_the_table_is_as_long_as_it_says() -> None:
    """At least 300 cases, each with a name of its own."""
    names = [(case.area, case.name) for case in table()]

    assert len(table()) >= 300
    assert len(set(names)) == len(names), {name for name in names if names.count(name) > 1}


@every("case", few, ids=lambda case: f"{case.area}-{case.name}"[:60])
def test_hostile_cases(case: Case) -> None:
    """A few of each area; all of them are run by the study itself."""
    assert try_case(case) == []


def test_a_case_that_does_harm_is_seen() -> None:
    """The judge is no yes-man: a leak, a changed file, a wrong exit code and missing words."""
    leak = Case("x", "leak", ("lint", "printer.cfg"), {"printer.cfg": "[extruder]\nnozzle_diameter: secret-x\n"},
                codes=(2,), says="no such words", never=("secret-x",))  # fmt: skip
    wrong = "\n".join(try_case(leak))

    for words in ("exit code", "does not say", "leaks 'secret-x'"):
        assert words in wrong
    changed = Case("x", "change", ("mend", "printer.cfg", "--write"), {"printer.cfg": OVER_DRIVEN})
    assert any("was changed" in one for one in try_case(changed))


@wide
def test_some_damaged_machines() -> None:
    """Lint, mend, flow and the page, without an internal error or a warning."""
    count = examples(2, 10, 10)
    tally = try_machines(0, count, seed=2)

    assert tally.faults == {}
    assert {name: codes.total() for name, codes in tally.codes.items()} == dict.fromkeys(
        ("lint", "mend", "flow", "page"), count
    )


@wide
def test_a_few_edges_of_ranges() -> None:
    """A setting, wide two, at both ends, one at a time: no formula overflows or divides by zero."""
    chosen = list(machines(0))

    assert len(chosen) > 50
    count = examples(1, 4, 4)
    assert try_edges(chosen[:count]) == {"": count}


@wide
@only_wide
def test_the_house_is_measured() -> None:
    """Its rooms and lines are found; no import goes in a circle or past a door."""
    house = House(ROOT)

    assert sum(house.lines.values()) > 50_000
    assert len({house.room(name) for name in house.faces}) > 15
    assert house.circles() == house.deep() == []


def test_what_the_house_should_not_have_is_found(tmp_path: Path) -> None:
    """A circle, an import past a door, a class name in two modules, a long function, an `Any`."""
    long = "".join(f"    a = {number}\n" for number in range(26))
    texts = {
        "__init__.py": "",
        "high/__init__.py": "",
        "high/one.py": "from advisor.high.two import Row\nfrom advisor.low.three import f\n",
        "high/two.py": "from advisor.high.one import f\n\n\nclass Row: ...\n",
        "low/__init__.py": "",
        "low/three.py": f"class Row: ...\n\n\ndef f(a: Any) -> None:\n{long}",
    }
    for name, text in texts.items():
        path = tmp_path / "advisor" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    house = House(tmp_path)

    assert house.circles() == ["advisor.high.one", "advisor.high.two"]
    assert house.deep() == ["advisor.high.one -> advisor.low.three"]
    assert house.twice() == ["Row: advisor.high.two, advisor.low.three"]
    assert house.long() == ["  26 advisor.low.three.f"]
    assert house.loose() == {"advisor.low": 1}
