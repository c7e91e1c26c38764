"""Writes a hardware sheet from what is stated in it: the text that our own reader takes.

Values are written as they were given. It knows no defaults and judges nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from advisor.inputs import Allowance, load_fields

__all__ = ["sheet_text", "value_of"]

_PLAIN = re.compile(r"[A-Za-z0-9.+-](?:[A-Za-z0-9.+/%() -]|[:,](?=\S))*", re.ASCII)
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?: [A-Za-z0-9_]+)*", re.ASCII)
_WORDS = frozenset({"true", "false", "null", "~", "yes", "no", "on", "off",
                    "-", "---", "...", ".inf", "+.inf", "-.inf", ".nan"})  # fmt: skip

Stated = Mapping[str, str]  # text of the value by the path of the field


def sheet_text(
    heading: Iterable[str],
    shared: Stated,
    extruders: Mapping[str, Stated] | None = None,
    allow: Iterable[Allowance] = (),
    name: str | None = None,
) -> str:
    """Return the text of a sheet.

    Parameters
    ----------
    heading : iterable of str
        Lines of comment, without the mark.
    shared : mapping of str to str
        What is stated for all extruders, by field.
    extruders : mapping, optional
        What is stated for single extruders, by the names of their sections.
    allow : iterable of Allowance
        The rules that its owner allows.
    name : str, optional
        What the owner calls the machine.
    """
    lines = [f"# {line}".rstrip() for line in heading]
    lines += [] if name is None else [f"name: {value_of(name)}"]
    lines += _block(_ordered(shared), "", blank=True)
    parts = {name: stated for name, stated in (extruders or {}).items() if stated}
    if parts:
        lines += ["", "extruders:"]
    for section, stated in parts.items():
        lines += [f"  {_key(section)}:", *_block(_ordered(stated), "    ", blank=False)]
    allowed = [f"  - {value_of(_allowance(one))}" for one in allow]
    if allowed:
        lines += ["", "allow:", *allowed]
    return "\n".join(lines) + "\n"


def _ordered(stated: Stated) -> dict[str, str]:
    """Return the fields in the order of the sheet."""
    order = {path: number for number, path in enumerate(load_fields().fields)}
    return {
        path: stated[path] for path in sorted(stated, key=lambda one: order.get(one, len(order)))
    }


def _block(stated: Stated, indent: str, *, blank: bool) -> Iterator[str]:
    """Yield the lines of fields, a block within a block for each dot."""
    groups: dict[str, dict[str, str]] = {}
    for path, value in stated.items():
        name, _, rest = path.partition(".")
        groups.setdefault(name, {})[rest] = value
    for name, inner in groups.items():
        if "" in inner:
            yield f"{indent}{name}: {value_of(inner[''])}"
            continue
        if blank:
            yield ""
        yield f"{indent}{name}:"
        yield from _block(inner, f"{indent}  ", blank=False)


def _key(name: str) -> str:
    return name if _NAME.fullmatch(name) and name.lower() not in _WORDS else _quoted(name)


def value_of(text: str) -> str:
    """Return a value so that YAML gives the same text back."""
    plain = _PLAIN.fullmatch(text) and not text.startswith("- ") and not text.endswith(" ")
    if plain and text.lower() not in _WORDS and _is_kept(text):
        return text
    return _quoted(text)


def _quoted(text: str) -> str:
    """Return a text in YAML's double quotes; what cannot be seen becomes an escape."""
    return '"' + "".join(_escaped(character) for character in text) + '"'


def _escaped(character: str) -> str:
    if character in '"\\':
        return f"\\{character}"
    return character if character.isprintable() else f"\\U{ord(character):08x}"


def _is_kept(text: str) -> bool:
    """Whether YAML, where it takes the text for a number, writes the number alike."""
    for read in (lambda: int(text, 0), lambda: float(text), lambda: int(text)):
        try:
            if str(read()) != text:
                return False
        except ValueError:
            continue
        return True
    return True


def _allowance(one: Allowance) -> str:
    return f"{one.rule}, {one.reason}" if one.reason else one.rule
