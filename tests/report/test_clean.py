"""Text of the user's is never a terminal command, and never breaks a machine format."""

from __future__ import annotations

import unicodedata

from hypothesis import given, strategies as st

from advisor.report.clean import cell_width, plain, unicode_text


def test_control_characters_are_shown_not_sent() -> None:
    """An escape sequence, a bell and a direction override become visible escapes."""
    assert plain("a\x1b[31mb\x07\u202ec") == "a\\x1b[31mb\\x07\\u202ec"
    assert plain("two\nlines\tand") == "two lines and"


def test_a_byte_that_was_no_text_is_shown_as_that_byte() -> None:
    """File names and values keep undecodable bytes as lone surrogates (PEP 383)."""
    name = b"caf\xe9.cfg".decode("utf-8", "surrogateescape")
    assert plain(name) == "caf\\xe9.cfg"
    assert unicode_text(name) == "caf\\xe9.cfg"


@given(st.text(st.characters(), max_size=40))
def test_shown_text_has_no_control_character_and_is_encodable(text: str) -> None:
    """Whatever comes in, one printable line goes out (categories by the Unicode database)."""
    shown = plain(text)

    assert not any(unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"} for c in shown)
    shown.encode("utf-8")


def test_wide_characters_take_two_cells() -> None:
    """East Asian wide characters take two columns, combining marks none (UAX 11)."""
    assert cell_width("ab") == 2
    assert cell_width("\u30ce\u30ba") == 4
    assert cell_width("e\u0301") == 1
