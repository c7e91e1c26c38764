"""For all tests: what is loaded before the first of them is not searched for garbage again."""

from __future__ import annotations

import gc


def pytest_collection_finish() -> None:
    """Thousands of collected tests and all libraries stay to the end: no use to walk over them."""
    gc.collect()
    gc.freeze()
