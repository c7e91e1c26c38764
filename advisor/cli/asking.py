"""Makes one record of the options that say what is asked of a config; commands share it."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from advisor.answers import Asks
from advisor.base import CONFIG_BYTES, UsageError
from advisor.cli.options import Shared
from advisor.cli.streams import read_input
from advisor.files import remember_stream

__all__ = ["STDIN", "asks_of"]

STDIN = "-"


def asks_of(*configs: str, shared: Shared, stdin_name: str = STDIN) -> Asks:
    """Return what the command line adds to configs; one named ``-`` is read from stdin here."""
    return Asks(
        sheet=shared.sheet,
        profiles=tuple(shared.profile or ()),
        presets=tuple(shared.preset or ()),
        parents=tuple(shared.parents or ()),
        sliced=shared.print_,
        material=shared.material,
        asked=shared.asked,
        weighed=tuple(shared.weighed or ()),
        skip_tests=tuple(shared.skip_test or ()),
        tests=shared.tests,
        use_tests=not shared.no_tests,
        draws=shared.draws,
        temperature=shared.temperature,
        stdin=stdin_bytes() if STDIN in configs else None,
        stdin_name=stdin_name,
        outside=folders(shared.allow_outside),
        fields=tuple(shared.with_ or ()),
        allow=not shared.no_allow,
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
