"""What was given beside a config, read; and what of it could not be read."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from advisor.base import AdvisorError, FileStatus, InputError, LeftOutTest

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet, Sheet
    from advisor.mend import Snapshot
    from advisor.weigh import SkipTable, WeighedTable

__all__ = ["InputFiles", "table_bytes"]

_Table = TypeVar("_Table", "WeighedTable", "SkipTable")


@dataclass(slots=True)
class InputFiles:
    """What was given beside a config; `errors` are sentences on what could not be read.

    `weighed` and `skips` are the tests named by hand, `kept` those of the folder; what of the
    folder was not read is in `left_out`, and no error.
    """

    sheet: Sheet | None = None
    profiles: ProfileSet | None = None
    weighed: list[WeighedTable] = field(default_factory=list)
    skips: list[SkipTable] = field(default_factory=list)
    kept: list[WeighedTable] = field(default_factory=list)
    left_out: list[LeftOutTest] = field(default_factory=list)
    files: list[FileStatus] = field(default_factory=list)
    errors: list[AdvisorError] = field(default_factory=list)

    def read_tables(
        self,
        paths: Iterable[str],
        role: str,
        into: list[_Table],
        read: Callable[[str], _Table],
    ) -> None:
        """Read the tables of tests that are named by hand; each mistake is told in `errors`.

        Parameters
        ----------
        paths : iterable of str
            The tables.
        role : str
            What kind of file they are.
        into : list
            Where the tables are added.
        read : callable
            Reads one.
        """
        for path in paths:
            try:
                table = read(path)
            except InputError as err:
                self.errors.append(err)
                self.files.append(FileStatus(path, "unreadable", role))
            else:
                into.append(table)
                self.files.append(FileStatus(path, "read", role, called=table.conditions.name))


def table_bytes(path: str, files: Snapshot) -> bytes:
    """Return what a table of a test holds.

    Raises
    ------
    UnreadableError
        If it cannot be read.
    """
    from advisor.files import unreadable

    try:
        return files.read(path)
    except FileNotFoundError as err:
        raise unreadable(path, err) from None
