"""Takes what a caller of the library gives, as people write it, and hands on what is asked."""

from __future__ import annotations

import dataclasses
import functools
import inspect
import os
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any, ParamSpec, TypedDict, TypeVar

from advisor.answers import Asks, OneOrMore, texts_of
from advisor.base import AdvisorError, Mistakes, near_miss

__all__ = [
    "Keywords", "Number", "PathLike", "Sizes", "Values", "door", "in_unit", "listed_in", "taken",
    "values_of",
]  # fmt: skip

PathLike = str | os.PathLike[str]
Number = str | float
"""A quantity with its unit as text, such as ``"24 mm3/s"``, or a number in the unit said."""
Values = Mapping[str, Number | Iterable[Number]] | str | Iterable[str]
"""Names and the values they take: a mapping, or texts such as ``"hotend.class=long"``."""

Sizes = str | float | Iterable[float] | None
"""Numbers in the unit said, one or several, or the text of a list such as ``"0.1..0.3:3"``."""

_Parameters = ParamSpec("_Parameters")
_Answer = TypeVar("_Answer")


class Keywords(TypedDict, total=False):
    """What may be given beside a config, by keyword; each has the meaning it has in `Asks`."""

    sheet: PathLike | None
    fields: Values  # of the sheet: {"hotend.class": "long"}
    profiles: OneOrMore
    presets: OneOrMore
    parents: OneOrMore
    sliced: PathLike | None
    material: str | None
    asked: Number | None  # mm3/s
    weighed: OneOrMore
    skip_tests: OneOrMore  # tables of skip tests
    tests: PathLike | None
    use_tests: bool
    temperature: Number | None  # degC, of the nozzle
    outside: OneOrMore
    draws: int | None
    allow: bool
    strict: bool  # raise what cannot be read; False: tell it in the answer's `errors`


_UNITS = {"asked": "mm3/s", "temperature": "degC"}


def taken(
    config: PathLike, asks: Asks | None, given: Mapping[str, object], names: Iterable[str] = ()
) -> tuple[str, Asks]:
    """Return the config's path and what is asked of it.

    Parameters
    ----------
    config : str or path
        A path; a text with a line break is the config itself, named `-`.
    asks : Asks or None
        What `given` is laid over.
    given : mapping
        Keywords of `Keywords`.
    names : iterable of str
        Further keywords of the question, for the hint.

    Raises
    ------
    TypeError
        For a keyword that there is not; names the closest one.
    """
    known = Keywords.__annotations__
    for name in given.keys() - known.keys():
        hint = near_miss(name, (*known, *names))
        raise TypeError(f"there is no keyword '{name}'" + (f"; {hint}" if hint else ""))
    made: dict[str, Any] = {"strict": True, **given}
    for name, unit in _UNITS.items():
        if name in made:
            made[name] = in_unit(made[name], unit)
    if "fields" in made:
        made["fields"] = values_of(made["fields"])
    path = os.fspath(config)
    if "\n" in path:
        path, made["stdin"] = "-", path.encode()
    return path, dataclasses.replace(asks or Asks(), **made)


def in_unit(value: Number | None, unit: str) -> str | None:
    """Return a quantity as text: a number is taken in `unit`."""
    return value if value is None or isinstance(value, str) else f"{value:.12g} {unit}".strip()


def values_of(given: Values) -> tuple[str, ...]:
    """Return ``name=values`` texts; numbers of a mapping are in the unit of their field."""
    if not isinstance(given, Mapping):
        return texts_of(given)
    return tuple(f"{name}={_joined(name, values)}" for name, values in given.items())


def _joined(name: str, values: Number | Iterable[Number]) -> str:
    if isinstance(values, str):
        return values
    listed = values if isinstance(values, Iterable) else (values,)
    texts = [in_unit(value, _unit_of(name)) or "" for value in listed]
    return (";" if any("," in text for text in texts) else ",").join(texts)


def _unit_of(name: str) -> str:
    from advisor.answers import known_names

    field = known_names().get(name)
    unit = field.unit if field is not None else ""
    return {"-": "", "A rms": "A"}.get(unit, unit)


def listed_in(given: Sizes) -> str | None:
    """Return numbers as the text of a list; a text as it is."""
    if given is None or isinstance(given, str):
        return given
    several = (given,) if isinstance(given, int | float) else given
    return ",".join(f"{value:.9g}" for value in several)


def door(question: Callable[_Parameters, _Answer]) -> Callable[_Parameters, _Answer]:
    """Make a question of the library: errors name keywords, and its signature lists them all."""
    own = inspect.signature(question).parameters.keys()

    @functools.wraps(question)
    def asked(*args: _Parameters.args, **kwargs: _Parameters.kwargs) -> _Answer:
        try:
            return question(*args, **kwargs)
        except AdvisorError as error:
            _in_keywords(error, own)
            raise

    asked.__signature__ = _spelt_out(inspect.signature(question))  # type: ignore[attr-defined]
    return asked


def _spelt_out(signature: inspect.Signature) -> inspect.Signature:
    """Return the signature with each keyword of `Keywords` in the place of ``**given``."""
    parameters = list(signature.parameters.values())
    if parameters[-1].kind is not inspect.Parameter.VAR_KEYWORD:
        return signature
    own, word = {one.name for one in parameters}, inspect.Parameter.KEYWORD_ONLY
    plain = {x.name: x.default for x in dataclasses.fields(Asks)} | {"strict": True}
    more = [
        inspect.Parameter(name, word, default=plain[name], annotation=kind.__forward_arg__)
        for name, kind in Keywords.__annotations__.items()
        if name not in own
    ]
    return signature.replace(parameters=[*parameters[:-1], *more])


_OPTION = re.compile(r"--([a-z][a-z-]*)(?: (?=[A-Z]{2,}|\d))?")
_KEYWORDS = {
    "profile": "profiles", "preset": "presets", "print": "sliced", "with": "fields",
    "allow-outside": "outside", "skip-test": "skip_tests",
    "no-tests": "use_tests", "from": "lowest", "to": "highest",
}  # fmt: skip


def _in_keywords(error: AdvisorError, own: Collection[str]) -> None:
    """Name keywords in an error's sentences where they name options of the command line."""

    def keyword(found: re.Match[str]) -> str:
        name = _KEYWORDS.get(found[1], found[1].replace("-", "_"))
        name = f"{name}s" if f"{name}s" in own else name
        return f"{name}=" if found[0].endswith(" ") else name

    for one in (error, *(error.mistakes if isinstance(error, Mistakes) else ())):
        one.problem = _OPTION.sub(keyword, one.problem)
        one.remedy = one.remedy and _OPTION.sub(keyword, one.remedy)
