"""Edits touch the value's own characters and nothing else."""

from __future__ import annotations

import pytest
from every import every
from hypothesis import assume, given, strategies as st
from strategies import SAVED_NOTICE, SAVED_TITLE, config_text, many, orderly_text, saved_text

from advisor.base import InputError
from advisor.config import Document, Setting, insert_setting, read_document, replace_value

new_values = st.sampled_from(
    ("1", "0.56", "50:17", "a b", "[t]", ";x", "x;y", "=", "\u00e9")
).filter(lambda text: not text.startswith(";"))


def read(text: str) -> Document:
    return read_document(text.encode(), "x.cfg")


def settings_of(document: Document) -> list[Setting]:
    return [one for part in (*document.sections, *document.saved) for one in part.settings]


def meaning(document: Document) -> list[tuple[str, str, str, bool]]:
    return [(s.section, s.key, s.value, s.from_saved_block) for s in settings_of(document)]


def replaced(text: str, new: str) -> str:
    document = read(text)
    return replace_value(document, settings_of(document)[0], new).to_bytes().decode()


def inserted(text: str, key: str = "new", value: str = "5", section: str = "s") -> str:
    return insert_setting(read(text), section, key, value).to_bytes().decode()


@every(
    ("before", "after"),
    [
        ("[s]\nk: 0.8\n", "[s]\nk: 0.56\n"),
        ("[s]\nk:0.8#0.5\n", "[s]\nk:0.56#0.5\n"),
        ("[s]\nk =  0.8   ; was 1\n", "[s]\nk =  0.56   ; was 1\n"),
        ("[s]\r\nk\t:\t0.8\r\n", "[s]\r\nk\t:\t0.56\r\n"),
        ("[s]\nk: 0.8", "[s]\nk: 0.56"),
        ("\ufeff[s]\nk: 0.8\n", "\ufeff[s]\nk: 0.56\n"),
        ("[s]\nk:\u00a00.8\n", "[s]\nk:\u00a00.56\n"),
        ("[s]\nk: 0.8\n  more\n", "[s]\nk: 0.56\n  more\n"),
        ("[s]\nk:\n", "[s]\nk:0.56\n"),
        ("[s]\nk: \n", "[s]\nk: 0.56\n"),
        ("[s]\nk: # c\n", "[s]\nk: 0.56 # c\n"),
        ("[s]\nk: ; c\n", "[s]\nk: 0.56 ; c\n"),
        ("[s]\nk:# c\n", "[s]\nk:0.56 # c\n"),
        ("[s]\nk:   # c\n", "[s]\nk: 0.56  # c\n"),
        ("[s]\nk: 0.8;0.5\n", "[s]\nk: 0.56\n"),
    ],
)
def test_replacing_touches_the_value_only(before: str, after: str) -> None:
    """Delimiter, blanks, comment and line end stay as they are."""
    assert replaced(before, "0.56") == after


def test_saved_value_can_be_replaced() -> None:
    """The mark stays."""
    heading = f"{SAVED_TITLE}\n{SAVED_NOTICE}\n#*#\n#*# [s]\n"

    assert replaced(f"{heading}#*# k = 1\n", "2") == f"{heading}#*# k = 2\n"


def test_bytes_of_another_encoding_survive_an_edit() -> None:
    """An 8-bit degree sign beside the value is not touched."""
    document = read_document(b"# 20 \xb0C\n[s]\nk: 1 # \xb0\n", "x.cfg")
    edited = replace_value(document, settings_of(document)[0], "2")

    assert edited.to_bytes() == b"# 20 \xb0C\n[s]\nk: 2 # \xb0\n"


@many
@given(st.one_of(orderly_text(), saved_text()), st.data())
def test_replacing_changes_one_value(text: str, data: st.DataObject) -> None:
    """In any document, the bytes around the value and all other values stay the same."""
    document = read(text)
    settings = settings_of(document)
    assume(settings)
    place = data.draw(st.integers(0, len(settings) - 1))
    new = data.draw(new_values)
    setting = settings[place]
    assume(not (setting.key.startswith("[") and "]" in new))  # would make a header: refused

    edited = replace_value(document, setting, new)

    start, stop = setting.places[3], setting.places[4]
    assert edited.text[:start] == document.text[:start]
    assert edited.text.endswith(document.text[stop:])
    assert edited.text[start:].startswith(new)
    assert len(edited.text) - len(document.text) - len(new) + stop - start in (0, 1)
    before, after = meaning(document), meaning(edited)
    assert after[place][2].partition("\n")[0] == new
    assert after[place][2].partition("\n")[2] == before[place][2].partition("\n")[2]
    assert before[:place] + before[place + 1 :] == after[:place] + after[place + 1 :]


