"""On which machine a weighed test was done: the sheet for its table.

Where several drives are compared each table has its own: by its place on the command line, or by a
line '# sheet: FILE' in the table's head, beside the table.
"""

from __future__ import annotations

import os
from collections.abc import Sequence

from advisor.base import InputError, Span, UsageError, WeighError
from advisor.files import OUTSIDE, reach_of, real_path
from advisor.mend import Snapshot
from advisor.weigh import SkipTable, WeighedTable, read_weighed

__all__ = ["is_of_sheet", "tables_by_sheet"]


def tables_by_sheet(
    paths: Sequence[str], sheets: Sequence[str], allowed: Sequence[str]
) -> dict[str | None, list[str]]:
    """Return the tables of each sheet; None: the sheet beside the config.

    Parameters
    ----------
    paths : sequence of str
        The tables.
    sheets : sequence of str
        None, one for all tables that name no other, or one a table.
    allowed : sequence of str
        Folders a table may name a sheet in, beside its own.

    Raises
    ------
    UsageError
        If there are several sheets, but not one a table.
    WeighError
        If a table names a sheet that lies elsewhere.
    """
    if len(sheets) > 1 and len(sheets) != len(paths):
        problem = f"there are {len(sheets)} sheets for {len(paths)} tables"
        raise UsageError(problem, "name one sheet for all, or one a table in the same order")
    found: dict[str | None, list[str]] = {}
    for number, path in enumerate(paths):
        if len(sheets) > 1:
            sheet: str | None = sheets[number]
        else:
            sheet = _named_in(path, allowed) or (sheets[0] if sheets else None)
        found.setdefault(sheet, []).append(path)
    return found


def is_of_sheet(table: WeighedTable | SkipTable, sheet: str | None) -> bool:
    """Whether a table names no sheet, or the one that is used."""
    named = table.conditions.sheet
    if named is None:
        return True
    return sheet is not None and real_path(_beside(table.file, named)) == real_path(sheet)


def _named_in(path: str, allowed: Sequence[str]) -> str | None:
    try:
        named = read_weighed(Snapshot().read(path), path).conditions.sheet
    except (InputError, OSError):
        return None  # told where the tables are read
    if named is None:
        return None
    sheet = _beside(path, named)
    if not reach_of(path, allowed).holds(sheet):
        raise WeighError(f"sheet: {OUTSIDE}", "name it with --sheet", Span(path, 1))
    return sheet


def _beside(table: str, named: str) -> str:
    return os.path.join(os.path.dirname(table), named)
