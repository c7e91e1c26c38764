"""What Feedwright reads of its own is listed: nothing is left out, or taken in, without a word."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from fresh import imported_anew
from tiers import only_wide, spread, wide

ROOT = Path(__file__).resolve().parents[2]
Lint = Callable[[Path], tuple[int, str]]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A checkout without compiled data."""
    ignore = shutil.ignore_patterns("_data")
    for name in ("advisor", "rules", "grammars"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=ignore)
    return tmp_path


@pytest.fixture
def lint(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Lint:
    """Run the program of a checkout on a sample: exit code and standard error."""

    def made(root: Path) -> tuple[int, str]:
        monkeypatch.chdir(root)
        with imported_anew(root):
            from advisor import cli

            assert Path(cli.__file__).is_relative_to(root)
            code = cli.main(["lint", str(ROOT / "samples/healthy/printer.cfg")])
        return int(code), capsys.readouterr().err

    return made


@wide
@pytest.mark.parametrize(
    "name", spread(["rules/grip.yaml", "rules/dialects/macros.yaml", "grammars/expression.lark",
             "rules/contents.txt"], 2),
)  # fmt: skip
def test_a_file_that_is_gone_is_an_error(copy: Path, lint: Lint, name: str) -> None:
    """One sentence that names it, and no report by fewer rules."""
    (copy / name).unlink()
    code, told = lint(copy)

    assert code == 3
    assert f"{name} is missing" in told
    assert told.count("\n") == 1
    assert "INTERNAL" not in told


def test_a_file_that_is_not_listed_is_an_error(copy: Path, lint: Lint) -> None:
    """A copy left by an editor does not become rules."""
    shutil.copy(copy / "rules/grip.yaml", copy / "rules/grip (copy).yaml")
    code, told = lint(copy)

    assert code == 3
    assert "rules/grip (copy).yaml is not listed in rules/contents.txt" in told


@wide
@only_wide
def test_a_line_taken_out_with_its_file_is_no_error(copy: Path, lint: Lint) -> None:
    """Whoever does without some rules says so."""
    (copy / "rules/weighed.yaml").unlink()
    contents = copy / "rules/contents.txt"
    contents.write_text(contents.read_text().replace("rules/weighed.yaml\n", ""))
    assert lint(copy) == (0, "")
