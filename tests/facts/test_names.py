"""The facts that code names are those of rules/facts.yaml."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from tiers import only_wide, spread, wide

from advisor.base import DataError
from advisor.catalog import Catalog
from advisor.compile_data import artifacts
from advisor.data import resources
from advisor.inputs.sheet_fields import load_fields
from advisor.machine.assemble import FORMULAS
from advisor.machine.graph import Formula
from advisor.machine.names import check_code, check_names

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


_RIGHT, _WRONG = "fact: motor.run_current", "fact: motor.run_curent"


def code(*names: str) -> dict[str, str]:
    return {name: (PACKAGE / name).read_text(encoding="utf-8") for name in names}


@wide
@only_wide
def test_every_fact_named_in_code_is_one(catalog: Catalog) -> None:
    """Of all modules; a name that is put together begins as a fact does."""
    modules = sorted(
        str(path.relative_to(PACKAGE))
        for path in PACKAGE.rglob("*.py")
        if path.name != "__init__.py"  # a face names modules, no facts
    )
    fields = load_fields()
    check_code(code(*modules), catalog.facts, (*fields.fields, *fields.blocks))
    assert len(modules) > 200


@pytest.mark.parametrize(
    ("file", "right", "wrong"),
    [
        ("machine/set_current.py", "motor.current_for_winding", "motor.current_for_windign"),
        ("machine/set_current.py", "driver.rms_limit", "driver.rms_limmit"),
        ("machine/machine.py", "drive.mount", "drive.muont"),
        ("machine/chain_flow.py", "flow.melt", "flow.mel"),
        ("report/way_words.py", "demand.print_push", "demand.print_pusch"),
        ("report/open_text.py", "flow.capacity", "flow.capasity"),
        ("answers/curves/points.py", "motor.corner_speed", "motor.korner_speed"),
    ],
)
def test_a_slip_in_code_is_refused_with_place_and_hint(
    catalog: Catalog, file: str, right: str, wrong: str
) -> None:
    """Tables of currents and classes, chains, reports, curves; the names are planted."""
    text = code(file)[file]
    assert f'"{right}"' in text
    planted = text.replace(f'"{right}"', f'"{wrong}"')
    line = planted[: planted.index(f'"{wrong}"')].count("\n") + 1
    with pytest.raises(DataError, match=f"'{wrong}' is no fact; did you mean '{right}'") as caught:
        check_code({file: planted}, catalog.facts)
    assert str(caught.value).startswith(f"{file}:{line}:")


@wide
@pytest.mark.parametrize(
    ("file", "artifact", "right", "wrong"),
    spread(
        [
            ("current.yaml", "rulebook", "at: motor.run_current", "at: motor.run_curent"),
            ("current.yaml", "rulebook", "{motor.working_current:", "{motor.wroking_current:"),
            ("current.yaml", "rulebook", "set: motor.run_current", "set: motor.run_curent"),
            ("levels.yaml", "levels", "motion.retract,", "motion.rettract,"),
            ("compare/levers.yaml", "levers", _RIGHT, _WRONG),
            ("dialects/ini_firmware.yaml", "dialects", _RIGHT, _WRONG),
            ("dialects/macros.yaml", "macros", _RIGHT, _WRONG),
            ("dialects/sheet.yaml", "dialects", "hotend.melt_length:", "hotend.melt_lenght:"),
            (
                "dialects/profile_flat_ini.yaml",
                "profile-dialects",
                "demand.profile_flow:",
                "demand.profile_folw:",
            ),
            ("catalogue/motors.yaml", "catalog", "motor.rated_current:", "motor.rated_curent:"),
        ],
        2,
    ),
)
def test_a_slip_in_a_data_file_is_refused_with_place_and_hint(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    file: str,
    artifact: str,
    right: str,
    wrong: str,
) -> None:
    """Rules, levels, levers, dialects, sheet and catalogue; the names are planted in a copy."""
    build = dict(artifacts())[artifact]
    for folder in ("rules", "grammars"):
        shutil.copytree(PACKAGE.parent / folder, tmp_path / folder)
    path = tmp_path / "rules" / file
    text = path.read_text(encoding="utf-8")
    assert right in text
    path.write_text(text.replace(right, wrong, 1), encoding="utf-8")
    monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "advisor")
    resources.folder.cache_clear()
    try:
        with pytest.raises(DataError, match="did you mean") as caught:
            build()
    finally:
        monkeypatch.undo()
        resources.folder.cache_clear()
    assert re.match(rf"rules/{re.escape(file)}:\d+:\d+: ", str(caught.value))
