"""Hostile configs: long, deep, repeated, and very many of whatever a config may hold."""

from __future__ import annotations

from costly_made import (
    CONFIG,
    LINT,
    PROFILE,
    SMALL_MOTOR,
    Case,
    Files,
    case,
    cut,
    lint,
    numbered,
)


@case
def allowances_in_a_row() -> Case:
    """Comments that allow a rule, with no setting between."""
    return lint(CONFIG + "# feedwright: allow gear-ratio-odd, because\n" * 10_000)


@case
def allowances_that_hold() -> Case:
    """Comments that allow one known rule, each on a line of its own."""
    return lint(CONFIG + cut("# feedwright: allow duplicate-setting, r\n"))


@case
def allowances_and_findings() -> Case:
    """As many findings as allowances, each of one key."""
    rows = "pressure_advance: {i} # feedwright: allow setting-twice, r\n"
    return lint(CONFIG + "[extruder]\n" + numbered(rows, 12_000))


@case
def allowances_of_many_names() -> Case:
    """One comment that names very many rules that are not known."""
    return lint(CONFIG + "# feedwright: allow " + numbered("a{i}-b ", 80_000) + ", r\n")


@case
def comments_of_ours_misspelt() -> Case:
    """Comments with a verb that is nearly known."""
    return lint(CONFIG + numbered("# feedwright: alow{i} x\n", 30_000))


@case
def one_long_comment_of_ours() -> Case:
    """A comment whose text is near the limit."""
    return lint(CONFIG + "# feedwright: allow" + " " * 900_000 + "x\n")


@case
def one_long_line() -> Case:
    """A value of a million letters."""
    return lint(CONFIG + "[extruder]\npressure_advance: " + "9" * 1_000_000 + "\n")


@case
def one_long_key() -> Case:
    """A key of a million letters."""
    return lint(CONFIG + "k" * 1_000_000 + ": 1\n")


@case
def one_long_header() -> Case:
    """A header of a million letters, and one of brackets only."""
    return lint(CONFIG + "[extruder" + "]" * 500_000 + "\n" + "[" * 400_000 + "\n")


@case
def one_long_blank() -> Case:
    """A value of a million blanks."""
    return lint(CONFIG + "[extruder]\nrotation_distance:" + " " * 1_000_000 + "x\n")


@case
def one_long_gear_ratio() -> Case:
    """A gear ratio of very many stages."""
    return lint(CONFIG.replace("50:10", "50:10" + ", 50:10" * 140_000))


@case
def one_broken_gear_ratio() -> Case:
    """A gear ratio that fails at its end."""
    return lint(CONFIG.replace("50:10", "50:10 " * 150_000 + "x"))


@case
def one_deep_number() -> Case:
    """A number with signs and points only."""
    return lint(CONFIG.replace("22.6", "-" * 300_000 + "." * 300_000))


@case
def long_section_repeated() -> Case:
    """A long name of a section, again and again."""
    return lint(CONFIG + cut(f"[gcode_macro {'x' * 900}]\n"))


@case
def many_sections() -> Case:
    """Sections of names that differ."""
    return lint(CONFIG + numbered("[s{i}]\n", 100_000))


@case
def many_near_misses() -> Case:
    """Sections nearly named as an extruder or a driver."""
    return lint(CONFIG + numbered("[Extruder{i}]\n[tmc{i} extrude]\n", 30_000))


@case
def many_near_keys() -> Case:
    """Keys nearly named as known ones."""
    return lint(CONFIG + "[extruder]\n" + numbered("rotation_distanc{i}: 5\n", 40_000))


@case
def many_drivers() -> Case:
    """Driver sections of the one extruder."""
    return lint(CONFIG + numbered("[tmc{i} extruder]\nrun_current: 1\n", 28_000))


@case
def many_duplicates() -> Case:
    """One key set again and again, to differing values."""
    return lint(CONFIG + "[extruder]\n" + numbered("rotation_distance: {i}\n", 40_000))


@case
def many_duplicate_keys() -> Case:
    """Very many keys, each set twice."""
    return lint(CONFIG + "[extruder]\n" + numbered("k{i}: 1\nk{i}: 2\n", 45_000))


@case
def many_stray_lines() -> Case:
    """Lines that are neither header nor setting."""
    return lint(CONFIG + "".join("stray\n\n" for _ in range(140_000)))


@case
def many_swallowed_lines() -> Case:
    """Settings that the indent makes part of the value before."""
    return lint(CONFIG + "[extruder]\n" + "pressure_advance: 0.04\n  max_accel: 3\n" * 25_000)


@case
def many_empty_lines() -> Case:
    """Line ends only."""
    return lint(CONFIG + "\n" * 1_000_000)


@case
def many_line_ends() -> Case:
    """Every kind of line end, in turn."""
    return lint(CONFIG.encode() + b"\r\n\n\r" * 250_000)


@case
def many_bad_bytes() -> Case:
    """Bytes that are no text."""
    return lint(CONFIG.encode() + b"# \xff\xfe\n" * 200_000)


