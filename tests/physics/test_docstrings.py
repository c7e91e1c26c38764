"""Every public physics function states the unit of each parameter, and its module exports it."""

from __future__ import annotations

import inspect
import pkgutil
import re
from collections.abc import Callable
from importlib import import_module
from types import ModuleType

import pytest
from every import every

import advisor.physics
from advisor.units import parse_unit

MODULES = [
    import_module(f"advisor.physics.{info.name}")
    for info in pkgutil.iter_modules(advisor.physics.__path__)
]
UNIT = re.compile(r"\[([^\[\]]+)\]")


def functions(module: ModuleType) -> list[Callable]:
    return [
        thing
        for name, thing in vars(module).items()
        if inspect.isfunction(thing)
        and thing.__module__ == module.__name__
        and not name.startswith("_")
    ]


PUBLIC = [
    pytest.param(f, id=f"{m.__name__.rpartition('.')[2]}.{f.__name__}")
    for m in MODULES
    for f in functions(m)
]


def section(doc: str, title: str) -> str:
    """The text under one underlined heading of a numpy docstring."""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=^\w+\n-+\n|\Z)", doc, re.MULTILINE | re.DOTALL)
    return found.group(1) if found else ""


def documented(doc: str) -> dict[str, str]:
    """Parameter names to their description; one entry may name several."""
    entries = re.split(r"^(?=\S)", section(doc, "Parameters"), flags=re.MULTILINE)
    described = {}
    for entry in filter(None, entries):
        head, _, text = entry.partition("\n")
        names, _, _ = head.partition(" : ")
        for name in names.split(","):
            described[name.strip().lstrip("*")] = text
    return described


def units(text: str) -> list[str]:
    found = UNIT.findall(text)
    return [part.strip() for part in found[-1].split(",")] if found else []


def known(unit: str) -> bool:
    parse_unit(unit)
    return True


def test_there_is_something_to_check():
    """All nine modules are seen, with their functions."""
    names = {module.__name__.rpartition(".")[2] for module in MODULES}

    assert {"drive", "motor", "current", "heat", "grip", "melt", "limits"} <= names
    assert {"motion", "motor", "weighing"} <= names
    assert len(PUBLIC) > 70


@every("function", PUBLIC)
def test_each_parameter_has_a_unit(function):
    """The documented parameters are those of the signature, each with a unit we know."""
    described = documented(inspect.getdoc(function) or "")

    assert list(described) == list(inspect.signature(function).parameters)
    for name, text in described.items():
        assert units(text), f"{name} has no unit"
        assert all(known(unit) for unit in units(text))


@every("function", PUBLIC)
def test_the_result_has_a_unit(function):
    """So does what is returned."""
    found = units(section(inspect.getdoc(function) or "", "Returns"))

    assert found
    assert all(known(unit) for unit in found)


@every("module", MODULES, ids=lambda module: module.__name__)
def test_exports_are_the_public_functions(module):
    """Each public function stands in __all__, which is sorted and holds only what exists."""
    own = {function.__name__ for function in functions(module)}

    assert own <= set(module.__all__)
    assert all(hasattr(module, name) for name in module.__all__)
    upper = [n for n in module.__all__ if n.isupper()]
    classes = [n for n in module.__all__ if n not in upper and n[0].isupper()]
    rest = [n for n in module.__all__ if n not in upper and n not in classes]
    assert module.__all__ == sorted(upper) + sorted(classes) + sorted(rest)


def test_no_number_of_a_model_is_a_default():
    """Defaults are neutral (0 or 1), None, or a count of the register's steps."""
    allowed = {
        ("two_range_setting", "levels"),
        ("two_range_applied", "levels"),
        ("global_scaler_setting", "levels"),
        ("global_scaler_applied", "levels"),
        ("reference_setting", "levels"),
        ("reference_applied", "levels"),
        ("largest_setting_not_above", "step"),
    }
    odd = {
        (function.__name__, parameter.name)
        for module in MODULES
        for function in functions(module)
        for parameter in inspect.signature(function).parameters.values()
        if parameter.default not in (inspect.Parameter.empty, None, 0.0, 1.0)
    }

    assert odd == allowed
