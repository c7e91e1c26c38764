"""What the command line adds to a config, as one frozen record; it reads nothing."""

from __future__ import annotations

import os
from collections.abc import Iterable

from advisor.frozen import frozen

__all__ = ["Asks", "OneOrMore", "texts_of"]

OneOrMore = str | os.PathLike[str] | Iterable[str | os.PathLike[str]]
_LISTS = ("profiles", "presets", "parents", "weighed", "outside", "fields")
_PATHS = ("sheet", "sliced")


def texts_of(given: OneOrMore) -> tuple[str, ...]:
    """Return names or paths as texts; one alone stands for a list of one, not for its letters."""
    if isinstance(given, str | os.PathLike):
        return (os.fspath(given),)
    return tuple(os.fspath(one) for one in given)


@frozen
class Asks:
    """What the command line adds to the config; texts as typed, None where not given.

    Where several may be given, one text or path alone will do; paths may be `pathlib` paths.
    """

    sheet: str | None = None  # path; None: hardware.yaml beside the config, if there
    profiles: tuple[str, ...] = ()
    presets: tuple[str, ...] = ()  # which of a bundle's presets count
    parents: tuple[str, ...] = ()  # folders in which parents of a profile are looked for too
    sliced: str | None = None  # path of a sliced print
    material: str | None = None
    asked: str | None = None  # "24mm3/s"
    weighed: tuple[str, ...] = ()  # paths of the tables of weighed tests
    temperature: str | None = None  # of the nozzle, "220 degC"
    stdin: bytes | None = None  # the config when its path is "-"
    stdin_name: str = "-"
    outside: tuple[str, ...] = ()  # folders that count as inside of the config's
    draws: int | None = None  # likely machines to work out; None: as many as usual
    fields: tuple[str, ...] = ()  # of the sheet: "hotend.class=long"
    allow: bool = True  # hold back what the owner allows in comments and in the sheet
    strict: bool = False  # raise what cannot be read, instead of telling it in the answer

    def __post_init__(self) -> None:
        """Make lists of what was given alone, and texts of paths."""
        for name in _LISTS:
            object.__setattr__(self, name, texts_of(getattr(self, name)))
        for name in _PATHS:
            if getattr(self, name) is not None:
                object.__setattr__(self, name, os.fspath(getattr(self, name)))
