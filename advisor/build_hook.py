"""The hatchling build hook: puts data, its compiled form and the JSON schema into the package.

A wheel carries them as ``advisor/_data/``; an editable install reads the two folders of the
checkout and gets the compiled form beside the sources. Nothing of the program imports it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

__all__ = ["DataHook"]

_DATA = "advisor/_data"
_SOURCES = ("grammars", "rules")


class DataHook(BuildHookInterface[Any]):
    """Compiles the data, and adds the folders to a wheel."""

    def initialize(self, version: str, build_data: dict[str, dict[str, str]]) -> None:
        """Write the compiled data; for a wheel, include it and its sources."""
        root = Path(self.root)
        written, schema = _compile(root)
        if version == "editable":
            return
        for path in written:
            build_data["force_include"][str(path)] = f"{_DATA}/compiled/{path.name}"
        build_data["force_include"][str(schema)] = "advisor/report/schema.json"
        for kind in _SOURCES:
            build_data["force_include"][str(root / kind)] = f"{_DATA}/{kind}"


def _compile(root: Path) -> tuple[list[Path], Path]:
    """Return the files of the compiled data, and that of the schema of the JSON answers."""
    sys.path.insert(0, str(root))
    try:
        from advisor import compile_data
        from advisor.report import json_schema

        written = compile_data.write(root / _DATA / "compiled")
        schema = root / _DATA / "schema.json"
        schema.write_text(json.dumps(json_schema(), indent=2) + "\n", encoding="utf-8")
        return written, schema
    finally:
        sys.path.remove(str(root))
