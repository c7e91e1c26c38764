"""Our reader against the standard library's, which is what the firmware reads with.

The two coincide on every text that the standard library's reader accepts after each line was
cut at its first '#', except for these, each with a reason:

* a version-control marker whose label holds a delimiter (``>>>>>>> side: x``) is a marker
  here and a key there;
* a byte order mark, NUL bytes, UTF-16 and texts above our limits (see test_config_encoding);
* ``[DEFAULT]`` is a section like any other here, so the standard library is told another name;
* texts that it refuses as a whole: we read what can be read and note the rest.
"""

from __future__ import annotations

import re

import reference_reader as reference
from hypothesis import assume, event, given
from strategies import config_files, config_text, many, orderly_text, saved_text

from advisor.config import Tree, read_tree, read_tree_from_bytes

MARKER = re.compile(r"(?:^|[\r\n])(?:<{7}|>{7}|\|{7}) [^\r\n#]*[:=]")


def effective(tree: Tree) -> reference.Values:
    """Return the values in effect, all sections with or without settings included."""
    return {
        name: {key: found.value for key in tree.keys(name) if (found := tree.find(name, key))}
        for name in tree.section_names
    }


def expected(files: dict[str, str]) -> reference.Values:
    live, saved = reference.read(files, "a.cfg")
    return {name: {**saved.get(name, {}), **live.get(name, {})} for name in {**live, **saved}}


def comparable(*texts: str) -> None:
    for text in texts:
        assume("\ufeff" not in text[:1] and "\0" not in text and not MARKER.search(text))


@many
@given(config_text())
def test_values_are_those_of_the_standard_reader(text: str) -> None:
    """On every text it accepts, sections, keys and values are the standard library's."""
    comparable(text)
    try:
        want = expected({"a.cfg": text})
    except reference.Refused:
        event("refused")
        return
    event("accepted")

    assert effective(read_tree_from_bytes(text.encode(), "a.cfg")) == want


@many
@given(saved_text())
def test_saved_block_is_read_by_its_exact_form(text: str) -> None:
    """A saved block counts exactly when the firmware's rule says so, and live values beat it."""
    comparable(text)
    assume(not re.search(r"\n#\*#\Z", text))  # the empty block cut off: a test of its own
    try:
        want = expected({"a.cfg": text})
    except reference.Refused:
        event("refused")
        return
    event("accepted")

    assert effective(read_tree_from_bytes(text.encode(), "a.cfg")) == want


@many
@given(config_files())
def test_includes_are_read_in_place(files: dict[str, str]) -> None:
    """Over several files, the order of the text decides, as in the firmware."""
    comparable(*files.values())
    tree = read_tree("a.cfg", open_file=opener(files), list_glob=globber(files))
    try:
        want = expected(files)
    except reference.Refused:
        event("refused")
        return
    event("accepted")

    assert effective(tree) == want
    assert not tree.incomplete


@many
@given(orderly_text())
def test_orderly_configs_read_the_same(text: str) -> None:
    """Configs that are mostly in order, so that nearly all are accepted, read the same."""
    comparable(text)
    try:
        want = expected({"a.cfg": text})
    except reference.Refused:
        event("refused")
        return
    event("accepted")

    assert effective(read_tree_from_bytes(text.encode(), "a.cfg")) == want


def opener(files: dict[str, str]):  # type: ignore[no-untyped-def]
    import posixpath

    def open_file(path: str) -> bytes:
        name = posixpath.normpath(path)
        if name not in files:
            raise FileNotFoundError(path)
        return files[name].encode()

    return open_file


def globber(files: dict[str, str]):  # type: ignore[no-untyped-def]
    import fnmatch

    return lambda pattern: [name for name in files if fnmatch.fnmatchcase(name, pattern)]
