"""Hostile hardware sheets, weighed tests and prints."""

from __future__ import annotations

from costly_made import CONFIG, LINT, WEIGHED, Case, Files, case, cut, numbered, sheet


@case
def sheet_of_laughs() -> Case:
    """Anchors that each name the one before ten times."""
    rows = ["a0: &a0 [x, x]"] + [
        f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 12)
    ]
    return sheet("\n".join(rows) + "\n")


@case
def sheet_of_itself() -> Case:
    """An anchor within itself."""
    return sheet("motor: &a {class: round-36, x: *a}\n")


@case
def deep_sheet() -> Case:
    """Lists in lists."""
    return sheet("motor: " + "[" * 100_000 + "]" * 100_000 + "\n")


@case
def deep_sheet_of_blocks() -> Case:
    """Blocks in blocks, by their indent."""
    return sheet("".join(" " * i + "a:\n" for i in range(1_300)))


@case
def sheet_of_many_keys() -> Case:
    """Fields that nobody knows."""
    return sheet(numbered("k{i}: 1\n", 80_000))


@case
def sheet_of_many_near_keys() -> Case:
    """Fields that are nearly known."""
    return sheet("motor:\n" + numbered("  rated_currnt{i}: 1 A\n", 30_000))


@case
def sheet_of_many_extruders() -> Case:
    """Extruders that the config does not have."""
    return sheet(
        "extruders:\n" + numbered("  extruder{i}: {{motor: {{rated_current: 1 A}}}}\n", 18_000)
    )


@case
def sheet_of_many_allowances() -> Case:
    """A list of very many allowances."""
    return sheet("allow:\n" + numbered("- rule-{i}, r\n", 55_000))


@case
def sheet_of_one_long_value() -> Case:
    """A value of a million letters."""
    return sheet("motor: {rated_current: " + "1" * 1_000_000 + " A}\n")


@case
def sheet_of_one_long_unit() -> Case:
    """A unit of very many factors."""
    return sheet("motor: {rated_current: 1 " + "A A " * 200_000 + "}\n")


@case
def sheet_of_powers() -> Case:
    """A unit of huge powers."""
    return sheet("motor: {rated_current: 1 A" + "9" * 5_000 + "}\n")


@case
def sheet_of_tabs() -> Case:
    """Tabs and blanks."""
    return sheet("motor:\n" + "\t " * 400_000 + "\n")


@case
def sheet_of_comments() -> Case:
    """Comments only."""
    return sheet("#a\n" * 300_000)


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
    return _table(WEIGHED + numbered("8.{i}; 100; 0.29; no;\n", 40_000))


@case
def weighed_of_bad_rows() -> Case:
    """Very many rows that are no numbers."""
    return _table(WEIGHED + "x; y; z; q;\n" * 70_000)


@case
def weighed_of_many_columns() -> Case:
    """A header of very many columns."""
    return _table("flow [mm3/s];" + numbered("c{i};", 100_000) + "\n8; 1\n")


@case
def weighed_of_one_quote() -> Case:
    """A quote that never closes."""
    return _table(WEIGHED + '8; 100; 0.29; no; "' + "\n;" * 400_000)


@case
def weighed_of_notes() -> Case:
    """Notes before the header."""
    return _table("# " + "a " * 400_000 + "\n" + cut("# material: pla\n", 200_000) + WEIGHED)


@case
def weighed_of_many_rows_in_lint() -> Case:
    """The same rows in the main job."""
    return _table(WEIGHED + numbered("{i}; 100; 0.29; no;\n", 40_000), *LINT, "--weighed", "w.csv")


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
    return _print("M83\nG1 X0 Y0 F6000\n" + numbered(";TYPE:f{i}\nG1 X{i} E.1\n", 30_000))


@case
def print_of_many_tools() -> Case:
    """Tools that differ."""
    return _print("M83\n" + numbered("T{i}\nG1 X{i} E.1 F6000\n", 30_000))
