"""What a hostile case is, the machine that it is laid over, and what must hold of its run.

The table of them is `hostile_cases.py`. All files are invented.
"""

from __future__ import annotations

import io
import os
import shutil
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.studies.in_process import Run, run

SAMPLE = ROOT / "samples" / "healthy"
CONFIG = (SAMPLE / "printer.cfg").read_text()
SHEET = (SAMPLE / "hardware.yaml").read_text()
PROFILE = (SAMPLE / "profile.ini").read_text()
TABLE = (SAMPLE / "flow-test.csv").read_text()
PRINT = (ROOT / "samples" / "asks-too-much" / "box.gcode").read_text()
SECRET = "kiln-door-code 4711-barley"  # stands outside the config's folder

Content = str | bytes | Callable[[Path], None]


@dataclass(frozen=True)
class Case:
    """One case. `files` are laid over a whole machine; a callable makes its path itself."""

    area: str
    name: str
    argv: tuple[str, ...]
    files: Mapping[str, Content | None] = field(default_factory=dict)
    codes: tuple[int, ...] = (0, 1, 2, 3)
    says: str = ""
    never: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()  # files that this run is told to write
    stdin: bytes = b""


def prepare(case: Case, folder: Path) -> Path:
    """Lay out the case below `folder` and return the machine's own folder."""
    home = folder / "home"
    home.mkdir()
    for name in ("secret.txt", "secret.yaml", "secret.json", "secret.ini"):
        (folder / name).write_text(f"{SECRET}\n")
    (folder / "notes.cfg").write_text(
        f"[extruder]\nsensor_type: {SECRET}\nnozzle_diameter: {SECRET}\n"
    )
    whole: dict[str, Content | None] = {
        "printer.cfg": CONFIG, "hardware.yaml": SHEET, "profile.ini": PROFILE,
        "flow-test.csv": TABLE, "box.gcode": PRINT,
    }  # fmt: skip
    for name, content in (whole | dict(case.files)).items():
        path = home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if callable(content):
            content(path)
        elif content is not None:
            path.write_bytes(content.encode() if isinstance(content, str) else content)
    return home


def _kept(folder: Path) -> dict[str, bytes | str]:
    """Return every plain file and link below `folder`, to see that none was touched."""
    found: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        if path.is_symlink():
            found[str(path.relative_to(folder))] = os.readlink(path)
        elif path.is_file() and os.access(path, os.R_OK):
            found[str(path.relative_to(folder))] = path.read_bytes()
    return found


def judge(case: Case, ran: Run, before: Mapping[str, bytes | str], folder: Path) -> list[str]:
    """Return what does not hold of a run."""
    wrong = list(ran.faults)
    if ran.code is not None and ran.code not in case.codes:
        wrong.append(f"exit code {ran.code}, due {case.codes}: {ran.err.strip()[:160]}")
    if case.says and case.says not in ran.text:
        wrong.append(f"does not say '{case.says}': {ran.err.strip()[:160]}")
    after = _kept(folder)
    for name, data in before.items():
        if name.removeprefix("home/") not in case.changes and after.get(name) != data:
            wrong.append(f"'{name}' was {'changed' if name in after else 'taken away'}")
    said = ran.text + "".join(
        data.decode("utf-8", "replace")
        for name, data in after.items()
        if isinstance(data, bytes) and before.get(name) != data
    )
    wrong += [f"leaks '{word}'" for word in (SECRET, *case.never) if word in said]
    if "\x1b" in ran.err or ("\x1b" in ran.text and "mend" not in case.argv):
        wrong.append("an escape sequence on a stream")
    return wrong


def try_case(case: Case) -> list[str]:
    """Run one case in a folder of its own and return what does not hold."""
    folder = Path(tempfile.mkdtemp(prefix="hostile-"))
    try:
        home = prepare(case, folder)
        before = _kept(folder)
        return judge(case, run(case.argv, home, case.stdin), before, folder)
    finally:
        for path in folder.rglob("*"):
            if path.is_dir() and not path.is_symlink():
                path.chmod(0o700)
        shutil.rmtree(folder)


def run_all(chosen: list[Case], *, failures_only: bool = False) -> tuple[list[str], int]:
    """Run the cases, print each, and return the lines of the sum and the number of failures."""
    passed: Counter[str] = Counter()
    failed: Counter[str] = Counter()
    for case in chosen:
        wrong = try_case(case)
        (failed if wrong else passed)[case.area] += 1
        told = [f"FAIL  {case.area}: {case.name}: {one}" for one in wrong]
        if not wrong and not failures_only:
            told.append(f"ok    {case.area}: {case.name}")
        for line in told:
            print(line, flush=True)
    areas = list(dict.fromkeys(case.area for case in chosen))
    lines = ["", f"{'area':<16}{'passed':>8}{'failed':>8}"]
    lines += [f"{area:<16}{passed[area]:>8}{failed[area]:>8}" for area in areas]
    lines.append(f"{'all':<16}{passed.total():>8}{failed.total():>8}")
    return lines, failed.total()


# --- what is laid out ---------------------------------------------------------------------------


def link(target: str) -> Callable[[Path], None]:
    return lambda path: path.symlink_to(target)


def fifo(path: Path) -> None:
    os.mkfifo(path)


def folder_there(path: Path) -> None:
    path.mkdir()


def hard_link(name: str) -> Callable[[Path], None]:
    return lambda path: os.link(path.parent / name, path)


def zipped(members: Mapping[str, str | bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return target.getvalue()


def with_key(key: str, text: str) -> str:
    """Return the config with one setting replaced, or added to the extruder."""
    lines = CONFIG.splitlines()
    at = next((i for i, line in enumerate(lines) if line.startswith(f"{key}:")), None)
    if at is None:
        at = lines.index("[extruder]") + 1
        lines.insert(at, "")
    lines[at] = f"{key}: {text}"
    return "\n".join(lines) + "\n"


def with_field(path: str, text: str) -> str:
    """Return a sheet that states one field only."""
    return "".join(
        f"{'  ' * depth}{name}:{f' {text}' if depth == path.count('.') else ''}\n"
        for depth, name in enumerate(path.split("."))
    )
