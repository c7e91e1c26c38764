"""Drawing keeps to itself: the same bytes everywhere, no traces, no noise, no library needed."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import pytest
from picture_reports import healthy, of_print

from advisor.report import pictures
from advisor.report.pictures import draw_force, draw_heights, draw_torque, draw_weighed

ROOT = Path(__file__).resolve().parents[2]
DRAW = """
import pickle, sys
from advisor.report import pictures
force, torque, test, layers = pickle.load(open(sys.argv[1], "rb"))
shown = [pictures.draw_force(force), pictures.draw_torque(torque),
         pictures.draw_heights(layers), pictures.draw_weighed(test)]
sys.stdout.write("\\n".join(shown))
assert "matplotlib.pyplot" not in sys.modules
"""
SETTINGS = """
font.size: 30
font.family: serif
lines.linewidth: 9
svg.fonttype: path
axes.grid: False
axes.facecolor: red
text.color: blue
no.such.setting: 3
"""


def run(code: str, *arguments: str, folder: Path = ROOT, **environment: str) -> tuple[str, str]:
    kept = {key: os.environ[key] for key in ("PATH", "SYSTEMROOT", "HOME") if key in os.environ}
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=folder, env={**kept, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout, done.stderr


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> str:
    import pickle

    path = tmp_path_factory.mktemp("records") / "reports.pickle"
    path.write_bytes(pickle.dumps((*healthy(), of_print())))
    return str(path)


@pytest.fixture(scope="module")
def drawn() -> str:
    force, torque, test = healthy()
    return "\n".join(
        (draw_force(force), draw_torque(torque), draw_heights(of_print()), draw_weighed(test))
    )


@pytest.mark.parametrize("seed", ["0", "1"])
def test_the_same_bytes_in_every_process(records: str, drawn: str, seed: str) -> None:
    """Neither the seed of hashes nor the time changes a byte."""
    assert run(DRAW, records, PYTHONHASHSEED=seed, SOURCE_DATE_EPOCH=seed) == (drawn, "")


def test_no_settings_of_the_user_reach_it(records: str, drawn: str, tmp_path: Path) -> None:
    """Settings of the plotting library, a wrong one among them, and the locale do nothing."""
    (tmp_path / "matplotlibrc").write_text(SETTINGS, encoding="utf-8")
    shown = run(
        DRAW, records, folder=tmp_path, MATPLOTLIBRC=str(tmp_path), MPLBACKEND="svg", LC_ALL="C",
    )  # fmt: skip

    assert shown == (drawn, "")


def test_nowhere_to_write_is_no_trouble(records: str, drawn: str) -> None:
    """A home that is not there and a cache folder that cannot be made: the same, and no noise."""
    nowhere = "/proc/nowhere" if Path("/proc").exists() else "/dev/null/nowhere"

    assert run(DRAW, records, HOME="/nonexistent", MPLCONFIGDIR=nowhere) == (drawn, "")


def test_it_leaves_no_trace() -> None:
    """Settings and logging of the plotting library are afterwards as they were."""
    with mpl.rc_context({"font.size": 5.5, "lines.linewidth": 7.0}):
        logger = logging.getLogger("matplotlib")
        before = dict(mpl.rcParams), logger.level
        draw_force(healthy()[0])
        after = dict(mpl.rcParams), logger.level

    assert before == after


def test_the_library_is_fetched_only_to_draw() -> None:
    """Importing the package, as every page does, does not load the plotting library."""
    code = "import sys; from advisor.report import pictures; print('matplotlib' in sys.modules)"

    assert run(code) == ("False\n", "")


def test_without_the_library_there_are_no_pictures() -> None:
    """Where it is not installed, or broken, the page is told so instead of failing."""
    code = (
        "import sys; sys.modules['matplotlib'] = None\n"
        "from advisor.report.pictures import available; print(available())"
    )

    assert pictures.available()
    assert run(code) == ("False\n", "")
