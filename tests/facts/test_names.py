"""The facts that code names are those of rules/facts.yaml."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from advisor.catalog import Catalog
from advisor.errors import DataError, near_miss
from advisor.facts.assemble import FORMULAS
from advisor.facts.graph import Formula
from advisor.facts.names import check_names

PACKAGE = Path(__file__).resolve().parents[2] / "advisor"


def formula(output: str, takes: str, words: str = "") -> Formula:
    return Formula(output, lambda *, x: x, {"x": takes}, words)


def test_every_formula_names_facts(catalog: Catalog) -> None:
    """All of the chain, and there are many."""
    check_names(FORMULAS, catalog.facts)
    assert len(FORMULAS) > 60


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (
            formula("flow.melt", "hotend.melt_lenght"),
            r"'flow.melt' takes 'hotend.melt_lenght', which is no fact.*hotend.melt_length",
        ),
        (formula("flow.metl", "flow.melt"), r"gives 'flow.metl'.*flow.melt"),
        (formula("flow.melt", "drive.gear_ratoi?"), r"takes 'drive.gear_ratoi'.*drive.gear_ratio"),
        (formula("flow.melt", "flow.grip", "{flow.gripp}"), r"speaks of 'flow.gripp'.*flow.grip"),
    ],
)
def test_a_slip_is_refused_with_a_hint(catalog: Catalog, wrong: Formula, words: str) -> None:
    """Input, output, optional input, and what the words speak of."""
    with pytest.raises(DataError, match=words):
        check_names((*FORMULAS, wrong), catalog.facts)


def test_every_fact_named_in_code_is_one(catalog: Catalog) -> None:
    """Whatever text of the code looks like a fact of a known group is a fact, or begins one."""
    groups = {name.partition(".")[0] for name in catalog.facts}
    shape = re.compile(rf"(?:{'|'.join(sorted(groups))})\.[a-z][a-z_0-9]*")
    fields = {info.sheet for info in catalog.facts.values() if info.sheet}
    unknown = {
        f"{path.relative_to(PACKAGE)}: {node.value}: {near_miss(node.value, catalog.facts)}"
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        and shape.fullmatch(node.value)
        and node.value not in catalog.facts and node.value not in fields
        and not any(name.startswith(node.value) for name in catalog.facts)
    }  # fmt: skip
    assert not unknown
