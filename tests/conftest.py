"""For all tests: no search for garbage in what is loaded; made-up cases are the same each time."""

from __future__ import annotations

import gc

from hypothesis import settings
from tiers import LONG


def pytest_collection_finish() -> None:
    """Thousands of collected tests and all libraries stay to the end: no use to walk over them."""
    gc.collect()
    gc.freeze()


settings.register_profile("the same each time", derandomize=True)
if not LONG:  # a check of a change is no search: the long run makes up new machines and texts
    settings.load_profile("the same each time")
