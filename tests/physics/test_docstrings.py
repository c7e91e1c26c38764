"""Every public physics function is documented in one order, whole, and with an example that runs.

What it gives; parameters with unit and range; returns; raises; notes; references; an example.
"""

from __future__ import annotations

import doctest
import inspect
import pkgutil
import re
from collections.abc import Callable
from importlib import import_module
from types import ModuleType

import pytest
from every import every

import advisor.physics
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog

MODULES = [
    import_module(f"advisor.physics.{info.name}")
    for info in pkgutil.iter_modules(advisor.physics.__path__)
]
UNIT = re.compile(r"\[([^\[\]]+)\]")
ORDER = ("Parameters", "Returns", "Raises", "Notes", "References", "Examples")
NEEDED = ("Parameters", "Returns", "References", "Examples")
RANGE = re.compile(
    r"\b(any|above|or more|at least|between|about|one of|one or more|below 0 as 0|lower end first"
    r"|not falling|1 or 2|\d to \S+|-pi/2 to pi/2)\b"
)
# what a reference may be: worked out here, a source of ours, another function, or a work
REFERENCE = re.compile(r"[Dd]erived here|[Ss]ources? [a-z]+-|As `|from memory|\(\d{4}\)|doi ")
SOURCE = re.compile(r"\b(?:[Ss]ources?|and) ([a-z]+(?:-[a-z]+)+)")


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
def test_each_parameter_has_a_range(function):
    """So does the range in which it holds: for each name, in words."""
    for name, text in documented(inspect.getdoc(function) or "").items():
        words = " ".join(text.split()).rpartition("[")[0]
        assert RANGE.search(words.rpartition("; ")[2]), f"{name} has no range"


@every("function", PUBLIC)
def test_one_order(function):
    """One sentence that says what it gives, then the sections in their order, none missing."""
    doc = inspect.getdoc(function) or ""
    found = re.findall(r"^(\w+)\n-+$", doc, re.MULTILINE)
    what, _, rest = doc.partition("\n\n")

    assert found == [title for title in ORDER if title in found]
    assert set(NEEDED) <= set(found)
    assert all(section(doc, title).strip() for title in found)
    assert "\n" not in what
    assert what.endswith(".")
    assert rest.startswith("Parameters\n")
    assert ("Raises" in found) == ("raise " in inspect.getsource(function).replace(doc, ""))


@every("function", PUBLIC)
def test_a_reference_says_where_it_comes_from(function):
    """A work with its year, a source of rules/sources.yaml, memory, or that it is derived here."""
    words = " ".join(section(inspect.getdoc(function) or "", "References").split())

    assert REFERENCE.search(words), words
    assert set(SOURCE.findall(words)) <= set(load_catalog().sources)


def test_no_doi_is_made_up():
    """Each stands in rules/sources.yaml, which holds what was read."""
    read = " ".join(source.what for source in load_catalog().sources.values())
    found = {
        doi
        for module in MODULES
        for doi in re.findall(r"doi\s+(10\.[^\s,;)]+)", inspect.getsource(module))
    }

    assert len(found) >= 3
    assert all(doi.rstrip(".:") in read for doi in found)


@every("function", PUBLIC)
def test_the_example_runs(function):
    """What the example shows is what comes out, and it calls the function itself."""
    doc = inspect.getdoc(function) or ""
    module = inspect.getmodule(function)
    example = doctest.DocTestParser().get_doctest(
        doc, dict(vars(module)), function.__name__, None, 0
    )
    told: list[str] = []

    failed = doctest.DocTestRunner(verbose=False).run(example, out=told.append).failed

    assert failed == 0, "".join(told)
    assert any(step.want for step in example.examples)
    assert any(f"{function.__name__}(" in step.source for step in example.examples)


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
