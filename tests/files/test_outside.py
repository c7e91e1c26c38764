"""What lies outside of a config's folder is read at most for its values: no text of it gets out."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from file_runs import Runner
from tiers import WIDE, only_wide, spread, wide

from advisor.report import pictures

SECRET = "Zq7SECRETzq"
CONFIG = """\
[printer]
max_velocity: 300
max_accel: 3000

[extruder]
rotation_distance: 22.6
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
min_temp: 0
max_temp: 280
"""
DRIVER = f"""\
# {SECRET} in a comment
; {SECRET}
[tmc2209 extruder]  # {SECRET}
run_current: 1.90  # {SECRET}
sense_resistor: 0.110
{SECRET}: {SECRET}
hold_current: {SECRET}
interpolate: {SECRET}
stray {SECRET}

[extruder]
gear_ratio: {SECRET}:1
pressure_advance: {SECRET}0.04
   max_power: {SECRET}
rotation_distance: 22.6
max_temp: 280 {SECRET}

[gcode_macro {SECRET}]
gcode:
  G1 E50 F{SECRET}
  M117 {SECRET}
[Extruder]
{SECRET} = 1
[extruder_stepper {SECRET}]
extruder: {SECRET}
rotation_distance: 22
microsteps: 16
[tmc2130 extruder_stepper {SECRET}]
run_current: 9{SECRET}
[tmc2209 {SECRET}]
run_current: 1
[include {SECRET}.cfg]
[include ../machine/{SECRET}.cfg]
[include {SECRET}*.cfg]
# feedwright: allow {SECRET}, {SECRET}
# feedwright: {SECRET}
<<<<<<< {SECRET}
: {SECRET}
#*# <---------------------- SAVE_CONFIG ---------------------->
#*# [extruder]
#*# max_power = 0.5{SECRET}
"""
PRIVATE = f"user:{SECRET}:1000\n{SECRET}=1\n"


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A machine's folder beside a private one, with a secret in each file of that."""
    machine, private = tmp_path / "machine", tmp_path / "private"
    machine.mkdir()
    private.mkdir()
    (machine / "printer.cfg").write_text(CONFIG)
    (private / "driver.cfg").write_text(DRIVER)
    (private / "passwd").write_text(PRIVATE)
    (private / "passwd.cfg").write_text(PRIVATE)
    (private / "late.cfg").write_text(f"{SECRET}: 1\n" + DRIVER)
    (private / f"{SECRET}.txt").write_text(PRIVATE)
    (private / "header.txt").write_text(DRIVER)
    (private / "outside.yaml").write_text(f"motor: {{{SECRET}: 1.2 A}}\nambient: {SECRET}\n")
    (private / "folder.cfg").mkdir()
    if hasattr(os, "mkfifo"):
        os.mkfifo(private / "pipe.cfg")
    return tmp_path


@pytest.fixture
def without_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """They take most of a page's time; the test of all at once looks at pages that have them."""
    monkeypatch.setattr(pictures, "available", lambda: False)


def commands(config: Path, html: Path) -> Iterator[tuple[object, ...]]:
    """Yield every command that reads a config, in each of its forms."""
    for form in ("text", "json", "sarif"):
        yield "lint", config, "--format", form
        yield "lint", config, "--no-allow", "--format", form
        yield "lint", config, "--full", "--format", form
    for name in ("flow", "grip", "torque", "mend"):
        for form in ("text", "json"):
            yield name, config, "--format", form
    for form in ("text", "json", "csv"):
        yield "compare", config, "--target", "30mm3/s", "--format", form
    for form in ("text", "json"):
        yield "explain", "motor.run_current", config, "--format", form
        yield "explain", "drive.gear_ratio", config, "--format", form
        yield "weigh", "plan", config, "--format", form
    yield "sheet", config
    yield "report", config, "--html", html
    yield "report", config, "--html", "-"


def leaks(house: Path, run: Runner, *, options: tuple[object, ...] = ()) -> list[str]:
    """Run every command; return those that let the secret out, or fail of themselves."""
    found = []
    for number, words in enumerate(commands(house / "machine/printer.cfg", house / "page.html")):
        ran = run(*words, *options)
        page = house / "page.html"
        said = ran.said + (page.read_text() if page.exists() else "")
        page.unlink(missing_ok=True)
        if SECRET in said or SECRET.lower() in said.lower() or "INTERNAL" in said:
            found.append(f"{number}: {words}: {said[max(0, said.find(SECRET) - 200) :][:400]}")
    return found


