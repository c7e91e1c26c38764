"""For all tests: little search for garbage; made-up cases are the same each time."""

from __future__ import annotations

import gc

import pytest
from hypothesis import HealthCheck, is_hypothesis_test, settings
from tiers import LONG, examples, wide

gc.disable()  # while tests are collected all that is made stays


def pytest_itemcollected(item: pytest.Item) -> None:
    """Of what is made up quick tries some, and the wide run more: see tiers.examples."""
    if is_hypothesis_test(getattr(item, "obj", None)):
        item.add_marker(wide)


def pytest_collection_finish() -> None:
    """Thousands of collected tests and all libraries stay to the end: no use to walk over them."""
    gc.freeze()
    gc.set_threshold(10_000, 10, 10)
    gc.enable()


settings.register_profile(
    "the same each time",
    derandomize=True,
    max_examples=examples(20, 100, 100),
    deadline=None,  # a busy machine is no fault of the code
    suppress_health_check=[HealthCheck.too_slow],
)
if not LONG:  # a check of a change is no search: the long run makes up new machines and texts
    settings.load_profile("the same each time")
