"""Nothing in the physics stands idle: a command, or the library's face, reaches all of it."""

from __future__ import annotations

import functools
from pathlib import Path

from reach import DEFINES, Module, Name, package, parsed, reached
from tiers import only_wide, wide

ROOT = Path(__file__).resolve().parents[2]
PHYSICS = "advisor.physics"


@functools.cache
def whole() -> dict[str, Module]:
    """The package as it stands, parsed once; nobody changes it."""
    return package(ROOT / "advisor")


def text_of(name: str) -> str:
    """The text of a module."""
    file = ROOT.joinpath(*name.split(".")).with_suffix(".py")
    return file.read_text(encoding="utf-8")


def idle(modules: dict[str, Module]) -> list[str]:
    """The functions and classes of the physics that nothing on a way from the commands names."""
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


@wide
@only_wide
def test_every_function_of_the_physics_is_reached() -> None:
    """Imports and names, from the commands down, lead to each function and class."""
    assert idle(whole()) == []


PLANTED = ("planted", "Planted", "one", "two", "listed")
IDLE = """

def planted(x):
    return x


class Planted:
    pass


def one():
    return two()


def two():
    return one()


def listed(x):
    return x


__all__ = [*__all__, "listed"]
"""


def test_an_idle_function_is_found_in_a_small_package() -> None:
    """One that only stands there, is only exported, or is named by idle ones alone."""
    heat = f"{PHYSICS}.heat"
    texts = {
        "advisor.cli.run": "from advisor.physics import heat\n\n\ndef main():\n    heat.warm()\n",
        PHYSICS: "",
        heat: "__all__ = ['warm']\n\n\ndef warm():\n    return _by(2)\n\n\n"
        "def _by(x):\n    return x\n" + IDLE,
    }
    modules = {name: parsed(name, text) for name, text in texts.items()}

    assert idle(modules) == [f"{heat}.{name}" for name in PLANTED]
    calm = {**modules, heat: parsed(heat, texts[heat].removesuffix(IDLE))}
    assert idle(calm) == []


@wide
@only_wide
def test_an_idle_function_is_found() -> None:
    """One that only stands there, is only exported, or is named by idle ones alone."""
    heat = f"{PHYSICS}.heat"
    changed = {**whole(), heat: parsed(heat, text_of(heat) + IDLE)}

    assert idle(changed) == [f"{heat}.{name}" for name in PLANTED]


@wide
@only_wide
def test_a_function_whose_last_caller_goes_is_found() -> None:
    """Where the one formula that called it is gone, the function is idle."""
    changed = dict(whole())
    for name in [name for name in changed if name.startswith("advisor.machine.")]:
        text = text_of(name)
        if "melt.heated_length" in text:
            changed[name] = parsed(name, text.replace("melt.heated_length", "melt.melt_flow"))

    assert idle(changed) == [f"{PHYSICS}.melt.heated_length"]
