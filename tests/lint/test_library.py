"""The library's public names."""

from __future__ import annotations

import pytest

import advisor


def test_public_names_are_sorted_and_all_there() -> None:
    """What is exported exists, is documented and stands in order."""
    assert sorted(advisor.__all__) == advisor.__all__
    for name in advisor.__all__:
        assert getattr(advisor, name).__doc__


def test_an_unknown_name_is_an_attribute_error() -> None:
    """As of any module."""
    with pytest.raises(AttributeError, match="nonsense"):
        advisor.nonsense  # noqa: B018
