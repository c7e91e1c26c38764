"""Prints what small hostile inputs cost: CPU seconds and the peak of the memory, each by itself.

    .venv/bin/python tests/benchmarks/hostile_inputs.py [NAME...]

An input below 1 MB may take 5 s of CPU and 300 MB. This is a measurement, no test: the tests
count (tests/answers/test_budgets.py and beside the readers). Each input runs in a process of its
own, stopped at 60 s of CPU. The files are made up.
"""

# ruff: noqa: T201 (what it prints is what it is for)

from __future__ import annotations

import io
import json
import os
import resource
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

CPU_LIMIT, MEMORY_LIMIT, STOPPED_AT = 5.0, 300.0, 12
SMALL = 2**20
CONFIG = """\
[printer]
max_velocity: 300
max_accel: 3000

[extruder]
nozzle_diameter: 0.4
filament_diameter: 1.75
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
max_extrude_only_velocity: 60

[tmc2209 extruder]
run_current: 0.85
sense_resistor: 0.110
"""
PROFILE = "filament_type = PLA\nfilament_max_volumetric_speed = 24\nlayer_height = 0.2\n"
SMALL_MOTOR = "motor: {class: round-36, rated_current: 0.5 A, rating_basis: peak}\n"
WEIGHED = "flow [mm3/s]; length [mm]; mass [g]; skipped; note\n"

Files = dict[str, str | bytes]
Case = tuple[Files, list[str]]
CASES: dict[str, Callable[[], Case]] = {}
LINT = ["lint", "printer.cfg", "--fail-on", "never"]
PROFILED = [*LINT, "--profile", "p.ini"]
JOINED = ["lint", "printer.cfg", "--fail-on", "never", "--profile", "p.zip"]


def case(make: Callable[[], Case]) -> Callable[[], Case]:
    """Register an input under the name of its function."""
    CASES[make.__name__] = make
    return make


def _lint(text: str | bytes, *more: str) -> Case:
    return {"printer.cfg": text}, [*LINT, *more]


def _profile(text: str | bytes, name: str = "p.ini", *command: str) -> Case:
    files: Files = {"printer.cfg": CONFIG, name: text}
    return files, [*(command or LINT), "--profile", name]


def _sheet(text: str) -> Case:
    return {"printer.cfg": CONFIG, "hardware.yaml": text}, LINT


