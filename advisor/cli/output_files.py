"""The files that a command writes: a page, a table or G-code, and what may be there already."""

from __future__ import annotations

import os
from collections.abc import Iterable

from advisor.base import UsageError

__all__ = ["STDOUT", "may_replace", "must_be_new", "write_new", "write_page"]

STDOUT = "-"
_OPTION = "--html"


def may_replace(html: str) -> bool:
    """Return whether there is an earlier page to be replaced.

    Raises
    ------
    UsageError
        If there is no such folder, or the file is anything else than a page of ours.
    """
    from advisor.files import earlier
    from advisor.report import MARK

    mark = MARK.encode()
    what = "page of feedwright"
    return html != STDOUT and earlier(
        html, option=_OPTION, ours=lambda head: mark in head, what=what
    )


def write_page(html: str, page: str, *, replace: bool) -> None:
    """Write a page to its file."""
    from advisor.files import write_out

    write_out(html, page, replace=replace, option=_OPTION)


def must_be_new(paths: Iterable[tuple[str, str | None]]) -> None:
    """Refuse a file that is there already; each path with the option that names it.

    Raises
    ------
    UsageError
        If there is such a file, or no such folder.
    """
    from advisor.files import exists

    for option, path in paths:
        if path is not None and (os.path.lexists(path) or exists(path, option=option)):
            remedy = "name a new file; a filled-in table is never overwritten"
            raise UsageError(f"'{path}' is there already", remedy)


def write_new(path: str | None, text: str) -> None:
    """Write a text to a new file, where one is named."""
    from advisor.files import write_out

    if path is not None:
        write_out(path, text, replace=False)
