"""The door of a room: its public names, each loaded from its module when it is first asked for."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable

__all__ = ["face"]


def face(
    room: str, names: dict[str, str]
) -> tuple[Callable[[str], object], Callable[[], list[str]], list[str]]:
    """Return ``__getattr__``, ``__dir__`` and ``__all__`` of the package `room`.

    Parameters
    ----------
    room : str
        The package's name.
    names : dict of str
        By module of the room, the names that others may use, with blanks between; under the empty
        text, the modules that they may use whole.
    """
    homes = {name: module for module, text in names.items() for name in text.split()}

    def load(name: str) -> object:
        if name not in homes:
            raise AttributeError(f"module '{room}' has no attribute '{name}'")
        if not homes[name]:
            return importlib.import_module(f"{room}.{name}")
        value = getattr(importlib.import_module(f"{room}.{homes[name]}"), name)
        setattr(sys.modules[room], name, value)
        return value

    return load, lambda: sorted(homes), sorted(homes)
