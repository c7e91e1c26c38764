"""Writing leaves each file old or new, whole, whatever happens, and says what happened."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import resource
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from mend_helpers import CONFIG, DRIVER, Machine, environment
from tiers import LONG, only_long, only_wide, spread, wide

from advisor.base import MendError
from advisor.files import locked, steps as disk
from advisor.files.listing import list_glob
from advisor.mend import write

KILLS = spread(["before", "after", "half"], 2)  # after a call is before the next one
FAILS = ["error", "interrupt"]
KILLER = Path(__file__).resolve().parent / "mend_killer.py"
ROOT_USER = hasattr(os, "geteuid") and os.geteuid() == 0
OLD, NEW = b"[s]\nk: 1\n" * 200, b"[s]\nk: 2\n" * 200
posix = pytest.mark.skipif(os.name != "posix", reason="needs POSIX files")
pytestmark = posix


def job(path: Path, *, before: bytes = OLD, after: bytes = NEW, folder: Path | None = None) -> Any:
    real = os.path.realpath(path)
    return write.Job(str(path), real, str(folder or path.parent), before, after)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a.cfg"
    path.write_bytes(OLD)
    return path


def others(folder: Path, *names: str) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name not in names)


@pytest.fixture(scope="module")
def strikes() -> dict[str, Any]:
    """Two files written with a strike at each system call in turn, in each way."""
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # a busy disk syncs slowly
    with tempfile.TemporaryDirectory(prefix="feedwright-test-", dir=memory) as folder:
        command = [sys.executable, str(KILLER), folder, "40" if LONG else "5", *KILLS, *FAILS]
        done = subprocess.run(command, env=environment(), capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


@wide
@pytest.mark.parametrize("way", KILLS)
def test_a_kill_at_any_call_leaves_old_or_new(strikes: dict[str, Any], way: str) -> None:
    """Killed at every system call of the write path: each file whole, its old text kept."""
    struck = strikes[way]

    assert len(struck) > 60
    assert all(one["killed"] for one in struck)
    for at, one in enumerate(struck):
        for name, (state, same_mode, kept) in one["files"].items():
            assert state in ("old", "new"), (at, name)
            assert same_mode, (at, name)
            assert kept, (at, name)
    states = {tuple(state for state, *_ in one["files"].values()) for one in struck}
    assert states == {("old", "old"), ("new", "old"), ("new", "new")}


@wide
@pytest.mark.parametrize("way", [*KILLS, *FAILS])
def test_a_strike_does_not_stand_in_the_way(strikes: dict[str, Any], way: str) -> None:
    """A next run writes what is left, and takes away what the first one left behind."""
    assert {one["next"] for one in strikes[way]} == {"well"}


@pytest.mark.parametrize("way", FAILS)
def test_a_failing_call_is_a_sentence(strikes: dict[str, Any], way: str) -> None:
    """Old or new, nothing left lying about, and what is written is named where it is not all."""
    for at, one in enumerate(strikes[way]):
        assert not one["killed"]
        assert one["temporaries"] == 0, at
        states = {name: state for name, (state, *_) in one["files"].items()}
        assert all(same and kept for _, same, kept in one["files"].values()), at
        assert set(states.values()) <= {"old", "new"}, at
        written = [name for name, state in states.items() if state == "new"]
        if len(written) == 2:
            assert one["code"] in (0, 1, 2), at
        elif written:
            assert one["code"] == 1
            assert all(
                f"'{name}'" in one["said"].partition("written before")[2] for name in written
            )
        else:
            assert one["code"] == (1 if way == "error" else 2), one["said"]
    assert {one["code"] for one in strikes[way]} >= ({0, 1} if way == "error" else {1, 2})


def test_one_of_several_at_once_writes(strikes: dict[str, Any]) -> None:
    """Six processes on the same files: one writes, the others say why they do not."""
    for ends, whole, stale in strikes["race"]:
        assert ends[0] == 0
        assert set(ends[1:]) == {1}
        assert whole
        assert stale == 0


@only_long
@pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace")
@pytest.mark.parametrize(
    "call", ["openat", "write", "fsync", "rename", "unlink", "fchmod", "close"]
)
def test_a_kill_at_any_real_system_call_leaves_old_or_new(tmp_path: Path, call: str) -> None:
    """The same, with the kernel's own calls counted and the signal sent by strace."""
    script = (
        "import sys\nfrom advisor.mend.write import Job, write_all\n"
        "sys.stderr.close()\n"
        f"write_all([Job('a.cfg', sys.argv[1], sys.argv[2], {OLD!r}, {NEW!r})])\n"
    )
    path = tmp_path / "a.cfg"
    only = ["-P", str(path), "-P", str(tmp_path)] if call in ("openat", "close") else []
    states = set()
    for at in range(1, 100):
        for other in tmp_path.iterdir():
            other.unlink()
        path.write_bytes(OLD)
        trace = ["strace", "-f", "-qq", "-o", os.devnull, *only, "-e", f"trace={call}",
                 "-e", f"inject={call}:signal=SIGKILL:when={at}"]  # fmt: skip
        done = subprocess.run(
            [*trace, sys.executable, "-c", script, str(path), str(tmp_path)],
            env=environment(), capture_output=True, check=False,
        )  # fmt: skip
        if at == 1 and done.returncode == 1:
            pytest.skip("tracing is not permitted here")
        data = path.read_bytes()
        assert data in (OLD, NEW)
        states.add(data)
        if done.returncode == 0:
            assert data == NEW
            assert at > 1 or call == "unlink", "no call was met"
            return
    pytest.fail("there is no end to the calls")


