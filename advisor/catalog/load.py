"""Makes the frozen records of the catalogue from its compiled JSON; checks nothing again."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping

from advisor.base import Span
from advisor.catalog.records import CATEGORIES, Catalog, CatalogNumber, Entry, FactInfo, Source
from advisor.data import Row, artifact

__all__ = ["ARTIFACTS", "build", "catalog_from", "load_catalog"]


def build() -> Row:
    """Return the compiled catalogue: the artifact ``catalog``."""
    from advisor.catalog.build import build_catalog

    return build_catalog()


@functools.cache
def load_catalog() -> Catalog:
    """Return the catalogue; it is read once.

    Raises
    ------
    DataError
        If a file under rules/ has a mistake in it.
    """
    return catalog_from(artifact("catalog", build))


def catalog_from(data: Row) -> Catalog:
    """Return the records of the JSON that `build` makes."""
    groups = {
        word: {name: _entry(name, row) for name, row in data[word].items()} for word in CATEGORIES
    }
    return Catalog(
        **groups,
        model=_entry("chain", data["model"]),
        sources={name: Source(name, **row) for name, row in data["sources"].items()},
        facts={name: FactInfo(name, **row) for name, row in data["facts"].items()},
    )


def _entry(name: str, row: Row) -> Entry:
    return Entry(
        name=name,
        title=row["title"],
        numbers={fact: CatalogNumber(*parts) for fact, parts in row["numbers"].items()},
        texts=row["texts"],
        at=Span(row["file"], row["line"]),
        about=row.get("about", ""),
        suggest=row.get("suggest"),
        shares_with=row.get("shares_with"),
        shares_when=row.get("shares_when"),
    )


ARTIFACTS: Mapping[str, Callable[[], object]] = {"catalog": build}
