"""Compiles rules/ and grammars/ into the JSON that `advisor.data.resources.artifact` reads.

The build hook calls it when a wheel or an editable install is made. It knows no artifact: each
module of MODULES lists its own, and what it fails to build stops the build.
"""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path

from advisor.base import DataError
from advisor.data import check_contents, digest

__all__ = ["MODULES", "artifacts", "write"]

MODULES = (
    "advisor.catalog.load",
    "advisor.config.reader",
    "advisor.expression.compiler",
    "advisor.machine.choices",
    "advisor.inputs.dialect",
    "advisor.inputs.glossary",
    "advisor.inputs.profile.dialects",
    "advisor.machine.levers",
    "advisor.machine.measures",
    "advisor.weigh.weigh_data",
    "advisor.weigh.skip_records",
    "advisor.answers.tuning.bench_data",
    "advisor.answers.diagnosis.cause_book",
    "advisor.inputs.macro_commands",
    "advisor.prints.dialect",
    "advisor.judge.load",
    "advisor.data.values",
)


def artifacts() -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield the name and the builder of every artifact.

    Raises
    ------
    DataError
        If two modules use one name.
    """
    seen: dict[str, str] = {}
    for path in MODULES:
        for name, build in importlib.import_module(path).ARTIFACTS.items():
            if name in seen:
                problem = f"the artifact {name} is built by {seen[name]} and by {path}"
                raise DataError(problem, "rename one")
            seen[name] = path
            yield name, build


def write(folder: Path) -> list[Path]:
    """Write ``<name>.json`` for every artifact into `folder`, and drop what else is there.

    Returns
    -------
    list of Path
        The files, sorted.

    Raises
    ------
    DataError
        If a file under rules/ or grammars/ has a mistake in it, or a module names no fact.
    """
    check_contents()
    _check_code()
    folder.mkdir(parents=True, exist_ok=True)
    written = [_store(folder, name, build()) for name, build in artifacts()]
    for stale in set(folder.glob("*.json")) - set(written):
        stale.unlink()
    return sorted(written)


def _check_code() -> None:
    """Hold the names of facts in the code to rules/facts.yaml."""
    from advisor.catalog import load_catalog
    from advisor.inputs import load_fields
    from advisor.machine import check_code

    package = Path(__file__).parent
    code = {
        f"advisor/{path.relative_to(package)}": path
        for path in sorted(package.rglob("*.py"))
        if path.name != "__init__.py"
    }
    fields = load_fields()
    check_code(
        {name: path.read_text(encoding="utf-8") for name, path in code.items()},
        load_catalog().facts,
        (*fields.fields, *fields.blocks),
    )


def _store(folder: Path, name: str, data: object) -> Path:
    path = folder / f"{name}.json"
    stored = {"digest": digest(), "data": data}
    text = json.dumps(stored, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    path.write_text(text, encoding="utf-8")
    return path
