"""A frozen, slotted dataclass that is cheap to make.

A run imports about a hundred records; the standard library compiles eight methods for each,
which is a tenth of the whole start-up. Here only ``__init__`` is compiled, the others are shared.
``dataclasses.fields``, ``replace``, ``asdict``, ``astuple``, copies and pickles work as ever. It
offers no ordering.
"""

from __future__ import annotations

import dataclasses
import operator
from collections.abc import Callable
from typing import ClassVar, NoReturn, Protocol, TypeVar, cast, dataclass_transform, overload

__all__ = ["frozen"]

_T = TypeVar("_T")


class _Record(Protocol):
    """What has the fields of a dataclass."""

    __dataclass_fields__: ClassVar[dict[str, dataclasses.Field[object]]]


@overload
def frozen(cls: type[_T], /) -> type[_T]: ...
@overload
def frozen(*, eq: bool = ..., kw_only: bool = ...) -> Callable[[type[_T]], type[_T]]: ...


@dataclass_transform(frozen_default=True, field_specifiers=(dataclasses.field,))
def frozen(
    cls: type[_T] | None = None, /, *, eq: bool = True, kw_only: bool = False
) -> type[_T] | Callable[[type[_T]], type[_T]]:
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

    def wrap(plain: type[_T]) -> type[_T]:
        made = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True, kw_only=kw_only)(
            plain
        )
        methods: dict[str, Callable[..., object]] = {
            "__init__": _initialiser(cast("type[_Record]", made), kw_only=kw_only),
            "__setattr__": _refuse_set,
            "__delattr__": _refuse_delete,
            "__getstate__": _state,
            "__setstate__": _restore,
        }
        if "__repr__" not in plain.__dict__:
            methods["__repr__"] = _repr
        if eq:
            methods |= {"__eq__": _eq, "__hash__": _hash}
        for name, method in methods.items():
            setattr(made, name, method)
        return made

    return wrap if cls is None else wrap(cls)


def _initialiser(made: type[_Record], *, kw_only: bool) -> Callable[..., None]:
    """Return the ``__init__`` that writes each slot through its descriptor."""
    names: dict[str, object] = {"_unset": dataclasses.MISSING}
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
    initialiser = cast("Callable[..., None]", names["__init__"])
    initialiser.__qualname__ = f"{made.__qualname__}.__init__"
    return initialiser


def _refuse_set(self: _Record, name: str, value: object) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_delete(self: _Record, name: str) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: _Record) -> list[object]:
    return [getattr(self, item.name) for item in dataclasses.fields(self)]


def _restore(self: _Record, state: list[object]) -> None:
    for item, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, item.name, value)


_COMPARED: dict[type[_Record], Callable[[_Record], object]] = {}


def _compared(record: _Record) -> object:
    """Return the fields that count when the record is compared, in their order."""
    get = _COMPARED.get(type(record))
    if get is None:
        names = [item.name for item in dataclasses.fields(record) if item.compare]
        if len(names) > 1:
            get = operator.attrgetter(*names)
        else:

            def get(one: _Record) -> object:
                return tuple(getattr(one, name) for name in names)

        _COMPARED[type(record)] = get
    return get(record)


def _eq(self: _Record, other: object) -> object:
    """Return whether all that is compared is equal; `NotImplemented` beside another class."""
    if other.__class__ is not self.__class__:
        return NotImplemented
    return _compared(self) == _compared(other)


def _hash(self: _Record) -> int:
    return hash(_compared(self))


def _repr(self: _Record) -> str:
    shown = (f"{x.name}={getattr(self, x.name)!r}" for x in dataclasses.fields(self) if x.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"
