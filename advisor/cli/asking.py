"""Makes one record of the options that say what is asked of a config; commands share it."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.asks import Asks
from advisor.budgets import CONFIG_BYTES
from advisor.cli.streams import read_input

__all__ = ["STDIN", "asks_of"]

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
    no_allow: bool = False,
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
        stdin=read_input(CONFIG_BYTES) if STDIN in configs else None,
        stdin_name=stdin_name,
        allow=not no_allow,
    )
