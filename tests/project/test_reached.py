"""Nothing in the physics stands idle: a command, or the library's face, reaches all of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from reach import DEFINES, Name, package, reached

ROOT = Path(__file__).resolve().parents[2]
PHYSICS = "advisor.physics"


def idle(folder: Path) -> list[str]:
    """The functions and classes of the physics that nothing on a way from the commands names."""
    modules = package(folder)
    roots: list[Name] = [
        (name, definition)
        for name, module in modules.items()
        if name in ("advisor", "advisor.__main__") or name.startswith("advisor.cli")
        for definition in ("", *module.definitions)
    ]
    seen = reached(modules, roots)
    return [
        f"{name}.{definition}"
        for name, module in modules.items()
        if name.startswith(PHYSICS)
        for definition, written in module.definitions.items()
        if isinstance(written[0], DEFINES) and (name, definition) not in seen
    ]


def test_every_function_of_the_physics_is_reached() -> None:
    """Imports and names, from the commands down, lead to each function and class."""
    assert idle(ROOT / "advisor") == []


@pytest.mark.parametrize(
    ("planted", "found"),
    [
        ("def planted(x):\n    return x\n", ["planted"]),
        ("class Planted:\n    pass\n", ["Planted"]),
        ("def one():\n    return two()\n\n\ndef two():\n    return one()\n", ["one", "two"]),
        ('__all__ = [*__all__, "planted"]\n\n\ndef planted(x):\n    return x\n', ["planted"]),
    ],
)
def test_an_idle_function_is_found(tmp_path: Path, planted: str, found: list[str]) -> None:
    """One that only stands there, is only exported, or is named by idle ones alone."""
    shutil.copytree(
        ROOT / "advisor",
        tmp_path / "advisor",
        ignore=shutil.ignore_patterns("__pycache__", "_data"),
    )
    file = tmp_path / "advisor" / "physics" / "heat.py"
    file.write_text(f"{file.read_text(encoding='utf-8')}\n\n{planted}", encoding="utf-8")

    assert idle(tmp_path / "advisor") == [f"{PHYSICS}.heat.{name}" for name in found]


def test_a_function_whose_last_caller_goes_is_found(tmp_path: Path) -> None:
    """Where the one formula that called it is gone, the function is idle."""
    shutil.copytree(
        ROOT / "advisor",
        tmp_path / "advisor",
        ignore=shutil.ignore_patterns("__pycache__", "_data"),
    )
    for file in (tmp_path / "advisor").rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        file.write_text(text.replace("melt.heated_length", "melt.melt_flow"), encoding="utf-8")

    assert idle(tmp_path / "advisor") == [f"{PHYSICS}.melt.heated_length"]
