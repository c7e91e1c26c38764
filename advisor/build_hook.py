"""The hatchling build hook: puts grammars/, rules/ and their compiled form into the package.

A wheel carries them as ``advisor/_data/``; an editable install reads the two folders of the
checkout and gets the compiled form beside the sources. Nothing of the program imports it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

__all__ = ["DataHook"]

_DATA = "advisor/_data"
_SOURCES = ("grammars", "rules")


class DataHook(BuildHookInterface[Any]):
    """Compiles the data, and adds the folders to a wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Write the compiled data; for a wheel, include it and its sources."""
        root = Path(self.root)
        written = _compile(root)
        if version == "editable":
            return
        for path in written:
            build_data["force_include"][str(path)] = f"{_DATA}/compiled/{path.name}"
        for kind in _SOURCES:
            build_data["force_include"][str(root / kind)] = f"{_DATA}/{kind}"


def _compile(root: Path) -> list[Path]:
    sys.path.insert(0, str(root))
    try:
        from advisor import compile_data

        return compile_data.write(root / _DATA / "compiled")
    finally:
        sys.path.remove(str(root))
