"""A mend can be taken back, and nothing that came after it is lost."""

from __future__ import annotations

import time

import pytest
from mend_helpers import CONFIG, DRIVER, PROFILE, Machine

from advisor import Asks
from advisor.answers.mend_files import undo
from advisor.base import MendError
from advisor.files import steps as disk
from advisor.files.listing import list_glob


def test_undo_gives_the_old_bytes_back(machine: Machine) -> None:
    """Config, include and profile of one mend, and the backups are used up."""
    machine.config(CONFIG + "[include driver.cfg]\n")
    machine.config(DRIVER.replace("\n", "\r\n"), "driver.cfg")
    name = machine.profile()
    before = {file: machine.bytes(file) for file in ("printer.cfg", "driver.cfg", name)}
    (machine.folder / "driver.cfg").chmod(0o640)
    written = machine.mend(name, write=True, write_profile=True)
    assert set(written.written) == {"driver.cfg", name}
    assert len(machine.hidden()) == 2

    report = undo("printer.cfg", Asks(profiles=(name,)))

    assert set(report.written) == {"driver.cfg", name}
    assert {file: machine.bytes(file) for file in before} == before
    assert (machine.folder / "driver.cfg").stat().st_mode & 0o777 == 0o640
    assert machine.hidden() == []
    assert b"+run_current: 0.9\r\n" in report.patch


def test_undo_goes_back_one_mend_at_a_time(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest first, then the one before it, then there is none."""
    texts = [machine.bytes()]
    now = iter(range(1_700_000_000, 1_800_000_000, 60))
    monkeypatch.setattr("advisor.mend.write.time.localtime", lambda *_: time.gmtime(next(now)))
    machine.mend(write=True)
    texts.append(machine.bytes().replace(b"hold_current: 0.56", b"hold_current: 0.7"))
    machine.config(texts[-1])
    machine.mend(write=True)
    assert len(machine.hidden()) == 2

    undo("printer.cfg", Asks())
    assert machine.bytes() == texts[1]
    with pytest.raises(MendError, match="was changed since the mend"):
        undo("printer.cfg", Asks())
    machine.config(texts[1].replace(b"hold_current: 0.7", b"hold_current: 0.56"))
    undo("printer.cfg", Asks())
    assert machine.bytes() == texts[0]
    with pytest.raises(MendError, match="there is no backup"):
        undo("printer.cfg", Asks())


def test_undo_keeps_what_was_changed_since(machine: Machine) -> None:
    """The owner's own work is not replaced; the backup is named."""
    machine.mend(write=True)
    machine.config(machine.bytes() + b"# by hand\n")
    changed = machine.bytes()

    with pytest.raises(MendError, match=r"its old text is in '.*\.bak': compare"):
        undo("printer.cfg", Asks())
    assert machine.bytes() == changed
    assert len(machine.hidden()) == 1


def test_a_backup_of_an_unwritten_file_is_passed_over(machine: Machine) -> None:
    """A run killed between backup and swap leaves one; it does not hide the real backup."""
    old = machine.bytes()
    machine.mend(write=True)
    new = machine.bytes()
    idle = machine.folder / ".printer.cfg.feedwright-20990101-000000-00000000.bak"
    idle.write_bytes(new)

    undo("printer.cfg", Asks())
    assert machine.bytes() == old
    assert machine.hidden() == []


def test_an_undo_that_fails_half_way_can_be_run_again(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One file is back, the other is not; the next undo puts that one back too."""
    name = machine.profile()
    old = machine.bytes()
    machine.mend(name, write=True, write_profile=True)
    move, calls = disk.move, []

    def once(source: str, target: str) -> None:
        calls.append(target)
        if len(calls) == 2:
            raise OSError(5, "planted")
        move(source, target)

    asks = Asks(profiles=(name,))
    with monkeypatch.context() as struck:
        struck.setattr(disk, "move", once)
        with pytest.raises(MendError, match=r"written before that: 'printer.cfg'"):
            undo("printer.cfg", asks)
    undo("printer.cfg", asks)

    assert machine.bytes() == old
    assert machine.bytes(name) == PROFILE.encode()


def test_no_include_pattern_reads_a_backup(machine: Machine) -> None:
    """`*` in an include does not find hidden files, so a backup sets nothing."""
    machine.config(CONFIG + "[include parts/*]\n")
    machine.config(DRIVER, "parts/driver.cfg")
    machine.mend(write=True)

    assert len(machine.hidden()) == 1
    assert list_glob("parts/*") == ["parts/driver.cfg"]
    assert machine.mend().edits == ()
