"""`feedwright sheet --interactive`: in a terminal, with answers piped in, cut off, interrupted."""

from __future__ import annotations

import os
import re
import select
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest
from held import held
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.starter import starter_sheet
from advisor.cli import main
from advisor.inputs.sheet import read_sheet
from tests.studies.in_process import run

ROOT = Path(__file__).resolve().parents[2]
CONFIG = (
    "[extruder]\nrotation_distance: 22.4\ngear_ratio: 50:10\nnozzle_diameter: 0.4\n"
    "filament_diameter: 1.75\nmax_temp: 260\n\n[tmc2209 extruder]\nrun_current: 0.5\n"
    "sense_resistor: 0.11\n"
)
LONG = {"hotend.class": "long"}


@pytest.fixture
def config(tmp_path: Path) -> Path:
    """An invented machine."""
    path = tmp_path / "printer.cfg"
    path.write_text(CONFIG)
    return path


def environment(**more: str) -> dict[str, str]:
    base = {"PATH": os.environ.get("PATH", ""), "PYTHONPATH": str(ROOT), "LANG": "C.UTF-8"}
    return base | {"PYTHONUNBUFFERED": "1"} | more


def command(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "advisor", "sheet", *arguments]


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str


def piped(config: Path, answers: bytes | str, *arguments: str, **env: str) -> Ran:
    """Run in the folder of the config with the answers as standard input."""
    data = answers if isinstance(answers, bytes) else answers.encode()
    if not env:  # what needs no process of its own is run in this one
        ran = run(["sheet", "printer.cfg", "--interactive", *arguments], config.parent, data)
        assert ran.faults == ()
        return Ran(ran.code or 0, ran.out.decode(), ran.err)
    done = subprocess.run(
        command("printer.cfg", "--interactive", *arguments),
        cwd=config.parent, env=environment(**env), input=data, capture_output=True, check=False,
        timeout=60,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())


def stated(text: str) -> dict[str, object]:
    sheet = read_sheet(text, "x")
    return {name: held(fact) for name, fact in sheet.shared.facts.items()}


def test_answers_can_be_piped_in(config: Path) -> None:
    """stdout is the sheet alone, stderr all the rest; the end of the input loses nothing."""
    ran = piped(config, "long\n\n?\n2 gears\n2\n")

    assert ran.code == 0
    assert stated(ran.out) == LONG | {"drive.driven_gears": 2.0}
    assert "explains up to" in ran.err
    assert "is no whole number" in ran.err
    assert "takes       at least 1, at most 4" in ran.err
    assert max(map(len, (*ran.err.splitlines(), *ran.out.splitlines()))) <= 80


def test_the_band_shrinks(config: Path) -> None:
    """After each answer the capacity and the current are said anew."""
    ran = piped(config, "long\n")
    shown = [line for line in ran.err.splitlines() if line.startswith("capacity")]
    ends = [re.search(r"\((.+)-(.+)\)", line) for line in shown]
    width = [float(found[2]) - float(found[1]) for found in ends if found is not None]

    assert len(shown) == 2
    assert width[1] < width[0]


def test_few_questions_first(config: Path) -> None:
    """After six it is asked whether to go on; Enter means no."""
    ran = piped(config, "\n" * 20)

    assert ran.code == 0
    assert ran.err.count("find out") == 6
    assert "more? y/n [n]" in ran.err
    assert stated(ran.out) == {}
    assert "Not known yet: hotend.class," in ran.out
    more = piped(config, "\n" * 6 + "y\n" + "\n" * 5 + "x\nn\n")
    assert more.err.count("find out") == 11  # a round ends before what explains little
    assert "each explains little" in more.err.replace("\n            ", " ")
    assert "y or n" in more.err


def test_back_and_stop(config: Path) -> None:
    """`b` takes an answer back and asks again, `q` stops; capitals do as well."""
    ran = piped(config, "b\nlong\nB\nstandard\nQ\nnever read\n")

    assert ran.code == 0
    assert "this is the first question" in ran.err
    assert ran.err.count("hotend class (hotend.class)") == 3
    assert stated(ran.out) == {"hotend.class": "standard"}


