"""Files on the disk: what cannot be read is said in a sentence."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from advisor.base import UnreadableError
from advisor.config import read_tree
from advisor.files import listing, plain


def write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_tree_on_the_disk_is_read(tmp_path: Path) -> None:
    """Subfolders, '..', patterns and links are followed."""
    write(tmp_path / "one.cfg", "[one]\n")
    write(tmp_path / "sub" / "two.cfg", "[two]\n[include ../one.cfg]\n")
    write(tmp_path / "parts" / "b.cfg", "[b]\n")
    write(tmp_path / "parts" / "a.cfg", "[a]\n")
    (tmp_path / "link.cfg").symlink_to("parts/b.cfg")
    root = write(
        tmp_path / "root.cfg",
        "[include sub/two.cfg]\n[include parts/*.cfg]\n[include link.cfg]\n",
    )

    tree = read_tree(str(root))

    assert [section.name for section in tree.live] == ["two", "one", "a", "b", "b"]
    assert tree.events == ()


def test_folder_with_pattern_characters_in_its_own_name_is_no_pattern(tmp_path: Path) -> None:
    """A copy in a folder such as 'printer [old]' is read like any other."""
    folder = tmp_path / "printer [old]"
    write(folder / "p1.cfg", "[s]\n")

    tree = read_tree(str(write(folder / "root.cfg", "[include p*.cfg]\n[include p1.cfg]\n")))

    assert [section.name for section in tree.live] == ["s", "s"]


def test_links_that_lead_in_circles_end(tmp_path: Path) -> None:
    """A link to itself, a link that hangs, and a folder linked into itself."""
    (tmp_path / "self.cfg").symlink_to("self.cfg")
    (tmp_path / "hangs.cfg").symlink_to("gone.cfg")
    (tmp_path / "loop").symlink_to(tmp_path)
    root = write(
        tmp_path / "root.cfg",
        "[include self.cfg]\n[include hangs.cfg]\n[include loop/root.cfg]\n[s]\n",
    )

    kinds = {event.kind for event in read_tree(str(root)).events}

    assert {"include-unreadable", "include-missing"} <= kinds
    assert kinds <= {"include-unreadable", "include-missing", "include-limit"}


def test_folder_is_no_config(tmp_path: Path) -> None:
    """A folder is named as one."""
    with pytest.raises(UnreadableError, match="is a folder; name the config file in it"):
        read_tree(str(tmp_path))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_pipe_does_not_hold_us_up(tmp_path: Path) -> None:
    """A pipe nobody writes to is refused at once."""
    os.mkfifo(tmp_path / "pipe.cfg")

    with pytest.raises(UnreadableError, match="is no plain file"):
        read_tree(str(tmp_path / "pipe.cfg"))


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="no such device here")
def test_device_is_refused() -> None:
    """A device has no end."""
    with pytest.raises(UnreadableError, match="is no plain file"):
        read_tree("/dev/zero")


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The operating system's refusal becomes a sentence with a remedy."""
    root = write(tmp_path / "a.cfg", "[s]\n")

    def refuse(*_: object) -> int:
        raise PermissionError(13, "denied", str(root))

    monkeypatch.setattr(os, "open", refuse)

    with pytest.raises(UnreadableError, match="may not be read; ask for read permission"):
        read_tree(str(root))


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything"
)
def test_file_without_permission_is_an_event(tmp_path: Path) -> None:
    """An include that may not be read does not stop the rest."""
    write(tmp_path / "b.cfg", "[b]\n").chmod(0)

    tree = read_tree(str(write(tmp_path / "a.cfg", "[include b.cfg]\n[a]\n")))

    assert [event.kind for event in tree.events] == ["include-unreadable"]
    assert tree.section_names == ("a",)


@pytest.mark.parametrize("path", ["no\0name.cfg", "x" * 5000, "", "gone/none.cfg"])
def test_impossible_path_is_said(path: str) -> None:
    """No path makes a traceback."""
    with pytest.raises(UnreadableError):
        read_tree(path)


def test_file_above_the_limit_is_not_read(tmp_path: Path) -> None:
    """A file of 200 MB (a hole, so that it takes no room) is refused by its size alone."""
    with open(tmp_path / "big.cfg", "wb") as stream:
        stream.truncate(200_000_000)

    with pytest.raises(UnreadableError, match="is larger than 64 MB; name a config file"):
        read_tree(str(tmp_path / "big.cfg"))


def test_include_above_the_limit_is_an_event(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The limit holds for includes, too."""
    monkeypatch.setattr(plain, "MAX_BYTES", 1024 * 1024)
    write(tmp_path / "b.cfg", "#" * (1024 * 1024 + 1))

    tree = read_tree(str(write(tmp_path / "a.cfg", "[include b.cfg]\n")))

    assert [(e.kind, "larger than 1 MB" in e.fields["reason"]) for e in tree.events] == [
        ("include-unreadable", True)
    ]


@pytest.mark.parametrize("pattern", ["[z-a].cfg", "*/" * 3000, "a\0*", "**", "[!", "[[*]"])
def test_senseless_pattern_matches_nothing_or_something(pattern: str) -> None:
    """No pattern makes a traceback."""
    assert isinstance(listing.list_glob(pattern), list)
