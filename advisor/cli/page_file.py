"""Where a page goes: an option's file, standard output, or the place of an earlier page."""

from __future__ import annotations

__all__ = ["STDOUT", "may_replace", "write_page"]

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