INCLUDES = (
    "[include linked/*.cfg]\n[include linked/passwd]\n[include link.cfg]\n[include other.cfg]",
    "[include ../private/driver.cfg]",
    "[include ../private/*.cfg]",
    "[include ../*/*.cfg]",
    "[include ../private/*]",
    "[include ../private/passwd]",
    "[include ../private/late.cfg]",
)


@pytest.mark.usefixtures("without_pictures")
@wide
@only_wide
@pytest.mark.parametrize("include", INCLUDES)
def test_no_text_of_a_file_outside_gets_out(house: Path, run: Runner, include: str) -> None:
    """Every command, every form: the text of what is outside is nowhere."""
    config = house / "machine/printer.cfg"
    config.write_text(include + "\n" + CONFIG)
    (house / "machine/linked").symlink_to(house / "private")
    (house / "machine/link.cfg").symlink_to(house / "private/driver.cfg")
    (house / "machine/other.cfg").symlink_to(house / "private/passwd")

    assert leaks(house, run) == []


def test_no_text_of_a_file_outside_gets_out_at_all_once(house: Path, run: Runner) -> None:
    """All of it together, with values inside that are doubled outside."""
    config = house / "machine/printer.cfg"
    config.write_text(CONFIG + "".join(f"{line}\n" for line in INCLUDES) + CONFIG)

    assert leaks(house, run) == []


@wide
@only_wide
@pytest.mark.usefixtures("without_pictures")
def test_system_files_do_not_get_out(house: Path, run: Runner) -> None:
    """The environment and the passwords file: the sentence, and nothing of them."""
    os.environ["FEEDWRIGHT_TEST_PLANT"] = SECRET
    try:
        config = house / "machine/printer.cfg"
        text = "[include /etc/passwd]\n[include /proc/self/environ]\n[include /proc/kmsg]\n"
        config.write_text(text + "[include /dev/zero]\n[include /sys/*/*]\n" + CONFIG)
        found = leaks(house, run)
        said = run("lint", config).said
    finally:
        del os.environ["FEEDWRIGHT_TEST_PLANT"]
    assert found == []
    assert "/bin/" not in said
    assert "root:" not in said


def _absent(path: Path) -> None:
    """Nothing is there."""


def _pipe(path: Path) -> None:
    os.mkfifo(path)


STATES: dict[str, Callable[[Path], object]] = {
    "private text": lambda path: path.write_text(PRIVATE),
    "a setting first": lambda path: path.write_text(f"{SECRET}: 1\n" + DRIVER),
    "empty": lambda path: path.write_text(""),
    "comments alone": lambda path: path.write_text(f"# {SECRET}\n"),
    "binary": lambda path: path.write_bytes(bytes(range(256)) * 40),
    "too large": lambda path: path.write_bytes(b"[extruder]\n" * 500_000),
    "a folder": lambda path: path.mkdir(),
    "a pipe": _pipe,
    "a link to a text": lambda path: path.symlink_to(path.parent / "passwd"),
    "a link to nothing": lambda path: path.symlink_to(path.parent / "nothing.cfg"),
    "a link to itself": lambda path: path.symlink_to(path),
    "a link into the system": lambda path: path.symlink_to("/proc/self/environ"),
}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
@wide
@pytest.mark.parametrize("name", spread(["it.cfg", "it", "i[t].cfg"], 1))
def test_outside_nothing_can_be_probed(house: Path, run: Runner, name: str) -> None:
    """Absent, unreadable or unlike: all commands say the same, byte for byte."""
    config = house / "machine/printer.cfg"
    config.write_text(f"[include ../private/{name}]\n" + CONFIG)
    path = house / "private" / name.replace("[t]", "t")
    forms = [("lint", config, "--format", form) for form in ("text", "json", "sarif")]
    words = [*forms, ("mend", config), ("torque", config)]
    words = words if WIDE else words[1:4]
    said: dict[str, list[object]] = {}
    some = list(STATES.items()) if WIDE else spread(list(STATES.items()), 4)
    for state, make in [("absent", _absent), *some]:
        make(path)
        said[state] = [run(*one) for one in words]
        path.rmdir() if state == "a folder" else path.unlink(missing_ok=True)
    assert [state for state, answers in said.items() if answers != said["absent"]] == []
    assert "lead out of the config's folder" in " ".join(str(said["absent"]).split())


