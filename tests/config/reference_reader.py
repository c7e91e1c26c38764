"""The firmware's reading rules written down a second time, on the standard library's reader.

``configparser.RawConfigParser`` decides on sections, keys, values and continuation lines. Only
what the firmware does around it is added: each line is cut at the first '#', includes are
spliced in, and the saved block is split off by its exact form. It refuses what they refuse.
"""

from __future__ import annotations

import configparser
import fnmatch
import io
import posixpath
import re

from strategies import SAVED_TITLE

Values = dict[str, dict[str, str]]


class Refused(Exception):
    """The firmware would not start with this config."""


def read(files: dict[str, str], root: str) -> tuple[Values, Values]:
    """Return the live and the saved values of a config.

    Raises
    ------
    Refused
        If the firmware would not take it.
    """
    body, saved = _split_saved(_lines(files[root]))
    live = _parser()
    _read_file(files, root, body, live, [root])
    block = _parser()
    _feed(block, [line.partition("#")[0] for line in saved])
    return _values(live), _values(block)


def _lines(text: str) -> list[str]:
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _split_saved(lines: list[str]) -> tuple[list[str], list[str]]:
    """Split off the saved block; the heading's two other lines are skipped as prose."""
    marks = [line for line in lines[: _title(lines)] if line.startswith("#*# ")]
    if marks or SAVED_TITLE not in lines:
        return lines, []
    title = _title(lines)
    block = "\n".join(lines[title + 1 :]).rstrip().split("\n")
    content = []
    for line in block:
        if line and line != "#*#" and not line.startswith("#*# "):
            return lines, []
        if not line and block != [""]:
            return lines, []
        content.append(line[4:])
    first = next((at for at, line in enumerate(content) if line.startswith("[")), len(content))
    return lines[:title], content[first:]


def _title(lines: list[str]) -> int:
    return lines.index(SAVED_TITLE) if SAVED_TITLE in lines else len(lines)


def _parser() -> configparser.RawConfigParser:
    return configparser.RawConfigParser(
        strict=False,
        interpolation=None,
        delimiters=(":", "="),
        inline_comment_prefixes=(";",),
        default_section="\0never",
    )


def _read_file(
    files: dict[str, str],
    name: str,
    lines: list[str],
    parser: configparser.RawConfigParser,
    chain: list[str],
) -> None:
    buffer: list[str] = []
    for line in lines:
        cut = line.partition("#")[0]
        header = configparser.RawConfigParser.SECTCRE.match(cut)
        if header is None or not header["header"].startswith("include "):
            buffer.append(cut)
            continue
        _feed(parser, buffer)
        buffer = []
        for path in _targets(files, name, header["header"][8:].strip()):
            if path in chain:
                raise Refused("cycle")
            _read_file(files, path, _lines(files[path]), parser, [*chain, path])
    _feed(parser, buffer)


def _targets(files: dict[str, str], name: str, target: str) -> list[str]:
    path = posixpath.normpath(posixpath.join(posixpath.dirname(name), target))
    if re.search(r"[*?\[]", target):
        return sorted(known for known in files if fnmatch.fnmatchcase(known, path))
    if path not in files:
        raise Refused("missing")
    return [path]


def _feed(parser: configparser.RawConfigParser, lines: list[str]) -> None:
    try:
        parser.read_file(io.StringIO("\n".join(lines)))
    except (configparser.Error, AttributeError, KeyError) as err:
        raise Refused(str(err)) from None


def _values(parser: configparser.RawConfigParser) -> Values:
    return {name: dict(parser[name]) for name in parser.sections()}
