"""The library's public names."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

import advisor
from advisor import Asks


def test_public_names_are_sorted_and_all_there() -> None:
    """What is exported exists, is documented and stands in order."""
    assert sorted(advisor.__all__) == advisor.__all__
    for name in advisor.__all__:
        assert getattr(advisor, name).__doc__


def test_an_unknown_name_is_an_attribute_error() -> None:
    """As of any module."""
    with pytest.raises(AttributeError, match="nonsense"):
        advisor.nonsense  # noqa: B018


SAMPLES = Path(__file__).resolve().parents[2] / "samples" / "healthy"


def test_one_path_alone_is_a_list_of_one() -> None:
    """A text is not walked letter by letter, and a `Path` will do wherever a path is due."""
    config, profile = SAMPLES / "printer.cfg", SAMPLES / "profile.ini"
    due = advisor.check([str(config)], Asks(profiles=(str(profile),)))

    assert len(due.files) > 1
    for paths in (str(config), config, [config]):
        for profiles in (str(profile), profile, [profile]):
            told = advisor.check(paths, Asks(profiles=profiles))
            assert told.files == due.files
            assert told.findings == due.findings


def test_what_is_asked_stays_a_record() -> None:
    """Lists become tuples, paths texts; what was given as it should be is not changed."""
    asks = Asks(sheet=Path("a.yaml"), presets="fine", parents=[Path("p")], weighed="w.csv")

    assert (asks.sheet, asks.presets, asks.parents, asks.weighed) == (
        "a.yaml", ("fine",), ("p",), ("w.csv",),
    )  # fmt: skip
    assert dataclasses.replace(asks, presets=("coarse",)).presets == ("coarse",)
