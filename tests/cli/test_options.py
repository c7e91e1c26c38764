"""A shared option is defined once, in one table, and each command takes its own from there."""

from __future__ import annotations

import ast
import dataclasses
import re
from collections import defaultdict
from pathlib import Path
from typing import Any

import advisor.cli.options as table
from advisor.cli.app import COMMANDS, LazyGroup

CLI = Path(table.__file__).parent
SAY_ANOTHER_THING = {
    "--sheet": 4,  # one machine's, one a machine, one a table, the motor alone
    "--material": 2,  # of the machine, or to tell only how warm a gear gets
    "--format": 3,  # of an answer, of lint's report, of a diff
    "--fail-on": 2,  # its default is another for a page
    "--config": 3,  # whose limits a print runs under, of the machine weighed, or one a table
    "--gcode": 2,  # one file, or one a lowered current
    "--csv": 2,  # a curve written, or a table to fill in
    "--interactive": 3,  # ask for each edit, for what narrows the answer, or for what is seen
}


def _commands() -> dict[str, Any]:
    """All commands by name, those of a group too."""
    group = LazyGroup(name="feedwright")
    found = {name: group.get_command(None, name) for name in COMMANDS}
    for group_name in ("weigh", "skip-test"):
        inner = found.pop(group_name).commands
        found |= {f"{group_name} {name}": command for name, command in inner.items()}
    return found


def _helps() -> dict[str, dict[str, list[str]]]:
    """By flag and help text, the commands that have it."""
    helps: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for name, command in _commands().items():
        for option in command.params:
            if option.param_type_name == "option" and option.name != "help":
                helps[option.opts[0]][option.help].append(name)
    return helps


def _definitions() -> list[tuple[str, str]]:
    """Flag and module of every option that the code of the commands writes down."""
    found = []
    for path in sorted(CLI.glob("*.py")):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and call.args and isinstance(call.args[0], ast.Constant):
                flag = call.args[0].value
                if ast.unparse(call.func).lower().endswith("option") and isinstance(flag, str):
                    found.append((flag, path.stem))
    return found


def test_one_flag_one_help() -> None:
    """A flag says the same in every command, but for the few that mean another thing there."""
    several = {flag: len(texts) for flag, texts in _helps().items() if len(texts) > 1}

    assert several == SAY_ANOTHER_THING


def test_an_option_of_several_commands_is_written_down_once() -> None:
    """What two commands have in common stands in the table; the text of a flag nowhere twice."""
    modules = defaultdict(list)
    for flag, module in _definitions():
        modules[flag].append(module)
    assert len(modules) > 40  # they were found
    for flag, texts in _helps().items():
        if any(len(names) > 1 for names in texts.values()):
            assert "options" in modules[flag], flag
        # lint's and compare's forms have more choices and the same words
        assert len(modules[flag]) <= len(texts) + (flag == "--format"), flag


def test_the_table_holds_what_is_shared_and_commands_read_what_they_take() -> None:
    """Each row is taken by two commands at least, and none reads a row that it did not take."""
    rows = {field.name for field in dataclasses.fields(table.Shared)}
    takers = defaultdict(set)
    for path in CLI.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for function in ast.walk(tree):
            if not isinstance(function, ast.FunctionDef):
                continue
            for decorator in function.decorator_list:
                if isinstance(decorator, ast.Call) and ast.unparse(decorator.func) == "takes":
                    taken = {ast.literal_eval(name) for name in decorator.args}
                    own = {argument.arg for argument in function.args.args}
                    for row in rows & (taken - own):
                        takers[row].add((path.stem, function.name))
                    read = set(re.findall(r"\bshared\.(\w+)", ast.unparse(function)))
                    assert read <= taken - own, (function.name, read - taken)

    assert {row: names for row, names in takers.items() if len(names) < 2} == {}
    assert set(takers) == rows
