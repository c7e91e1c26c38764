"""The catalogue: materials, hardware classes, driver chips and the constants of the model.

All of it is YAML under rules/catalogue/, every number with unit, spread, source and status.
Adding an entry is one edit there. It deliberately knows no formula.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from advisor.catalog.load import build, catalog_from, load_catalog
from advisor.catalog.records import CATEGORIES, Catalog, Entry, FactInfo, Number, Source

__all__ = [
    "ARTIFACTS",
    "CATEGORIES",
    "Catalog",
    "Entry",
    "FactInfo",
    "Number",
    "Source",
    "catalog_from",
    "load_catalog",
]

ARTIFACTS: Mapping[str, Callable[[], Any]] = {"catalog": build}