@case
def many_nul_bytes() -> Case:
    """A file of NUL."""
    return lint(CONFIG.encode() + b"\0" * 1_000_000)


@case
def many_saved_headers() -> Case:
    """The saved block's header, again and again."""
    head = "#*# <---------------------- SAVE_CONFIG ---------------------->\n"
    return lint(CONFIG + cut(head))


@case
def many_saved_settings() -> Case:
    """A saved block of very many keys."""
    head = "\n#*# <---------------------- SAVE_CONFIG ---------------------->\n"
    head += "#*# DO NOT EDIT THIS BLOCK OR BELOW. The contents are auto-generated.\n#*#\n"
    return lint(CONFIG + head + "#*# [extruder]\n" + numbered("#*# k{i} = 1\n", 60_000))


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
    files: Files = {f"farm/{i}.cfg": CONFIG for i in range(32)}
    return files, ["report", "farm", "--html", "page.html"]


@case
def most_machines_in_two_configs() -> Case:
    """As many, half of them in each of two configs."""
    whole, _ = _extruders(16)
    files: Files = {f"farm/{i}.cfg": whole["printer.cfg"] for i in range(2)}
    return files, ["report", "farm", "--html", "page.html"]


def _different() -> str:
    """Return a config of as many extruders as may be, no two of the same values."""
    extruder = CONFIG[CONFIG.index("nozzle") :].replace("[tmc2209 extruder]", "[tmc2209 NAME]")
    rows = [
        f"[{name}]\n{extruder}".replace("NAME", name)
        .replace("22.6", f"{22.6 + 0.1 * i:.1f}")
        .replace("run_current: 0.85", f"run_current: {0.85 + 0.001 * i:.3f}")
        for i, name in enumerate(("extruder", *(f"extruder{i}" for i in range(1, 32))))
    ]
    return CONFIG[: CONFIG.index("[extruder]")] + "".join(rows)


@case
def most_extruders_all_different_on_a_page() -> Case:
    """As many extruders as may be, of each of which all has to be worked out by itself."""
    return {"printer.cfg": _different()}, ["report", "printer.cfg", "--html", "page.html"]


@case
def all_different_and_wrong_on_a_page() -> Case:
    """The same with a cap that none reaches and a current that no motor bears, and the edits."""
    files: Files = {"printer.cfg": _different(), "p.ini": PROFILE, "hardware.yaml": SMALL_MOTOR}
    return files, ["report", "printer.cfg", "--html", "page.html", "--profile", "p.ini"]


@case
def mend_all_different() -> Case:
    """The edits of those."""
    files, _ = all_different_and_wrong_on_a_page()
    return files, ["mend", "printer.cfg", "--profile", "p.ini"]


def _extruders(count: int) -> Case:
    extruder = CONFIG[CONFIG.index("nozzle") : CONFIG.index("[tmc")]
    rows = "".join(f"[extruder{i}]\n{extruder}" for i in range(1, count))
    return {"printer.cfg": CONFIG + rows}, LINT


@case
def many_extruder_steppers() -> Case:
    """Stepper sections that name the extruder."""
    row = "[extruder_stepper s{i}]\nextruder: extruder\nrotation_distance: 22\n"
    return lint(CONFIG + numbered(row, 10_000))


@case
def many_macros() -> Case:
    """Macros that name each other in a ring."""
    row = "[gcode_macro m{i}]\ngcode:\n  m{i}0\n  G1 E50 F3000\n"
    return lint(CONFIG + numbered(row, 18_000))


@case
def many_macro_lines() -> Case:
    """One macro of very many moves."""
    return lint(CONFIG + "[gcode_macro a]\ngcode:\n" + cut("  G1 E50 F3000\n"))


@case
def many_macro_marks() -> Case:
    """A macro of template marks that never end."""
    return lint(CONFIG + "[gcode_macro a]\ngcode:\n" + cut("  {% if x\n {{ ("))


@case
def one_long_macro_line() -> Case:
    """A macro with one line of a million letters."""
    return lint(CONFIG + "[gcode_macro a]\ngcode:\n  G1 " + "E1 " * 300_000 + "\n")


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
        "a.cfg": cut("[a]\n b:1\n"),
    }
    return files, LINT


@case
def many_missing_includes() -> Case:
    """Includes of files that are not there."""
    return lint(CONFIG + numbered("[include a{i}.cfg]\n", 48_000))


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
    text = CONFIG + "[extruder]\n" + numbered("rotation_distance: 22.{i}\n", 30_000)
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
    text = CONFIG + "[a]\n" + numbered("k{i}: {i}\n", 50_000)
    return {"printer.cfg": text, "p.ini": PROFILE}, ["mend", "printer.cfg", "--profile", "p.ini"]


@case
def json_of_many_findings() -> Case:
    """The report of very many events as JSON."""
    text = CONFIG + "[extruder]\n" + numbered("rotation_distance: {i}\n", 40_000)
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
