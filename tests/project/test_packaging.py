"""What is built has all of grammars/ and rules/ in it, and their compiled form."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest
from tiers import only_wide, wide

from advisor import compile_data
from advisor.data import resources
from advisor.report.json import json_schema

ROOT = Path(__file__).resolve().parents[2]
NAMES = sorted(name for name, _ in compile_data.artifacts())


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a source archive and the wheel made from that archive."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    seed = "1" if os.environ.get("PYTHONHASHSEED") == "31337" else "31337"
    done = subprocess.run(
        command, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONHASHSEED": seed},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture(scope="module")
def installed(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that holds what the wheel installs."""
    folder = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(next(built.glob("*.whl"))) as wheel:
        wheel.extractall(folder)
    return folder


def _data_of_checkout() -> dict[str, bytes]:
    return {
        f"{kind}/{path.relative_to(ROOT / kind).as_posix()}": path.read_bytes()
        for kind in ("grammars", "rules")
        for path in sorted((ROOT / kind).rglob("*"))
        if path.is_file()
    }


@wide
@only_wide
def test_wheel_has_every_data_file(installed: Path) -> None:
    """grammars/ and rules/ stand in the wheel byte for byte."""
    wanted = _data_of_checkout()
    data = installed / "advisor" / "_data"

    assert len(wanted) > 10
    assert {name: (data / name).read_bytes() for name in wanted} == wanted


@wide
@only_wide
def test_wheel_has_what_stands_beside_the_code(installed: Path) -> None:
    """Style sheet, licence and typing mark are in the wheel byte for byte, the schema is made."""
    wanted = {
        path.relative_to(ROOT).as_posix(): path.read_bytes()
        for path in (ROOT / "advisor").rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc") and "_data" not in path.parts
    }

    assert {"advisor/report/html/style.css", "advisor/py.typed"} <= set(wanted)
    schema = json.loads((installed / "advisor/report/schema.json").read_bytes())
    assert schema == json_schema()
    assert {name: (installed / name).read_bytes() for name in wanted} == wanted


@wide
@only_wide
def test_source_archive_has_every_data_file(built: Path) -> None:
    """grammars/, rules/, the samples and the tests stand in the source archive."""
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}

    assert set(_data_of_checkout()) <= names
    assert {"README.md", "advisor/build_hook.py", "advisor/licence.txt"} <= names
    assert any(name.startswith("samples/") for name in names)


@wide
@only_wide
def test_wheel_has_every_artifact(installed: Path) -> None:
    """Each artifact is in the wheel, is fresh, and there is nothing else beside them."""
    stored = {
        path.stem: json.loads(path.read_bytes())
        for path in (installed / "advisor" / "_data" / "compiled").iterdir()
    }

    assert sorted(stored) == NAMES
    assert {entry["digest"] for entry in stored.values()} == {resources.digest()}
    assert all(entry["data"] for entry in stored.values())


@wide
@only_wide
def test_wheel_works_from_its_compiled_data(installed: Path, tmp_path: Path) -> None:
    """The main job of the installed package reads no YAML and compiles no grammar."""
    (tmp_path / "printer.cfg").write_bytes((ROOT / "samples/no-sheet/printer.cfg").read_bytes())
    script = (
        "import sys, advisor, advisor.data.grammar; advisor.data.grammar._compile = None; "
        "report = advisor.check(['printer.cfg'], advisor.Asks()); print(advisor.__file__); "
        "print(report.extruders[0].bottleneck, 'ruamel.yaml' in sys.modules)"
    )

    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    place, used = done.stdout.splitlines()
    assert Path(place).is_relative_to(installed)
    assert used == "grip False"


def test_every_module_with_artifacts_is_compiled() -> None:
    """A module that lists artifacts is in the compiler's list, so none is forgotten."""
    listing = {
        path.relative_to(ROOT)
        .with_suffix("")
        .as_posix()
        .replace("/", ".")
        .removesuffix(".__init__")
        for path in (ROOT / "advisor").rglob("*.py")
        if re.search(r"^ARTIFACTS\b", path.read_text(encoding="utf-8"), re.MULTILINE)
    }

    assert listing == set(compile_data.MODULES)


def test_every_artifact_in_use_is_compiled() -> None:
    """Each name that the code asks for is one that the compiler writes, and the other way round."""
    asked = re.compile(r"(?:artifact|load_parser|load_lexer)\(\s*\"([\w-]+)\"")
    used = {
        name
        for path in (ROOT / "advisor").rglob("*.py")
        for name in asked.findall(path.read_text(encoding="utf-8"))
    }

    assert used == set(NAMES)


def test_stale_compiled_data_is_not_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Data of another digest, broken data and no data at all each lead to a fresh build."""
    monkeypatch.setattr(resources, "compiled_folder", lambda: tmp_path)
    texts = {"stale": '{"digest": "0", "data": 1}', "broken": "{", "shape": "[]"}
    for name, text in texts.items():
        (tmp_path / f"{name}.json").write_text(text, encoding="utf-8")
    fresh = json.dumps({"digest": resources.digest(), "data": 1})
    (tmp_path / "fresh.json").write_text(fresh, encoding="utf-8")

    got = {name: resources.artifact(name, lambda: 2) for name in (*texts, "none", "fresh")}

    assert got == {"stale": 2, "broken": 2, "shape": 2, "none": 2, "fresh": 1}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Write the compiled data into a folder with something of an earlier version in it."""
    folder = tmp_path_factory.mktemp("compiled")
    (folder / "gone.json").write_text("{}", encoding="utf-8")
    return compile_data.write(folder)


@wide
@only_wide
def test_nothing_else_stays_in_the_compiled_folder(written: list[Path]) -> None:
    """An artifact of an earlier version is dropped."""
    assert [path.stem for path in written] == NAMES
    assert sorted(written[0].parent.iterdir()) == written


@wide
@only_wide
def test_compiled_data_is_the_same_bytes_each_time(installed: Path, written: list[Path]) -> None:
    """The build, which orders its sets differently, wrote the same files as this process."""
    folder = installed / "advisor" / "_data" / "compiled"
    other = {path.name: path.read_bytes() for path in folder.iterdir()}

    assert sorted(other) == [f"{name}.json" for name in NAMES]
    assert other == {path.name: path.read_bytes() for path in written}


@pytest.mark.parametrize(
    ("file", "starts", "text"),
    [
        ("values.lark", ["ratio", "quantity"], "44:7, 37:17"),
        ("values.lark", ["quantity", "ratio"], "0.09..0.10..0.14 N m"),
    ],
)
def test_renumbered_tables_are_the_grammar(file: str, starts: list[str], text: str) -> None:
    """As many states and entries as the parser's own tables, and the same tree."""
    from lark import Lark
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    from advisor.data.grammar import build_parser, load_parser

    own = Lark(resources.read_text("grammars", file), parser="lalr", start=starts)
    theirs = own.memo_serialize([TerminalDef, Rule])[0]["parser"]["parser"]
    ours = build_parser(file, starts)["tables"]["parser"]["parser"]
    assert sorted(map(len, ours["states"].values())) == sorted(map(len, theirs["states"].values()))
    start = "ratio" if ":" in text else "quantity"
    loaded = load_parser("none-such", file, starts)
    assert loaded.parse(text, start=start) == own.parse(text, start=start)
