"""Finds and reads the weighed tests that are kept with a machine.

They lie in `flow-tests/` beside the config, or in the folder that is named. A table that cannot be
read is left out with the reason; nothing about the others hangs on it. Whether a test fits the
machine is told by `matched_tests`.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from advisor.answers.asks import Asks
from advisor.answers.input_files import InputFiles, table_bytes
from advisor.base import (
    KEPT_NAMES,
    KEPT_TABLES,
    AdvisorError,
    FileStatus,
    LeftOutTest,
    UsageError,
)
from advisor.catalog import Catalog
from advisor.files import OUTSIDE, Listing, ListingFullError, reach_of, real_path
from advisor.mend import Snapshot

if TYPE_CHECKING:
    from advisor.weigh import WeighedTable

__all__ = ["TESTS_FOLDER", "broken_test", "read_kept"]

TESTS_FOLDER = "flow-tests"
_ENDINGS = (".csv", ".tsv")


def read_kept(root: str, asks: Asks, given: InputFiles, catalog: Catalog, files: Snapshot) -> None:
    """Read the tables that are kept with a config into what was given; those by hand are there.

    Parameters
    ----------
    root : str
        The config.
    asks : Asks
        Where they are kept, if that is not beside the config.
    given : InputFiles
        Where tables, files and what was left out are added.
    catalog : Catalog
        Where materials are looked up.
    files : Snapshot
        Where files are read from.

    Raises
    ------
    UsageError
        If the folder that was named is none.
    """
    folder = _folder(root, asks, given)
    if folder is None:
        return
    named = [table.file for table in given.weighed] + [table.file for table in given.skips]
    by_hand = {real_path(path) for path in named}
    reach = reach_of(os.path.join(folder, "_"), asks.outside)
    for path in _tables(folder, given):
        if real_path(path) in by_hand:
            continue
        try:
            if not reach.holds(path):
                raise UsageError(OUTSIDE, "copy it into the folder")
            table = _table(path, files, catalog)
        except AdvisorError as err:
            if (skip := _skip_test(path, files, catalog)) is not None:
                given.left_out.append(skip)
                continue
            given.left_out.append(broken_test(path, err))
            given.files.append(FileStatus(path, "unreadable", "weighed"))
            continue
        given.kept.append(table)
        given.files.append(FileStatus(path, "read", "weighed", called=table.conditions.name))


def _folder(root: str, asks: Asks, given: InputFiles) -> str | None:
    if not asks.use_tests:
        return None
    if asks.tests is not None:
        if not os.path.isdir(asks.tests):
            raise UsageError(f"--tests: '{asks.tests}' is no folder", "name one that is there")
        return asks.tests
    config = asks.stdin_name if root == "-" else root
    folder = os.path.join(os.path.dirname(config), TESTS_FOLDER)
    if not os.path.isdir(folder):
        return None
    if not reach_of(config, asks.outside).holds(folder):
        reason = f"{OUTSIDE}; name it with --tests, if it is yours"
        given.left_out.append(LeftOutTest(folder, folder, reason, broken=True))
        return None
    return folder


def _tables(folder: str, given: InputFiles) -> list[str]:
    """Return the tables of a folder by name: as many as are read, the last ones."""
    try:
        entries = Listing(KEPT_NAMES).entries(folder)
    except ListingFullError:
        reason = f"it holds more than {KEPT_NAMES} names; keep only the tables of one machine there"
        given.left_out.append(LeftOutTest(folder, folder, reason, broken=True))
        return []
    except (OSError, ValueError):
        reason = "the folder cannot be listed; check its permissions"
        given.left_out.append(LeftOutTest(folder, folder, reason, broken=True))
        return []
    names = [
        name
        for name, is_folder in entries
        if not is_folder and not name.startswith(".") and name.lower().endswith(_ENDINGS)
    ]
    for name in names[:-KEPT_TABLES]:
        reason = f"{KEPT_TABLES} tables are read at most, the last by name"
        given.left_out.append(LeftOutTest(os.path.join(folder, name), name, reason))
    return [os.path.join(folder, name) for name in names[-KEPT_TABLES:]]


def _table(path: str, files: Snapshot, catalog: Catalog) -> WeighedTable:
    from advisor.weigh import read_weighed

    return read_weighed(table_bytes(path, files), path, catalog=catalog)


def _skip_test(path: str, files: Snapshot, catalog: Catalog) -> LeftOutTest | None:
    """Return that a table is one of a skip test, which is used where it is named; None if not."""
    from advisor.weigh import read_skip_table

    try:
        table = read_skip_table(table_bytes(path, files), path, catalog=catalog)
    except AdvisorError:
        return None
    reason = "a skip test is used where it is named: --skip-test FILE"
    return LeftOutTest(path, table.conditions.name or path, reason, other_kind=True)


def broken_test(path: str, err: AdvisorError) -> LeftOutTest:
    """Return a table of the folder that is no test, with its first mistake."""
    first, *more = str(err).splitlines()
    place, _, words = first.removeprefix(path).lstrip(":").partition(": ")
    line = place.partition(":")[0]
    reason = f"line {line}: {words}" if words and line.isdigit() else first
    rest = f" (and {len(more)} more)" if more else ""
    return LeftOutTest(path, os.path.basename(path), f"{reason}{rest}", broken=True)
