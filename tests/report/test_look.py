"""What a stream and its environment allow: width, drawing, bars, colour."""

from __future__ import annotations

import io

import pytest
from every import every

from advisor.report.look import Look, look_for


class Terminal(io.TextIOWrapper):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def terminal(encoding: str = "utf-8") -> Terminal:
    return Terminal(io.BytesIO(), encoding=encoding)


def pipe(encoding: str = "utf-8") -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(), encoding=encoding)


XTERM = {"TERM": "xterm-256color", "LANG": "en_GB.UTF-8"}


def test_a_pipe_gets_eighty_columns_and_no_colour() -> None:
    """A file or a pipe has no width of its own and no colour."""
    assert look_for(pipe(), env=XTERM) == Look(width=80, drawn=True, bars=True, colours=None)


@every(
    ("option", "env", "coloured"),
    [
        ("auto", {}, True),
        ("auto", {"NO_COLOR": "1"}, False),
        ("auto", {"NO_COLOR": "1", "FORCE_COLOR": "1"}, False),
        ("auto", {"NO_COLOR": ""}, True),
        ("auto", {"TERM": "dumb"}, False),
        ("auto", {"TERM": "dumb", "FORCE_COLOR": "1"}, True),
        ("always", {"NO_COLOR": "1"}, True),
        ("never", {"FORCE_COLOR": "1"}, False),
    ],
)
def test_the_option_beats_no_color_beats_force_color(
    option: str, env: dict[str, str], coloured: bool
) -> None:
    """Order: option, NO_COLOR (no-color.org: when not empty), FORCE_COLOR, the terminal."""
    assert (look_for(terminal(), option, XTERM | env).colours is not None) is coloured


def test_force_color_colours_a_pipe() -> None:
    """Without FORCE_COLOR a pipe stays plain, with it it does not."""
    assert look_for(pipe(), env=XTERM | {"FORCE_COLOR": "1"}).colours == "256"
    assert look_for(pipe(), env=XTERM | {"FORCE_COLOR": "0"}).colours is None


@pytest.mark.parametrize(
    ("columns", "width"),
    [("132", 120), ("100", 100), ("12", 40), ("", 80), ("wide", 80), ("0", 80)],
)
def test_the_stated_width_is_kept_within_what_can_be_read(columns: str, width: int) -> None:
    """COLUMNS is honoured between 40 and 120."""
    assert look_for(pipe(), env=XTERM | {"COLUMNS": columns}).width == width


@every(
    ("encoding", "env", "drawn"),
    [
        ("utf-8", {"LANG": "en_GB.UTF-8"}, True),
        ("ascii", {"LANG": "en_GB.UTF-8"}, False),
        ("latin-1", {"LANG": "en_GB.UTF-8"}, False),
        ("cp437", {"LANG": "en_GB.UTF-8"}, True),
        ("utf-8", {"LANG": "en_GB.UTF-8", "LC_ALL": "C"}, False),
        ("utf-8", {"LANG": "C", "LC_CTYPE": "C.UTF-8"}, False),
        ("utf-8", {"LANG": "POSIX", "LC_CTYPE": "en_GB.UTF-8"}, True),
        ("utf-8", {}, True),
    ],
)
def test_line_drawing_only_where_the_locale_shows_it(
    encoding: str, env: dict[str, str], drawn: bool
) -> None:
    """Python itself writes UTF-8 in the C locale (PEP 538, 540); the terminal may not show it."""
    assert look_for(pipe(encoding), env=env).drawn is drawn


def test_a_dumb_terminal_gets_words_only() -> None:
    """TERM=dumb is what line-based and speaking terminals say."""
    look = look_for(terminal(), env={"TERM": "dumb"})
    assert (look.bars, look.colours) == (False, None)
    assert look_for(pipe(), env={"TERM": "dumb"}).bars
