"""What the command line adds to a config, as one frozen record; it reads nothing."""

from __future__ import annotations

import os
from collections.abc import Iterable

from advisor.base import frozen

__all__ = ["Asks", "OneOrMore", "stated_options", "texts_of", "typed"]

OneOrMore = str | os.PathLike[str] | Iterable[str | os.PathLike[str]]
_LISTS = ("profiles", "presets", "parents", "weighed", "skip_tests", "outside", "fields")
_PATHS = ("sheet", "sliced", "tests")


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
    skip_tests: tuple[str, ...] = ()  # paths of the tables of skip tests
    tests: str | None = None  # folder of tests that are kept; None: flow-tests beside the config
    use_tests: bool = True  # use tests that are kept, where they fit the machine
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


def stated_options(asks: Asks) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return each option of the command line with its values."""
    one = {
        "--sheet": asks.sheet,
        "--print": asks.sliced,
        "--material": asks.material,
        "--asked": asks.asked,
        "--tests": asks.tests,
        "--draws": None if asks.draws is None else str(asks.draws),
    }
    many = {
        "--with": asks.fields,
        "--profile": asks.profiles,
        "--preset": asks.presets,
        "--parents": asks.parents,
        "--weighed": asks.weighed,
        "--skip-test": asks.skip_tests,
        "--allow-outside": asks.outside,
    }
    single = tuple((name, (value,)) for name, value in one.items() if value is not None)
    return (*single, *((name, values) for name, values in many.items() if values))


def typed(asks: Asks, only: Iterable[str] | None = None) -> tuple[str, ...]:
    """Return the options that were given, or those of `only`, as they are typed."""
    named = None if only is None else frozenset(only)
    words = [
        word
        for option, values in stated_options(asks)
        if named is None or option in named
        for value in values
        for word in (option, value)
    ]
    if named is not None:
        return tuple(words)
    flags = {"--no-tests": not asks.use_tests, "--no-allow": not asks.allow}
    return (*words, *(flag for flag, given in flags.items() if given))
