"""Makes one record of the options that say what is asked of a config; commands share it."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from advisor.answers import Asks
from advisor.base import CONFIG_BYTES, UsageError
from advisor.cli.streams import read_input
from advisor.files import remember_stream

__all__ = ["STDIN", "asks_of", "folders", "stdin_bytes"]

STDIN = "-"


def asks_of(
    *configs: str,
    sheet: str | None = None,
    profile: Sequence[str] | None = None,
    preset: Sequence[str] | None = None,
    parents: Sequence[str] | None = None,
    print_: str | None = None,
    material: str | None = None,
    asked: str | None = None,
    weighed: Sequence[str] | None = None,
    draws: int | None = None,
    allow_outside: Sequence[str] | None = None,
    no_allow: bool = False,
    with_: Sequence[str] | None = None,
    stdin_name: str = STDIN,
) -> Asks:
    """Return what the command line adds to configs; one named ``-`` is read from stdin here."""
    return Asks(
        sheet=sheet,
        profiles=tuple(profile or ()),
        presets=tuple(preset or ()),
        parents=tuple(parents or ()),
        sliced=print_,
        material=material,
        asked=asked,
        weighed=tuple(weighed or ()),
        draws=draws,
        stdin=stdin_bytes() if STDIN in configs else None,
        stdin_name=stdin_name,
        outside=folders(allow_outside),
        fields=tuple(with_ or ()),
        allow=not no_allow,
    )


def folders(allowed: Sequence[str] | None) -> tuple[str, ...]:
    """Return the folders of --allow-outside.

    Raises
    ------
    UsageError
        If one is no folder.
    """
    for folder in allowed or ():
        if not os.path.isdir(folder):
            problem = f"--allow-outside: '{folder}' is no folder"
            raise UsageError(problem, "name one that is there")
    return tuple(allowed or ())


def stdin_bytes() -> bytes:
    """Return what comes on standard input; a file that it comes from counts as read."""
    remember_stream(sys.stdin)
    return read_input(CONFIG_BYTES)