def _cut(line: str, size: int = SMALL) -> str:
    return line * (size // len(line) - 1)


def _numbered(row: str, count: int) -> str:
    return "".join(row.format(i=i) for i in range(count))


# configs


@case
def allowances_in_a_row() -> Case:
    """Comments that allow a rule, with no setting between."""
    return _lint(CONFIG + "# feedwright: allow gear-ratio-odd, because\n" * 10_000)


@case
def allowances_that_hold() -> Case:
    """Comments that allow one known rule, each on a line of its own."""
    return _lint(CONFIG + _cut("# feedwright: allow duplicate-setting, r\n"))


@case
def allowances_and_findings() -> Case:
    """As many findings as allowances, each of one key."""
    rows = "pressure_advance: {i} # feedwright: allow setting-twice, r\n"
    return _lint(CONFIG + "[extruder]\n" + _numbered(rows, 12_000))


@case
def allowances_of_many_names() -> Case:
    """One comment that names very many rules that are not known."""
    return _lint(CONFIG + "# feedwright: allow " + _numbered("a{i}-b ", 80_000) + ", r\n")


@case
def comments_of_ours_misspelt() -> Case:
    """Comments with a verb that is nearly known."""
    return _lint(CONFIG + _numbered("# feedwright: alow{i} x\n", 30_000))


@case
def one_long_comment_of_ours() -> Case:
    """A comment whose text is near the limit."""
    return _lint(CONFIG + "# feedwright: allow" + " " * 900_000 + "x\n")


@case
def one_long_line() -> Case:
    """A value of a million letters."""
    return _lint(CONFIG + "[extruder]\npressure_advance: " + "9" * 1_000_000 + "\n")


@case
def one_long_key() -> Case:
    """A key of a million letters."""
    return _lint(CONFIG + "k" * 1_000_000 + ": 1\n")


@case
def one_long_header() -> Case:
    """A header of a million letters, and one of brackets only."""
    return _lint(CONFIG + "[extruder" + "]" * 500_000 + "\n" + "[" * 400_000 + "\n")


@case
def one_long_blank() -> Case:
    """A value of a million blanks."""
    return _lint(CONFIG + "[extruder]\nrotation_distance:" + " " * 1_000_000 + "x\n")


@case
def one_long_gear_ratio() -> Case:
    """A gear ratio of very many stages."""
    return _lint(CONFIG.replace("50:10", "50:10" + ", 50:10" * 140_000))


@case
def one_broken_gear_ratio() -> Case:
    """A gear ratio that fails at its end."""
    return _lint(CONFIG.replace("50:10", "50:10 " * 150_000 + "x"))


@case
def one_deep_number() -> Case:
    """A number with signs and points only."""
    return _lint(CONFIG.replace("22.6", "-" * 300_000 + "." * 300_000))


@case
def long_section_repeated() -> Case:
    """A long name of a section, again and again."""
    return _lint(CONFIG + _cut(f"[gcode_macro {'x' * 900}]\n"))


@case
def many_sections() -> Case:
    """Sections of names that differ."""
    return _lint(CONFIG + _numbered("[s{i}]\n", 100_000))


@case
def many_near_misses() -> Case:
    """Sections nearly named as an extruder or a driver."""
    return _lint(CONFIG + _numbered("[Extruder{i}]\n[tmc{i} extrude]\n", 30_000))


@case
def many_near_keys() -> Case:
    """Keys nearly named as known ones."""
    return _lint(CONFIG + "[extruder]\n" + _numbered("rotation_distanc{i}: 5\n", 40_000))


@case
def many_drivers() -> Case:
    """Driver sections of the one extruder."""
    return _lint(CONFIG + _numbered("[tmc{i} extruder]\nrun_current: 1\n", 28_000))


@case
def many_duplicates() -> Case:
    """One key set again and again, to differing values."""
    return _lint(CONFIG + "[extruder]\n" + _numbered("rotation_distance: {i}\n", 40_000))


@case
def many_duplicate_keys() -> Case:
    """Very many keys, each set twice."""
    return _lint(CONFIG + "[extruder]\n" + _numbered("k{i}: 1\nk{i}: 2\n", 45_000))


@case
def many_stray_lines() -> Case:
    """Lines that are neither header nor setting."""
    return _lint(CONFIG + "".join("stray\n\n" for _ in range(140_000)))


@case
def many_swallowed_lines() -> Case:
    """Settings that the indent makes part of the value before."""
    return _lint(CONFIG + "[extruder]\n" + "pressure_advance: 0.04\n  max_accel: 3\n" * 25_000)


@case
def many_empty_lines() -> Case:
    """Line ends only."""
    return _lint(CONFIG + "\n" * 1_000_000)


@case
def many_line_ends() -> Case:
    """Every kind of line end, in turn."""
    return _lint(CONFIG.encode() + b"\r\n\n\r" * 250_000)


@case
def many_bad_bytes() -> Case:
    """Bytes that are no text."""
    return _lint(CONFIG.encode() + b"# \xff\xfe\n" * 200_000)


@case
def many_nul_bytes() -> Case:
    """A file of NUL."""
    return _lint(CONFIG.encode() + b"\0" * 1_000_000)


@case
def many_saved_headers() -> Case:
    """The saved block's header, again and again."""
    head = "#*# <---------------------- SAVE_CONFIG ---------------------->\n"
    return _lint(CONFIG + _cut(head))


@case
def many_saved_settings() -> Case:
    """A saved block of very many keys."""
    head = "\n#*# <---------------------- SAVE_CONFIG ---------------------->\n"
    head += "#*# DO NOT EDIT THIS BLOCK OR BELOW. The contents are auto-generated.\n#*#\n"
    return _lint(CONFIG + head + "#*# [extruder]\n" + _numbered("#*# k{i} = 1\n", 60_000))


@case
def many_extruders() -> Case:
    """Sections of 300 extruders, on the page."""
    files, _ = _extruders(300)
    return files, ["report", "printer.cfg", "--html", "page.html"]


@case
def many_extruders_linted() -> Case:
    """Sections of 10,000 extruders."""
    files, _ = _extruders(10_000)
    return files, LINT


@case
def most_extruders_on_a_page() -> Case:
    """As many extruders as may be."""
    files, _ = _extruders(32)
    return files, ["report", "printer.cfg", "--html", "page.html"]


@case
def most_machines_on_a_page() -> Case:
    """A folder of as many extruders as a run may have, a config each."""
    files: Files = {f"farm/{i}.cfg": CONFIG for i in range(48)}
    return files, ["report", "farm", "--html", "page.html"]


@case
def most_machines_in_two_configs() -> Case:
    """As many, half of them in each of two configs."""
    whole, _ = _extruders(24)
    files: Files = {f"farm/{i}.cfg": whole["printer.cfg"] for i in range(2)}
    return files, ["report", "farm", "--html", "page.html"]


def _extruders(count: int) -> Case:
    extruder = CONFIG[CONFIG.index("nozzle") : CONFIG.index("[tmc")]
    rows = "".join(f"[extruder{i}]\n{extruder}" for i in range(1, count))
    return {"printer.cfg": CONFIG + rows}, LINT


@case
def many_extruder_steppers() -> Case:
    """Stepper sections that name the extruder."""
    row = "[extruder_stepper s{i}]\nextruder: extruder\nrotation_distance: 22\n"
    return _lint(CONFIG + _numbered(row, 10_000))


@case
def many_macros() -> Case:
    """Macros that name each other in a ring."""
    row = "[gcode_macro m{i}]\ngcode:\n  m{i}0\n  G1 E50 F3000\n"
    return _lint(CONFIG + _numbered(row, 18_000))


@case
def many_macro_lines() -> Case:
    """One macro of very many moves."""
    return _lint(CONFIG + "[gcode_macro a]\ngcode:\n" + _cut("  G1 E50 F3000\n"))


@case
def many_macro_marks() -> Case:
    """A macro of template marks that never end."""
    return _lint(CONFIG + "[gcode_macro a]\ngcode:\n" + _cut("  {% if x\n {{ ("))


@case
def one_long_macro_line() -> Case:
    """A macro with one line of a million letters."""
    return _lint(CONFIG + "[gcode_macro a]\ngcode:\n  G1 " + "E1 " * 300_000 + "\n")


@case
def many_includes_of_one_file() -> Case:
    """Includes of the same file."""
    files: Files = {"printer.cfg": CONFIG + "[include a.cfg]\n" * 60_000, "a.cfg": "[a]\nb: 1\n"}
    return files, LINT


@case
def many_includes_of_a_long_file() -> Case:
    """A long file, included as often as may be."""
    files: Files = {
        "printer.cfg": CONFIG + "[include a.cfg]\n" * 1_000,
        "a.cfg": _cut("[a]\n b:1\n"),
    }
    return files, LINT


@case
def many_missing_includes() -> Case:
    """Includes of files that are not there."""
    return _lint(CONFIG + _numbered("[include a{i}.cfg]\n", 48_000))


@case
def includes_that_double() -> Case:
    """Each file includes the next one twice."""
    files: Files = {
        f"{i}.cfg": f"[include {i + 1}.cfg]\n" * 2 + f"[s]\nk{i}: 1\n" for i in range(60)
    }
    return {"printer.cfg": CONFIG + "[include 0.cfg]\n", **files}, LINT


@case
def many_patterns_in_an_include() -> Case:
    """Includes with a pattern, again and again, in a folder of many files."""
    files: Files = {f"d/{i}.cfg": "[a]\n" for i in range(900)}
    return {"printer.cfg": CONFIG + "[include d/*.cfg]\n" * 1_000, **files}, LINT


@case
def mend_many_duplicates() -> Case:
    """The edits of a config with very many duplicates."""
    text = CONFIG + "[extruder]\n" + _numbered("rotation_distance: 22.{i}\n", 30_000)
    return {"printer.cfg": text}, ["mend", "printer.cfg"]


@case
def mend_many_extruders() -> Case:
    """As many extruders as may be, each with a current that its motor cannot bear."""
    extruder = CONFIG[CONFIG.index("nozzle") : CONFIG.index("[tmc")]
    row = f"[extruder{{i}}]\n{extruder}[tmc2209 extruder{{i}}]\nrun_current: 0.85\n"
    rows = "".join(row.replace("{i}", str(i)) for i in range(1, 32))
    files: Files = {"printer.cfg": CONFIG + rows, "hardware.yaml": SMALL_MOTOR, "p.ini": PROFILE}
    return files, ["mend", "printer.cfg", "--profile", "p.ini"]


@case
def mend_a_long_config() -> Case:
    """The edits of a config of a megabyte."""
    text = CONFIG + "[a]\n" + _numbered("k{i}: {i}\n", 50_000)
    return {"printer.cfg": text, "p.ini": PROFILE}, ["mend", "printer.cfg", "--profile", "p.ini"]


@case
def json_of_many_findings() -> Case:
    """The report of very many events as JSON."""
    text = CONFIG + "[extruder]\n" + _numbered("rotation_distance: {i}\n", 40_000)
    return {"printer.cfg": text}, [*LINT, "--format", "json"]


@case
def sarif_of_many_findings() -> Case:
    """The same as SARIF."""
    text = CONFIG + "".join("stray\n\n" for _ in range(140_000))
    return {"printer.cfg": text}, [*LINT, "--format", "sarif"]


@case
def page_of_many_findings() -> Case:
    """The same as a page."""
    text = CONFIG + "".join("stray\n\n" for _ in range(140_000))
    return {"printer.cfg": text}, ["report", "printer.cfg", "--html", "page.html"]


# profiles


@case
def bundle_of_a_maker() -> Case:
    """What must pass: 4,612 presets in 1 MB, each with a parent."""
    row = "[filament:f{i}]\ninherits = *c*\nfilament_type = PLA\n"
    row += "filament_max_volumetric_speed = {i}\n"
    bundle = "[filament:*c*]\nfilament_density = 1.24\n" + _numbered(
        row + "filament_cost = 2; x{i}\n" * 4, 4_612
    )
    files: Files = {"printer.cfg": CONFIG, "p.ini": bundle}
    return files, [*PROFILED, "--preset", "f7"]


@case
def bundle_of_a_maker_unchosen() -> Case:
    """The same, with no preset chosen."""
    files, _ = bundle_of_a_maker()
    return files, PROFILED


@case
def mend_with_many_presets() -> Case:
    """The edits of a bundle of 100,000 presets."""
    text = "[filament:a]\n" + PROFILE + _numbered("[filament:f{i}]\n", 55_000)
    return _profile(text, "p.ini", "mend", "printer.cfg")


@case
def mend_with_far_too_many_presets() -> Case:
    """The edits of a bundle of 100,000 presets with a value each (more than 1 MB)."""
    row = "[filament:f{i}]\nfilament_max_volumetric_speed = 24\n"
    return _profile(_numbered(row, 100_000), "p.ini", "mend", "printer.cfg")


@case
def presets_in_a_chain() -> Case:
    """Presets that inherit from one another, in a long chain."""
    row = "[filament:f{i}]\nfilament_type = PLA\ninherits = f{i}0\n"
    return _profile(_numbered(row, 15_000))


@case
def presets_with_many_parents() -> Case:
    """A preset with as many parents as presets."""
    rows = _numbered("[filament:f{i}]\nfilament_type = PLA\n", 12_000)
    names = ";".join(f"f{i}" for i in range(12_000))
    return _profile(f"{rows}[filament:z]\ninherits = {names}\nfilament_max_volumetric_speed = 9\n")


@case
def presets_that_double() -> Case:
    """Each preset inherits from the next two."""
    row = "[filament:f{i}]\nfilament_type = PLA\ninherits = f{j}; f{k}\n"
    text = "".join(row.format(i=i, j=i + 1, k=i + 2) for i in range(60))
    return _profile(text)


@case
def presets_with_lost_parents() -> Case:
    """Presets that each name another parent that is nowhere."""
    row = "[filament:f{i}]\nfilament_max_volumetric_speed = 9\ninherits = g{i}\n"
    return _profile(_numbered(row, 12_000))


@case
def profile_of_one_key() -> Case:
    """One key again and again."""
    return _profile(PROFILE + _numbered("filament_max_volumetric_speed = {i}\n", 22_000))


@case
def profile_of_many_keys() -> Case:
    """Keys that nobody knows."""
    return _profile(PROFILE + _numbered("k{i} = {i}\n", 60_000))


@case
def profile_of_one_long_line() -> Case:
    """A value of a million letters."""
    return _profile(PROFILE + "filament_max_volumetric_speed = " + "9," * 450_000)


@case
def profile_of_quotes() -> Case:
    """A list of quotes that never close."""
    return _profile(PROFILE + 'filament_type = "' + '\\";"' * 200_000)


@case
def profile_of_blanks() -> Case:
    """Lines of blanks only."""
    return _profile(PROFILE + (" " * 1_000 + "\n") * 900)


@case
def profile_of_semicolons() -> Case:
    """A print profile kept as comments."""
    return _profile("; " + _cut("; filament_type = PLA\n"))


@case
def profile_of_comment_marks() -> Case:
    """A file of comment marks."""
    return _profile(";" * 1_000_000 + "\n" + PROFILE)


@case
def large_ini() -> Case:
    """32 MB of ini (more than 1 MB, for comparison)."""
    return _profile(PROFILE + _cut("a = 1\n", 32 * SMALL - 4096))


@case
def deep_json() -> Case:
    """Lists in lists."""
    return _profile('{"filament_type": ' + "[" * 450_000 + "]" * 450_000 + "}", "p.json")


@case
def deep_json_objects() -> Case:
    """Objects in objects."""
    return _profile('{"a":' * 170_000 + "1" + "}" * 170_000, "p.json")


@case
def wide_json() -> Case:
    """A list of very many numbers."""
    return _profile(
        '{"type": "filament", "filament_max_volumetric_speed": [' + "1," * 450_000 + "1]}", "p.json"
    )


@case
def json_of_many_keys() -> Case:
    """An object of very many keys."""
    rows = {f"k{i}": "1" for i in range(60_000)}
    return _profile(json.dumps({"type": "filament", "filament_type": "PLA", **rows}), "p.json")


@case
def json_of_one_key() -> Case:
    """An object that states one key again and again."""
    rows = '"filament_type": "PLA",' * 40_000
    return _profile("{" + rows + '"type": "filament"}', "p.json")


@case
def json_of_many_presets() -> Case:
    """A list of very many presets."""
    rows = [
        {"type": "filament", "name": f"f{i}", "filament_max_volumetric_speed": ["9"]}
        for i in range(11_000)
    ]
    return _profile(json.dumps(rows), "p.json")


@case
def json_of_long_numbers() -> Case:
    """A number of a million digits."""
    return _profile(
        '{"type": "filament", "filament_max_volumetric_speed": ' + "9" * 1_000_000 + "}", "p.json"
    )


@case
def json_of_escapes() -> Case:
    """A text of escapes that never ends."""
    return _profile('{"filament_type": "' + "\\u0041" * 160_000, "p.json")


@case
def json_that_breaks_off() -> Case:
    """A million opening brackets."""
    return _profile("[{" * 450_000, "p.json")


@case
def zip_that_unpacks_far() -> Case:
    """A small archive of members that unpack to 15 MB each."""
    return _profile(_zip({f"{i}.ini": b"a = 1\n" * (15 * SMALL // 6) for i in range(4)}), "p.zip")


@case
def zip_of_zeros() -> Case:
    """A small archive of line ends."""
    return _profile(_zip({f"{i}.ini": b"\n" * (15 * SMALL) for i in range(4)}), "p.zip")


@case
def zip_of_json() -> Case:
    """A small archive of JSON that unpacks far."""
    body = b'{"type":"filament","filament_type":[' + b"1," * 7_000_000 + b"1]}"
    return _profile(_zip({f"{i}.json": body for i in range(4)}), "p.zip")


@case
def zip_of_many_keys() -> Case:
    """A small archive of members of very many keys."""
    body = _numbered("filament_type = PLA\nk{i} = 1\n", 400_000).encode()
    return _profile(_zip({f"{i}.ini": body for i in range(6)}), "p.zip")


@case
def zip_of_many_members() -> Case:
    """An archive of very many small members."""
    return _profile(_zip({f"{i}.ini": PROFILE.encode() for i in range(6_000)}), "p.zip")


@case
def zip_of_overlapping_members() -> Case:
    """Members that all are the same bytes of the archive."""
    return _profile(_overlapping(2_000, b"a = 1\n" * 2_500_000), "p.zip")


@case
def zip_of_broken_members() -> Case:
    """Members whose check sums are wrong; the bytes unpack all the same."""
    data = bytearray(_overlapping(2_000, b"a = 1\n" * 2_500_000))
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 16] ^= 0xFF
        at = data.find(b"PK\x01\x02", at + 1)
    return _profile(bytes(data), "p.zip")


@case
def zip_of_lying_members() -> Case:
    """Members that state a size of 0."""
    data = bytearray(_zip({f"{i}.ini": b"a = 1\n" * (15 * SMALL // 6) for i in range(4)}))
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 24 : at + 28] = bytes(4)
        at = data.find(b"PK\x01\x02", at + 1)
    return _profile(bytes(data), "p.zip")


def _zip(members: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return target.getvalue()


@case
def zip_of_lzma() -> Case:
    """A small archive by another method."""
    body = b"a = 1\n" * (15 * SMALL // 6)
    return _profile(_zip({f"{i}.ini": body for i in range(4)}, zipfile.ZIP_LZMA), "p.zip")


@case
def zip_of_bzip2() -> Case:
    """A small archive by another method."""
    body = b"a = 1\n" * (15 * SMALL // 6)
    return _profile(_zip({f"{i}.ini": body for i in range(4)}, zipfile.ZIP_BZIP2), "p.zip")


def _overlapping(count: int, body: bytes) -> bytes:
    """Return an archive whose list names the same bytes `count` times."""
    data = _zip({"00000.ini": body})
    first, end = data.index(b"PK\x01\x02"), data.index(b"PK\x05\x06")
    entry = data[first:end]
    entries = entry * count
    tail = bytearray(data[end:])
    tail[8:10] = tail[10:12] = count.to_bytes(2, "little")
    tail[12:16] = len(entries).to_bytes(4, "little")
    return data[:first] + entries + bytes(tail)


# hardware sheets


@case
def sheet_of_laughs() -> Case:
    """Anchors that each name the one before ten times."""
    rows = ["a0: &a0 [x, x]"] + [
        f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 12)
    ]
    return _sheet("\n".join(rows) + "\n")


@case
def sheet_of_itself() -> Case:
    """An anchor within itself."""
    return _sheet("motor: &a {class: round-36, x: *a}\n")


@case
def deep_sheet() -> Case:
    """Lists in lists."""
    return _sheet("motor: " + "[" * 100_000 + "]" * 100_000 + "\n")


@case
def deep_sheet_of_blocks() -> Case:
    """Blocks in blocks, by their indent."""
    return _sheet("".join(" " * i + "a:\n" for i in range(1_300)))


@case
def sheet_of_many_keys() -> Case:
    """Fields that nobody knows."""
    return _sheet(_numbered("k{i}: 1\n", 80_000))


@case
def sheet_of_many_near_keys() -> Case:
    """Fields that are nearly known."""
    return _sheet("motor:\n" + _numbered("  rated_currnt{i}: 1 A\n", 30_000))


@case
def sheet_of_many_extruders() -> Case:
    """Extruders that the config does not have."""
    return _sheet(
        "extruders:\n" + _numbered("  extruder{i}: {{motor: {{rated_current: 1 A}}}}\n", 18_000)
    )


@case
def sheet_of_many_allowances() -> Case:
    """A list of very many allowances."""
    return _sheet("allow:\n" + _numbered("- rule-{i}, r\n", 55_000))


@case
def sheet_of_one_long_value() -> Case:
    """A value of a million letters."""
    return _sheet("motor: {rated_current: " + "1" * 1_000_000 + " A}\n")


@case
def sheet_of_one_long_unit() -> Case:
    """A unit of very many factors."""
    return _sheet("motor: {rated_current: 1 " + "A A " * 200_000 + "}\n")


@case
def sheet_of_powers() -> Case:
    """A unit of huge powers."""
    return _sheet("motor: {rated_current: 1 A" + "9" * 5_000 + "}\n")


@case
def sheet_of_tabs() -> Case:
    """Tabs and blanks."""
    return _sheet("motor:\n" + "\t " * 400_000 + "\n")


@case
def sheet_of_comments() -> Case:
    """Comments only."""
    return _sheet("#a\n" * 300_000)


@case
def sheet_of_bases() -> Case:
    """Sheets that each stand on the next one."""
    files: Files = {f"{i}.yaml": f"base: {i + 1}.yaml\nambient: 25 degC\n" for i in range(3_000)}
    return {"printer.cfg": CONFIG, "hardware.yaml": "base: 0.yaml\n", **files}, LINT


# weighed tests


def _table(text: str, *command: str) -> Case:
    files: Files = {"printer.cfg": CONFIG, "w.csv": text}
    return files, [*(command or ("weigh", "read", "w.csv", "--config", "printer.cfg"))]


@case
def weighed_of_many_rows() -> Case:
    """Very many rows of one flow."""
    return _table(WEIGHED + "8; 100; 0.29; no;\n" * 50_000)


@case
def weighed_of_many_flows() -> Case:
    """Very many rows of flows that differ."""
    return _table(WEIGHED + _numbered("8.{i}; 100; 0.29; no;\n", 40_000))


@case
def weighed_of_bad_rows() -> Case:
    """Very many rows that are no numbers."""
    return _table(WEIGHED + "x; y; z; q;\n" * 70_000)


@case
def weighed_of_many_columns() -> Case:
    """A header of very many columns."""
    return _table("flow [mm3/s];" + _numbered("c{i};", 100_000) + "\n8; 1\n")


@case
def weighed_of_one_quote() -> Case:
    """A quote that never closes."""
    return _table(WEIGHED + '8; 100; 0.29; no; "' + "\n;" * 400_000)


@case
def weighed_of_notes() -> Case:
    """Notes before the header."""
    return _table("# " + "a " * 400_000 + "\n" + _cut("# material: pla\n", 200_000) + WEIGHED)


@case
def weighed_of_many_rows_in_lint() -> Case:
    """The same rows in the main job."""
    return _table(WEIGHED + _numbered("{i}; 100; 0.29; no;\n", 40_000), *LINT, "--weighed", "w.csv")


# prints


def _print(text: str) -> Case:
    files: Files = {"printer.cfg": CONFIG, "p.gcode": text}
    return files, ["demand", "p.gcode", "--config", "printer.cfg"]


@case
def print_of_short_moves() -> Case:
    """Very many short moves."""
    return _print("M83\nG1 X0 Y0 F6000\n" + "G1 X1 E.1\nG1 X0 E.1\n" * 50_000)


@case
def print_of_arcs() -> Case:
    """Arcs of a huge radius."""
    return _print("M83\nG1 X0 Y0 F6000\n" + "G2 X1 Y1 I99999 J99999 E1\n" * 38_000)


@case
def print_of_one_long_line() -> Case:
    """A line of a million letters."""
    return _print("M83\nG1 " + "X1 " * 340_000 + "\n")


@case
def print_of_many_features() -> Case:
    """Marks of features that differ."""
    return _print("M83\nG1 X0 Y0 F6000\n" + _numbered(";TYPE:f{i}\nG1 X{i} E.1\n", 30_000))


@case
def print_of_many_tools() -> Case:
    """Tools that differ."""
    return _print("M83\n" + _numbered("T{i}\nG1 X{i} E.1 F6000\n", 30_000))


# the runner


def main(names: list[str]) -> int:
    """Run the named inputs, or all, and return how many that are small took too much."""
    over = 0
    print(f"{'input':34} {'bytes':>10} {'CPU s':>7} {'MB':>6} {'exit':>4}  first words", flush=True)
    for name in names or CASES:
        with tempfile.TemporaryDirectory() as folder:
            files, arguments = CASES[name]()
            size = _write(Path(folder), files)
            cpu, memory, code, said = _run(folder, arguments)
        bad = cpu > CPU_LIMIT or memory > MEMORY_LIMIT or code not in (0, 1, 2, 3)
        bad = bad or "INTERNAL" in said or "Traceback" in said
        over += bad and max(map(len, files.values())) <= SMALL
        mark = " OVER" if bad else ""
        print(
            f"{name:34} {size:10,} {cpu:7.2f} {memory:6.0f} {code:4}{mark}  {said[:90]}", flush=True
        )
    print(f"{over} over")
    return over


def _write(folder: Path, files: Files) -> int:
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (STOPPED_AT, STOPPED_AT))
    resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))


def _run(folder: str, arguments: list[str]) -> tuple[float, float, int, str]:
    """Return CPU seconds, peak megabytes, exit code and the first complaint or line."""
    command = [sys.executable, "-m", "advisor", *arguments]
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # as for a user: modules are compiled once
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        child = subprocess.Popen(
            command,
            cwd=folder,
            stdout=out,
            stderr=err,
            stdin=subprocess.DEVNULL,
            env=env,
            preexec_fn=_limit,  # noqa: PLW1509
        )
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        said = next(_words(err), None) or next(_words(out), "")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, child.returncode, said


def _words(stream: io.BufferedRandom) -> Iterator[str]:
    stream.seek(0)
    text = stream.read(4_000_000).decode(errors="replace")
    for line in text.splitlines():
        if line.strip():
            yield line.strip()


if __name__ == "__main__":
    sys.exit(bool(main(sys.argv[1:])))
