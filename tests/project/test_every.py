"""A table that is one test hides nothing: each failure is listed, and no case is left out."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from every import every


def run(table: Callable[..., None], **fixtures: object) -> str:
    """Return what a table says of its failures."""
    with pytest.raises(AssertionError) as failed:
        table(**fixtures)
    return str(failed.value)


def test_every_failure_is_listed_and_every_case_is_tried() -> None:
    """Wrong values, exceptions of any kind and a `raises` that saw none; later cases are run."""
    tried = []

    @every("case", ["good", "wrong", "crash", "calm", "last"])
    def table(case: str) -> None:
        tried.append(case)
        assert case != "wrong"
        if case == "crash":
            raise KeyError("broken")
        if case == "calm":
            with pytest.raises(ValueError, match="x"):
                pass

    told = run(table)

    assert tried == ["good", "wrong", "crash", "calm", "last"]
    assert told.startswith("3 of 5 cases fail\n'wrong': line ")
    assert "KeyError: 'broken'" in told
    assert "DID NOT RAISE" in told
    assert "good" not in told
    assert "last" not in told


def test_a_table_without_cases_and_a_skipped_case_fail() -> None:
    """Neither passes for nothing."""

    @every("case", [])
    def empty(case: int) -> None:
        """Never run."""

    @every("case", [1])
    def skipped(case: int) -> None:
        pytest.skip("no reason")

    assert "the table has no case" in run(empty)
    assert "a case may not be skipped (no reason)" in run(skipped)


def test_tables_cross_and_fixtures_are_handed_on() -> None:
    """One above the other is each with each; what is no name of a case is a fixture."""
    seen = []

    @every("a", [1, 2])
    @every(("b", "c"), lambda: [(3, 4), pytest.param(5, 6, id="named")], ids=["x", "y"])
    def table(a: int, b: int, c: int, fixture: str) -> None:
        seen.append((a, b, c, fixture))
        assert (a, b) != (2, 5)

    told = run(table, fixture="f")

    assert seen == [(1, 3, 4, "f"), (1, 5, 6, "f"), (2, 3, 4, "f"), (2, 5, 6, "f")]
    assert told.startswith("1 of 2 cases fail\n2: 1 of 2 cases fail")
    assert "named: line " in told


@every("case", [1, 2])
def test_a_table_is_collected_as_a_test(case: int, tmp_path: object) -> None:
    """With its fixtures."""
    assert case
    assert tmp_path