def test_the_order_of_the_steps_survives_a_loss_of_power(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """New text and backup are on the disk before the swap, and the names after it."""
    steps: list[str] = []
    real_fsync, real_replace = os.fsync, os.replace

    def fsync(handle: int) -> None:
        folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        steps.append("sync folder" if folder else "sync file")
        real_fsync(handle)

    def replace(source: str, target: str) -> None:
        steps.append("swap" if target == str(file) else "backup")
        real_replace(source, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", replace)
    write.write_all([job(file)])

    assert steps == [
        "sync file", "sync file", "backup", "sync folder", "swap", "sync folder"]  # fmt: skip


def test_permissions_stay_and_the_old_text_is_kept(file: Path) -> None:
    """Mode as before, and a hidden backup with the bytes that were replaced."""
    file.chmod(0o640)
    (written,) = write.write_all([job(file)], clock=lambda: 1_700_000_000.0)

    assert file.read_bytes() == NEW
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert written.backup is not None
    backup = Path(written.backup)
    assert backup.read_bytes() == OLD
    assert stat.S_IMODE(backup.stat().st_mode) == 0o640
    assert backup.name.startswith(".a.cfg.feedwright-202311")
    assert others(file.parent, "a.cfg") == [backup.name]
    assert list_glob(f"{file.parent}/*") == [str(file)], "no include pattern reads the backup"


@pytest.mark.skipif(not ROOT_USER, reason="only root may give files away")
def test_the_owner_stays(file: Path) -> None:
    """A file of somebody else is still theirs."""
    os.chown(file, 12345, 23456)
    (written,) = write.write_all([job(file)])

    assert (file.stat().st_uid, file.stat().st_gid) == (12345, 23456)
    assert written.owner_kept


def test_an_owner_that_cannot_be_kept_is_said(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system refuses, the file is written and the change of owner told."""

    def refuse(*_: object) -> None:
        raise PermissionError(errno.EPERM, "planted")

    real = os.stat

    def stranger(path: object, **options: Any) -> os.stat_result:
        status = real(path, **options)  # type: ignore[arg-type]
        return os.stat_result((*status[:4], 4711, *status[5:10]))

    monkeypatch.setattr(disk.os, "fchown", refuse)
    monkeypatch.setattr(disk.os, "stat", stranger)
    (written,) = write.write_all([job(file)])

    assert file.read_bytes() == NEW
    assert not written.owner_kept


def test_a_file_that_changed_since_it_was_read_is_left(file: Path) -> None:
    """Nothing is written over another's work, and nothing is left beside it."""
    file.write_bytes(OLD + b"# by hand\n")

    with pytest.raises(MendError, match=r"was changed since it was read"):
        write.write_all([job(file)])
    assert file.read_bytes() == OLD + b"# by hand\n"
    assert others(file.parent, "a.cfg") == []


def test_a_change_at_the_last_moment_is_seen(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An editor saves while the new text is being made ready: its text stays."""
    make = disk.create_beside

    def slow(path: str, data: bytes) -> tuple[str, bool]:
        file.write_bytes(b"[s]\nk: 3\n")
        return make(path, data)

    monkeypatch.setattr(disk, "create_beside", slow)
    with pytest.raises(MendError, match="changed since"):
        write.write_all([job(file)])
    assert file.read_bytes() == b"[s]\nk: 3\n"
    assert [name for name in others(file.parent, "a.cfg") if name.endswith(".tmp")] == []


def test_of_several_files_none_is_written_if_one_cannot_be(tmp_path: Path) -> None:
    """What can fail fails before the first file is replaced."""
    first, second = tmp_path / "a.cfg", tmp_path / "b.cfg"
    first.write_bytes(OLD)
    second.write_bytes(OLD)
    second.chmod(0o444)

    with pytest.raises(MendError, match=r"b\.cfg' is read-only"):
        write.write_all([job(first), job(second)])
    assert first.read_bytes() == OLD
    assert others(tmp_path, "a.cfg", "b.cfg") == []


def test_a_read_only_file_is_left(file: Path) -> None:
    """Its permissions say that it is not to be written, to root as well."""
    file.chmod(0o444)

    with pytest.raises(MendError, match=r"is read-only; allow writing it"):
        write.write_all([job(file)])
    assert file.read_bytes() == OLD


@contextlib.contextmanager
def as_nobody() -> Iterator[None]:
    """Run as a user without rights of their own, where this is root."""
    if not ROOT_USER:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_read_only_folder_is_a_sentence() -> None:
    """No new file can be made there: said, and nothing has changed."""
    folder = Path(tempfile.mkdtemp(prefix="feedwright-test-"))
    try:
        path = folder / "a.cfg"
        path.write_bytes(OLD)
        path.chmod(0o666)
        folder.chmod(0o555)
        with as_nobody(), pytest.raises(MendError, match="its folder may not be written by you"):
            write.write_all([job(path)])
        assert path.read_bytes() == OLD
        assert others(folder, "a.cfg") == []
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, where it can be had."""
    folder = tmp_path / "small"
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)],
        capture_output=True, check=False,
    ) if ROOT_USER and shutil.which("mount") else None  # fmt: skip
    if made is None or made.returncode != 0:
        pytest.skip("a small disk needs root and the right to mount; see the next test")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.parametrize("room", [0, 4096, 8192])
def test_a_full_disk_is_a_sentence(small_disk: Path, room: int) -> None:
    """No room for the new text, half of it, or the backup: the old file stays, alone."""
    path = small_disk / "a.cfg"
    old, new = OLD * 4, NEW * 4
    path.write_bytes(old)
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as stream, contextlib.suppress(OSError):
        while stream.write(b"x" * 4096):
            pass
    os.truncate(filler, filler.stat().st_size - room)

    with pytest.raises(MendError, match="the disk is full; make room"):
        write.write_all([job(path, before=old, after=new)])
    assert path.read_bytes() == old
    assert others(small_disk, "a.cfg", "filler") == []


def test_a_file_size_limit_is_a_sentence(file: Path) -> None:
    """The stand-in for a full disk that needs no rights: the system cuts the new text off."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(NEW) // 2, hard))
    try:
        with pytest.raises(MendError, match="larger than is allowed here"):
            write.write_all([job(file)])
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, before)
    assert file.read_bytes() == OLD
    assert others(file.parent, "a.cfg") == []


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    """The file it leads to belongs to something else; its name is told."""
    outside, folder = tmp_path / "b.cfg", tmp_path / "config"
    folder.mkdir()
    outside.write_bytes(OLD)
    (folder / "a.cfg").symlink_to(outside)

    with pytest.raises(MendError, match=r"is a link out of its folder, to '.*b\.cfg'"):
        write.write_all([job(folder / "a.cfg", folder=folder)])
    assert outside.read_bytes() == OLD
    assert (folder / "a.cfg").is_symlink()


def test_a_linked_folder_that_leads_out_is_not_followed(tmp_path: Path) -> None:
    """An include through a link to another folder is as much outside."""
    outside, folder = tmp_path / "shared", tmp_path / "config"
    folder.mkdir()
    outside.mkdir()
    (outside / "a.cfg").write_bytes(OLD)
    (folder / "parts").symlink_to(outside)

    with pytest.raises(MendError, match="a link out of its folder"):
        write.write_all([job(folder / "parts" / "a.cfg", folder=folder)])


def test_a_link_within_the_folder_is_followed(tmp_path: Path) -> None:
    """The file it leads to is written, and the link stays a link."""
    target, link = tmp_path / "real.cfg", tmp_path / "a.cfg"
    target.write_bytes(OLD)
    link.symlink_to("real.cfg")
    write.write_all([job(link)])

    assert target.read_bytes() == NEW
    assert link.is_symlink()


def test_a_config_folder_that_is_a_link_itself_is_no_link_out(tmp_path: Path) -> None:
    """Where the whole folder is reached over a link, its files are inside."""
    folder, link = tmp_path / "real", tmp_path / "config"
    folder.mkdir()
    (folder / "a.cfg").write_bytes(OLD)
    link.symlink_to(folder)
    write.write_all([job(link / "a.cfg", folder=link)])

    assert (folder / "a.cfg").read_bytes() == NEW


def test_an_include_above_the_folder_is_written_where_its_folder_is_allowed(
    machine: Machine,
) -> None:
    """Outside of the config's folder nothing is edited; with its folder allowed it is."""
    (machine.folder / "sub").mkdir()
    machine.config(CONFIG + "[include ../shared.cfg]\n", "sub/printer.cfg")
    machine.config(DRIVER, "shared.cfg")
    (machine.folder / "sub" / "hardware.yaml").write_bytes(machine.bytes("hardware.yaml"))
    before = machine.bytes("shared.cfg")
    refused = machine.mend(name="sub/printer.cfg", write=True)

    assert refused.written == ()
    assert machine.bytes("shared.cfg") == before
    assert "run_current" in {one.finding.fix.setting for one in refused.by_hand if one.finding.fix}

    report = machine.mend(name="sub/printer.cfg", write=True, asks={"outside": machine.folder})

    assert report.written == ("sub/../shared.cfg",)
    assert b"run_current: 0.56" in machine.bytes("shared.cfg")


def test_a_hard_link_is_said(machine: Machine) -> None:
    """The file is written; the other name keeps the old text, and that is told before and after."""
    os.link(machine.folder / "printer.cfg", machine.folder / "copy.cfg")
    before = machine.bytes()
    shown = machine.mend()
    written = machine.mend(write=True)

    assert machine.bytes("copy.cfg") == before
    assert machine.bytes() != before
    for report in (shown, written):
        assert any("another name (hard links), which will keep" in note for note in report.notes)


@wide
@only_wide
def test_a_run_at_the_same_time_is_refused(machine: Machine) -> None:
    """While another run holds the folder nothing is written, and the sentence says why."""
    before = machine.bytes()
    with locked([str(machine.folder)]):
        ran = machine.start("mend", "printer.cfg", "--write")

    assert ran.code == 3
    assert "another run is writing in the folder" in ran.err
    assert machine.bytes() == before
    assert machine.start("mend", "printer.cfg", "--write").code == 0


def test_leftovers_of_a_killed_run_are_taken_away(file: Path) -> None:
    """Only ours, and only those of this file."""
    ours = file.parent / ".a.cfg.feedwright-0123abcd.tmp"
    foreign = file.parent / ".a.cfg.swp"
    ours.write_bytes(b"half")
    foreign.write_bytes(b"editor")
    write.write_all([job(file)])

    assert not ours.exists()
    assert foreign.exists()


def test_two_writes_in_one_second_keep_two_backups(file: Path) -> None:
    """No backup replaces another."""
    third: Callable[[], float] = lambda: 1_700_000_000.0  # noqa: E731
    write.write_all([job(file)], clock=third)
    write.write_all([job(file, before=NEW, after=OLD)], clock=third)
    write.write_all([job(file)], clock=third)

    kept = [(file.parent / name).read_bytes() for name in others(file.parent, "a.cfg")]
    assert sorted(kept) == sorted([OLD, NEW, OLD])