@every(
    ("before", "after"),
    [
        ("[s]\nk: 1\n", "[s]\nk: 1\nnew: 5\n"),
        ("[s]\nk = 1\n\n# c\n[t]\n", "[s]\nk = 1\nnew = 5\n\n# c\n[t]\n"),
        ("[s]\nk=1\n[t]\n", "[s]\nk=1\nnew=5\n[t]\n"),
        ("[s]\r\nk: 1\r\n", "[s]\r\nk: 1\r\nnew: 5\r\n"),
        ("[s]\nk: 1", "[s]\nk: 1\nnew: 5"),
        ("[s]\r\nk: 1", "[s]\r\nk: 1\r\nnew: 5"),
        ("[s]", "[s]\nnew: 5"),
        ("[s]\n", "[s]\nnew: 5\n"),
        ("[s]\n  k: 1\n  j: 2\n", "[s]\n  k: 1\n  j: 2\n  new: 5\n"),
        ("[s]\nk:\n  a\n\n  b\n\nj: 1\n[t]\n", "[s]\nk:\n  a\n\n  b\n\nj: 1\nnew: 5\n[t]\n"),
        ("[s]\nk: 1\n  a\n", "[s]\nk: 1\n  a\nnew: 5\n"),
        ("[s]\n[t]\nk = 1\n", "[s]\nnew = 5\n[t]\nk = 1\n"),
        ("[s]\n  [t]\nk: 1\n", "[s]\n  new: 5\n  [t]\nk: 1\n"),
        ("[s]\nk:              1\n", "[s]\nk:              1\nnew: 5\n"),
        ("[s]\nk: 1\n[t]\n[s]\nj: 2\n[u]\n", "[s]\nk: 1\n[t]\n[s]\nj: 2\nnew: 5\n[u]\n"),
        ("[s]\n[include b.cfg]\n", "[s]\nnew: 5\n[include b.cfg]\n"),
        (f"[s]\n{SAVED_TITLE}\n#*#\n", f"[s]\nnew: 5\n{SAVED_TITLE}\n#*#\n"),
    ],
)
def test_inserting_follows_the_file(before: str, after: str) -> None:
    """Delimiter, indentation, line end and place are those of the section's last setting."""
    assert inserted(before) == after


@many
@given(st.one_of(orderly_text(), saved_text(), config_text(includes=True)), st.data())
def test_inserting_adds_one_value(text: str, draw: st.DataObject) -> None:
    """In any document, one line is added and all other values stay the same."""
    document = read(text)
    names = sorted({section.name for section in document.sections})
    assume(names)
    name = draw.draw(st.sampled_from(names))
    value = draw.draw(new_values)

    edited = insert_setting(document, name, "zz new", value)

    added = [item for item in meaning(edited) if item[1] == "zz new"]
    assert added == [(name, "zz new", value, False)]
    assert [item for item in meaning(edited) if item[1] != "zz new"] == meaning(document)
    assert is_with_one_insertion(edited.to_bytes(), document.to_bytes())


def is_with_one_insertion(after: bytes, before: bytes) -> bool:
    """Return whether `before` is `after` with one run of bytes taken out."""
    same = 0
    while same < len(before) and before[same] == after[same]:
        same += 1
    rest = len(before) - same
    return before[same:] == after[len(after) - rest :]


@every("value", ["1 # c", "1 ; c", "1\nj: 2", "1\r", " 1", "1 ", ";1", "#", "\udcff"])
def test_text_that_is_no_value_is_refused(value: str) -> None:
    """A value is one line without comment, and without blanks at its ends."""
    document = read("[s]\nk: 1\n")

    with pytest.raises(InputError, match="cannot be a value"):
        replace_value(document, settings_of(document)[0], value)
    with pytest.raises(InputError, match="cannot be a value"):
        insert_setting(document, "s", "new", value)


@every("key", ["", " k", "k ", "a: b", "a=b", "#k", ";k", "[k]", "a ;b", "a\nb"])
def test_text_that_is_no_key_is_refused(key: str) -> None:
    """A key would not be read back."""
    with pytest.raises(InputError, match="cannot be a key"):
        insert_setting(read("[s]\n"), "s", key, "1")


def test_what_cannot_be_inserted_is_refused() -> None:
    """No such section, a key that is there, a section that is only saved."""
    with pytest.raises(InputError, match=r"there is no section \[t\] in x.cfg"):
        inserted("[s]\nk: 1\n", section="t")
    with pytest.raises(InputError, match=r"'K' is in \[s\] already; replace its value"):
        inserted("[s]\nk: 1\n", key="K")
    with pytest.raises(InputError, match=r"there is no section \[s\]"):
        inserted(f"[t]\n{SAVED_TITLE}\n#*# [s]\n#*# k = 1\n")


def test_setting_of_another_document_is_refused() -> None:
    """An edit made on an old reading could hit the wrong characters."""
    setting = settings_of(read("[s]\nk: 1\n"))[0]

    with pytest.raises(InputError, match="another document"):
        replace_value(read("[s]\nk: 1\n"), setting, "2")


def test_edit_that_would_change_more_than_the_value_is_refused() -> None:
    """A key with an opening bracket and a value with the closing one would be a header."""
    document = read("[s]\n[k: 1\n")

    with pytest.raises(InputError, match="would change more than the one setting"):
        replace_value(document, settings_of(document)[0], "2]")
