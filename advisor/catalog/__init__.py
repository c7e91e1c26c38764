"""The catalogue: materials, hardware classes, driver chips and the constants of the model.

All of it is YAML under rules/catalogue/, every number with unit, spread, source and status.
Adding an entry is one edit there. It deliberately knows no formula.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.catalog.load import (
        ARTIFACTS as ARTIFACTS,
        catalog_from as catalog_from,
        load_catalog as load_catalog,
    )
    from advisor.catalog.records import (
        CATEGORIES as CATEGORIES,
        Catalog as Catalog,
        CatalogNumber as CatalogNumber,
        Entry as Entry,
        FactInfo as FactInfo,
        Source as Source,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "load": "ARTIFACTS catalog_from load_catalog",
            "records": "CATEGORIES Catalog Entry FactInfo CatalogNumber Source",
        },
    )