@wide
@pytest.mark.parametrize(
    ("one", "other"),
    spread(
        [
            ("../private/Zq7S*.txt", "../private/Zq8S*.txt"),
            ("../priv*/passwd", "../prov*/passwd"),
            ("*/../../private/passw[d]", "*/../../private/passw[e]"),
            ("link[e]d/passw[d]", "link[e]d/passw[e]"),
            ("../private/pip[e].cfg", "../private/pip[a].cfg"),
        ],
        2,
    ),
)
def test_patterns_cannot_probe(house: Path, run: Runner, one: str, other: str) -> None:
    """A pattern that leaves the folder says the same whether or not something matches."""
    config = house / "machine/printer.cfg"
    (house / "machine/linked").symlink_to(house / "private")
    (house / "machine/sub").mkdir()
    said = []
    for pattern in (one, other):
        config.write_text(f"[include {pattern}]\n" + CONFIG)
        said.append(run("lint", config, "--format", "json").said.replace(pattern, "PATTERN"))
    assert said[0] == said[1]
    assert "PATTERN" in said[0]


def test_values_outside_count_and_are_told(house: Path, run: Runner) -> None:
    """The over-driven motor is found: include as written, line, key, value as parsed."""
    config = house / "machine/printer.cfg"
    config.write_text("[include ../private/driver.cfg]\n" + CONFIG)
    ran = run("lint", config, "--full")

    assert "private/driver.cfg:4" in "".join(ran.out.split())
    assert "1.9" in ran.out
    assert "run-current" in ran.out


def test_values_outside_that_are_none_are_not_taken_for_missing(house: Path, run: Runner) -> None:
    """What stands there unreadably is unreadable, not a default."""
    config = house / "machine/printer.cfg"
    config.write_text("[include ../private/driver.cfg]\n" + CONFIG)
    ran = run("explain", "drive.gear_ratio", config)

    assert SECRET not in ran.said
    assert "(not shown)" in run("lint", config).out


def test_mend_names_and_does_not_edit(house: Path, run: Runner) -> None:
    """File, line and new value; the file stays, and the diff does not hold it."""
    config = house / "machine/printer.cfg"
    config.write_text("[include ../private/driver.cfg]\n" + CONFIG)
    before = {path: path.read_bytes() for path in (house / "private").glob("*.cfg")
              if path.is_file()}  # fmt: skip
    shown = run("mend", config)
    ran = run("mend", config, "--write")

    assert "private/driver.cfg" not in shown.out
    joined = "".join(shown.err.split())
    assert "private/driver.cfg:4" in joined
    assert "setrun_current:" in joined
    assert "whichnothingisedited" in joined or "wherenothingisedited" in joined
    assert SECRET not in shown.said + ran.said
    assert before == {path: path.read_bytes() for path in before}
    assert not list((house / "private").glob(".*"))


def test_allow_outside_lifts_both(house: Path, run: Runner) -> None:
    """On the command line alone: quoted and edited as what is inside."""
    config = house / "machine/printer.cfg"
    config.write_text("[include ../private/driver.cfg]\n" + CONFIG)
    lifted = ("--allow-outside", house / "private")
    driver = house / "private/driver.cfg"
    driver.write_text(f"[tmc2209 extruder]  # {SECRET}\nrun_current: 1.90\n#{SECRET} {SECRET}\n"
                      f"sense_resistor: {SECRET}\n")  # fmt: skip

    assert SECRET in run("lint", config, *lifted).said
    driver.write_text(driver.read_text().replace(f"sense_resistor: {SECRET}", ""))
    (house / "machine/hardware.yaml").write_text("motor: {rated_current: 1.0 A}\n")
    ran = run("mend", config, "--write", *lifted)
    assert ran.code == 0, ran.said
    assert "run_current: 1.90" not in driver.read_text(), ran.said
    assert SECRET in ran.out
    assert run("lint", config, "--allow-outside", house / "none").code == 2


