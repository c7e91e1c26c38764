"""A frozen, slotted dataclass that is cheap to make.

A run imports about a hundred records; the standard library compiles eight methods for each,
which is a tenth of the whole start-up. Here only ``__init__`` is compiled, the others are shared.
``dataclasses.fields``, ``replace``, ``asdict``, ``astuple``, copies and pickles work as ever. It
offers no ordering.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from typing import Any, NoReturn, TypeVar, dataclass_transform, overload

__all__ = ["frozen"]

_T = TypeVar("_T")


@overload
def frozen(cls: type[_T], /) -> type[_T]: ...
@overload
def frozen(*, eq: bool = ..., kw_only: bool = ...) -> Callable[[type[_T]], type[_T]]: ...


@dataclass_transform(frozen_default=True, field_specifiers=(dataclasses.field,))
def frozen(cls: Any = None, /, *, eq: bool = True, kw_only: bool = False) -> Any:
    """Make a class a frozen, slotted dataclass.

    Parameters
    ----------
    cls : type, optional
        The class, where the decorator stands without arguments.
    eq : bool
        Compare and hash by the fields; else by identity.
    kw_only : bool
        Take the fields by name only.
    """

    def wrap(plain: type[Any]) -> Any:
        made: Any = dataclasses.dataclass(
            init=False, repr=False, eq=False, slots=True, kw_only=kw_only
        )(plain)
        made.__init__ = _initialiser(made, kw_only=kw_only)
        made.__setattr__, made.__delattr__ = _refuse_set, _refuse_delete
        made.__getstate__, made.__setstate__ = _state, _restore
        if "__repr__" not in plain.__dict__:
            made.__repr__ = _repr
        if eq:
            made.__eq__, made.__hash__ = _eq, _hash
        return made

    return wrap if cls is None else wrap(cls)


def _initialiser(made: Any, *, kw_only: bool) -> Callable[..., None]:
    """Return the ``__init__`` that writes each slot through its descriptor."""
    names: dict[str, Any] = {"_unset": dataclasses.MISSING}
    parameters, lines = ["self", "*"] if kw_only else ["self"], []
    for item in dataclasses.fields(made):
        name, value = item.name, item.name
        names[f"_set_{name}"] = getattr(made, name).__set__
        if item.default_factory is not dataclasses.MISSING:
            names[f"_make_{name}"] = item.default_factory
            parameters.append(f"{name}=_unset")
            value = f"_make_{name}() if {name} is _unset else {name}"
        elif item.default is not dataclasses.MISSING:
            names[f"_default_{name}"] = item.default
            parameters.append(f"{name}=_default_{name}")
        else:
            parameters.append(name)
        lines.append(f"    _set_{name}(self, {value})")
    if hasattr(made, "__post_init__"):
        lines.append("    self.__post_init__()")
    body = "\n".join(lines) or "    pass"
    exec(f"def __init__({', '.join(parameters)}):\n{body}", names)
    initialiser: Callable[..., None] = names["__init__"]
    initialiser.__qualname__ = f"{made.__qualname__}.__init__"
    return initialiser


def _refuse_set(self: Any, name: str, value: object) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_delete(self: Any, name: str) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, item.name) for item in dataclasses.fields(self)]


def _restore(self: Any, state: list[Any]) -> None:
    for item, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, item.name, value)


def _compared(record: Any) -> Iterator[Any]:
    return (getattr(record, x.name) for x in dataclasses.fields(record) if x.compare)


def _eq(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    return tuple(_compared(self)) == tuple(_compared(other))


def _hash(self: Any) -> int:
    return hash(tuple(_compared(self)))


def _repr(self: Any) -> str:
    shown = (f"{x.name}={getattr(self, x.name)!r}" for x in dataclasses.fields(self) if x.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"