@wide
@only_wide
def test_all_questions_can_be_asked(
    config: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An owner who always wants more comes to the end, and is asked each thing once."""
    monkeypatch.setattr(
        "advisor.cli.conversation._answer", lambda prompt: "y" if "more?" in prompt else ""
    )
    assert main(["sheet", str(config), "--interactive"]) == 0
    shown = capsys.readouterr().err
    titles = [line.split("(")[-1] for line in shown.splitlines() if line[:1].isdigit()]

    assert "nothing more is asked" in shown
    assert len(titles) == len(set(titles)) > 25


def test_a_bare_number_is_said_with_its_unit(config: Path) -> None:
    """What is taken for it is told; in the sheet the unit stands."""
    ran = piped(config, "\n12.5\nq\n")

    assert "taken as 12.5 mm" in ran.err
    assert "melt_length: 12.5 mm" in ran.out


def test_bytes_that_are_no_text_are_a_bad_answer(config: Path) -> None:
    """They are told as such, and the question stands."""
    ran = piped(config, b"\xff\xfe\x1b[A\nlong\n")

    assert ran.code == 0
    assert "not in the list" in ran.err
    assert "\x1b" not in ran.err
    assert stated(ran.out) == LONG


def test_the_config_cannot_come_with_the_answers(config: Path) -> None:
    """Both on standard input is wrong usage."""
    done = subprocess.run(
        command("-", "--interactive"), cwd=config.parent, env=environment(), input=CONFIG.encode(),
        capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert b"name the config file" in done.stderr


def test_out_writes_a_new_file(config: Path) -> None:
    """Nothing on stdout, the file as umask says, nothing else left beside it."""
    ran = piped(config, "long\nq\n", "--out", "hardware.yaml")
    made = config.parent / "hardware.yaml"

    assert (ran.code, ran.out) == (0, "")
    assert stated(made.read_text()) == LONG
    assert "written to hardware.yaml" in ran.err
    assert sorted(path.name for path in config.parent.iterdir()) == ["hardware.yaml", "printer.cfg"]
    old = os.umask(0)
    os.umask(old)
    assert made.stat().st_mode & 0o777 == 0o666 & ~old


@wide
@pytest.mark.parametrize("reply", spread(["n\n", "\n", ""], 2))
def test_a_file_that_is_there_is_kept(config: Path, reply: str) -> None:
    """Only a yes replaces it; without one the sheet goes to stdout."""
    there = config.parent / "notes.yaml"
    earlier = starter_sheet(str(config), Asks())
    there.write_text(earlier)
    ran = piped(config, f"{reply}long\nq\n" if reply else "", "--out", "notes.yaml")

    assert ran.code == 0
    assert there.read_text() == earlier
    assert "nothing of it is kept" in ran.err
    assert stated(ran.out) == (LONG if reply else {})


def test_a_file_that_is_no_sheet_is_refused_before_a_question(config: Path) -> None:
    """Not even a yes replaces what neither was read as the sheet nor was written as one."""
    there = config.parent / "notes.yaml"
    there.write_text("# mine\n")
    ran = piped(config, "y\nlong\nq\n", "--out", "notes.yaml")

    assert (ran.code, ran.out) == (2, "")
    assert there.read_text() == "# mine\n"
    assert "name another file" in ran.err
    assert "find out" not in ran.err


def test_a_yes_replaces_and_keeps_values(config: Path) -> None:
    """The sheet beside the config is where it starts; permissions stay."""
    there = config.parent / "hardware.yaml"
    there.write_text("# mine\nmotor: {rated_current: 0.9..1.1 A}\n")
    there.chmod(0o640)
    ran = piped(config, "y\nlong\nq\n", "--out", "hardware.yaml")

    assert (ran.code, ran.out) == (0, "")
    assert "its values are kept" in ran.err
    assert "rated_current: 0.9..1.1 A" in there.read_text()
    assert "class: long" in there.read_text()
    assert there.stat().st_mode & 0o777 == 0o640


@wide
@only_wide
def test_the_sheet_that_is_read_is_not_written_behind(config: Path) -> None:
    """'>> hardware.yaml' would make a sheet with everything twice."""
    there = config.parent / "hardware.yaml"
    there.write_text("ambient: 20 degC\n")
    with there.open("ab") as behind:
        done = subprocess.run(
            command("printer.cfg", "--interactive"), cwd=config.parent, env=environment(),
            input=b"long\n", stdout=behind, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert b"--out hardware.yaml" in done.stderr
    assert there.read_text() == "ambient: 20 degC\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_loses_no_answer(config: Path) -> None:
    """What stdout does not take stands on stderr."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            command("printer.cfg", "--interactive"), cwd=config.parent, env=environment(),
            input=b"long\nq\n", stdout=full, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert done.returncode == 3
    assert b"hotend:\n  class: long\n" in done.stderr


def test_a_file_that_cannot_be_written_loses_no_answer(config: Path) -> None:
    """Here its name is too long for the file system; the sheet goes to stdout, exit code 3."""
    ran = piped(config, "long\nq\n", "--out", "x" * 250)

    assert ran.code == 3
    assert "cannot be written" in ran.err
    assert stated(ran.out) == LONG
    assert [path.name for path in config.parent.iterdir()] == ["printer.cfg"]


@pytest.mark.parametrize("out", [".", "none/hardware.yaml", "/dev/null"])
def test_out_must_be_a_file(config: Path, out: str) -> None:
    """A folder, a device, a folder that is not there: wrong usage before the first question."""
    ran = piped(config, "long\n", "--out", out)

    assert (ran.code, ran.out) == (2, "")
    assert "find out" not in ran.err


@wide
@only_wide
def test_out_without_questions(config: Path) -> None:
    """The starter goes to a new file; one that is there is never replaced."""
    for code, words in ((0, b""), (2, b"only --interactive asks")):
        done = subprocess.run(
            command("printer.cfg", "--out", "new.yaml"), cwd=config.parent, env=environment(),
            capture_output=True, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stdout) == (code, b"")
        assert words in done.stderr
    assert "# Hardware sheet for printer.cfg" in (config.parent / "new.yaml").read_text()


class Terminal:
    """The program in a terminal of its own: what it shows, and keys pressed there."""

    def __init__(self, config: Path, *arguments: str, columns: int = 80, **env: str) -> None:
        pty = pytest.importorskip("pty", reason="needs a terminal of the POSIX kind")
        import fcntl
        import struct
        import termios

        def begin() -> None:
            """Take the terminal, with Ctrl-C as in one, also where the tests run without it."""
            fcntl.ioctl(0, termios.TIOCSCTTY, 0)
            signal.signal(signal.SIGINT, signal.SIG_DFL)

        self.ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self.process = subprocess.Popen(
            command("printer.cfg", "--interactive", *arguments), cwd=config.parent,
            env=environment(**env), stdin=theirs, stdout=subprocess.PIPE,
            stderr=theirs, start_new_session=True,
            preexec_fn=begin,  # noqa: PLW1509 - no threads
        )  # fmt: skip
        os.close(theirs)
        self.shown = ""

    def wait_for(self, words: str) -> None:
        """Read what is shown until these words come behind what was seen."""
        seen, end = len(self.shown), time.monotonic() + 30
        while words not in self.shown[seen:] and time.monotonic() < end:
            if select.select([self.ours], [], [], 1.0)[0]:
                self.shown += os.read(self.ours, 65536).decode().replace("\r\n", "\n")
        assert words in self.shown[seen:], self.shown

    def press(self, keys: str) -> None:
        os.write(self.ours, keys.encode())

    def end(self) -> tuple[int, str]:
        """Return exit code and stdout."""
        try:
            out, _ = self.process.communicate(timeout=30)
        finally:  # a program that hangs is a failure, not a test without an end
            self.process.kill()
            os.close(self.ours)
        return self.process.returncode, out.decode()


@wide
@pytest.mark.parametrize("term", spread(["xterm-256color", "dumb"], 1))
def test_in_a_terminal(config: Path, term: str) -> None:
    """Plain lines, no escape sequences, 80 columns, a slip mended with the backspace key."""
    terminal = Terminal(config, TERM=term, FORCE_COLOR="1", columns=132)
    terminal.wait_for("[not known]: ")
    terminal.press("lonh\x7fg\n")
    terminal.wait_for("[not known]: ")
    terminal.press("?\n")
    terminal.wait_for("[not known]: ")
    terminal.press("q\n")
    code, out = terminal.end()

    assert (code, stated(out)) == (0, LONG)
    assert "\x1b" not in terminal.shown
    assert max(map(len, terminal.shown.split("\n"))) <= 80


@wide
@only_wide
def test_ctrl_d_writes_what_was_answered(config: Path) -> None:
    """The end of the input in a terminal."""
    terminal = Terminal(config)
    terminal.wait_for("[not known]: ")
    terminal.press("long\n")
    terminal.wait_for("[not known]: ")
    terminal.press("\x04")
    code, out = terminal.end()
    assert (code, stated(out)) == (0, LONG)


@wide
@pytest.mark.parametrize("out", spread([(), ("--out", "made.yaml")], 1))
def test_ctrl_c_writes_what_was_answered(config: Path, out: tuple[str, ...]) -> None:
    """Nothing is asked; the sheet is whole, and the exit code says that it was interrupted."""
    terminal = Terminal(config, *out)
    terminal.wait_for("[not known]: ")
    terminal.press("long\n")
    terminal.wait_for("[not known]: ")
    terminal.press("\x03")
    code, text = terminal.end()
    if out:
        assert text == ""
        text = (config.parent / "made.yaml").read_text()
    assert (code, stated(text)) == (130, LONG)


@wide
@only_wide
def test_ctrl_c_at_once_writes_nothing(config: Path) -> None:
    """Without an answer there is nothing to lose: no file is made."""
    terminal = Terminal(config, "--out", "made.yaml")
    terminal.wait_for("[not known]: ")
    terminal.press("\x03")
    code, text = terminal.end()

    assert (code, text) == (130, "")
    assert not (config.parent / "made.yaml").exists()


@wide
@only_wide
@pytest.mark.parametrize("name", ["SIGHUP", "SIGTERM"])
def test_a_line_that_is_cut_loses_no_answer(config: Path, name: str) -> None:
    """The connection is gone: what was answered is in the file."""
    terminal = Terminal(config, "--out", "made.yaml")
    terminal.wait_for("[not known]: ")
    terminal.press("long\n")
    terminal.wait_for("[not known]: ")
    terminal.process.send_signal(getattr(signal, name))
    code, _ = terminal.end()

    assert code == 130
    assert stated((config.parent / "made.yaml").read_text()) == LONG