@wide
@only_wide
@pytest.mark.usefixtures("without_pictures")
def test_allow_outside_is_on_every_command(house: Path, run: Runner) -> None:
    """Each command that reads a config takes the option and goes on without a word on it."""
    config = house / "machine/printer.cfg"
    for words in commands(config, house / "page.html"):
        ran = run(*words, "--allow-outside", house)
        assert "no such option" not in ran.err.lower(), words
        assert ran.code != 2 or "no flow is requested" in ran.err, (words, ran.err)


def test_a_config_from_standard_input_leads_nowhere(
    house: Path, run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only a config given as a path has configs outside followed."""
    import io
    import sys

    monkeypatch.chdir(house / "machine")
    text = "[include ../private/driver.cfg]\n" + CONFIG
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    ran = run("lint", "-")

    assert "lead out of the config's folder" in " ".join(ran.out.split())
    assert "run-current" not in ran.out


@wide
@pytest.mark.parametrize("base", spread(["../private/outside.yaml", "../private/none.yaml",
                                  "../private/passwd", "/etc/passwd"], 2))  # fmt: skip
def test_a_sheet_leads_nowhere(house: Path, run: Runner, base: str) -> None:
    """A sheet found beside a stranger's config: its base outside draws the one sentence."""
    (house / "machine/hardware.yaml").write_text(f"base: {base}\n")
    said = run("lint", house / "machine/printer.cfg").said
    explicit = run(
        "lint", house / "machine/printer.cfg", "--sheet", house / "machine/hardware.yaml"
    ).said

    for text in (said, explicit):
        assert SECRET not in text
        assert "root:" not in text
        assert f"'{base}' cannot be read: it lies outside" in " ".join(text.split())


def test_a_base_is_read_where_that_is_allowed(house: Path, run: Runner) -> None:
    """--allow-outside holds for sheets too."""
    (house / "machine/hardware.yaml").write_text("base: ../private/outside.yaml\n")
    ran = run("lint", house / "machine/printer.cfg", "--allow-outside", house / "private")

    assert SECRET in ran.said


def test_a_sheet_that_is_a_link_outside_is_not_read(house: Path, run: Runner) -> None:
    """Found beside the config it is not the user's word; named with --sheet it is."""
    (house / "machine/hardware.yaml").symlink_to(house / "private/outside.yaml")
    config = house / "machine/printer.cfg"

    found = run("lint", config)
    assert SECRET not in found.said
    assert "it lies outside" in " ".join(found.said.split())
    assert SECRET in run("lint", config, "--sheet", house / "machine/hardware.yaml").said


@wide
@only_wide
def test_a_pattern_over_everything_is_cut_off(house: Path, run: Runner) -> None:
    """Names are counted: a tree of 30,000 is not listed to its end, and a sentence says so."""
    for folder in range(30):
        (house / f"machine/many{folder}").mkdir()
        for number in range(1000):
            (house / f"machine/many{folder}/{number}.cfg").touch()
    config = house / "machine/printer.cfg"
    config.write_text("[include */*x.cfg]\n" + CONFIG)
    ran = run("lint", config)

    assert "20000 names" in " ".join(ran.out.split())


def test_a_parent_behind_a_link_is_as_good_as_absent(house: Path, run: Runner) -> None:
    """A stranger's link beside a profile leads nowhere; a folder beside it is searched as ever."""
    machine, private = house / "machine", house / "private"
    (private / "lost.ini").write_text(f"filament_max_volumetric_speed = 7.4321\n# {SECRET}\n")
    (machine / "child.ini").write_text("inherits = lost\ntemperature = 210\n")
    words = (
        "lint",
        machine / "printer.cfg",
        "--profile",
        machine / "child.ini",
        "--format",
        "json",
    )
    (private / "lost.ini").rename(private / "kept")
    absent = run(*words)
    (machine / "lost.ini").symlink_to(private / "kept")
    linked = run(*words)
    lifted = run(*words, "--allow-outside", private)
    (machine / "lost.ini").unlink()
    (private / "kept").rename(private / "lost.ini")
    beside = run(*words)

    assert linked == absent
    assert "lost" in absent.said
    assert "7.4321" not in linked.said
    assert "7.4321" in lifted.said
    assert "7.4321" in beside.said
