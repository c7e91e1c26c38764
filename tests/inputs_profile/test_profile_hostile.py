"""Whatever the bytes are, the answer is a ProfileSet or an error in one clear sentence."""

from __future__ import annotations

import io
import json
import math
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from every import every
from held import held
from hypothesis import HealthCheck, given, settings, strategies as st
from tiers import examples, only_wide, spread, wide

from advisor.base import InputError, ProfileError, State, UnreadableError
from advisor.base.budgets import UNPACKED_BYTES
from advisor.inputs.profile import ProfileSet, read_profiles
from advisor.inputs.profile.dialects import load_dialects
from advisor.inputs.profile.door import MAX_TEXT
from tests.inputs_profile.conftest import Ask, zipped

tries = settings(
    max_examples=examples(25, 150, 5000),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
KEYS = sorted(load_dialects().wanted_keys)
VALUES = st.sampled_from(
    ["0", "12", "12,14", "50%", "nil", "", "!5%", "=a*2", "{x}", "-1", "-50", "1e300", "nan", "PLA",
     "a;b", '"', "filament", "self", "[", "\\n", "\u00e9", "99999999999", "1e-320", "0,4"]
) | st.text(max_size=6)  # fmt: skip
PAIRS = st.lists(st.tuples(st.sampled_from(KEYS), VALUES), max_size=12)
SAMPLE = json.dumps({"type": "filament", "name": "F", "filament_max_volumetric_speed": ["12"]})
ARCHIVE = zipped({"F.json": SAMPLE, "x": "[values]\nlayer_height = 0.2\n"})


def read(data: bytes, name: str = "x", **options: int) -> ProfileSet | InputError:
    """Return the ProfileSet, or the error of one of the two kinds that may be raised."""
    try:
        found = read_profiles(
            [name], open_file=lambda path: io.BytesIO(data), list_folder=lambda path: [], **options
        )
    except (ProfileError, UnreadableError) as err:
        text = str(err)
        assert "\n" not in text
        assert "Traceback" not in text
        return err
    check(found)
    return found


def check(found: ProfileSet) -> None:
    """Every known number is finite and not negative but for temperatures; states are coherent."""
    for fact in found.facts.values():
        assert (fact.value is not None) == (fact.state is State.KNOWN)
        if isinstance(held(fact), float):
            assert math.isfinite(held(fact))
            assert held(fact) >= 0 or fact.number.unit == "degC"
    for feature in found.features:
        numbers = (feature.speed, feature.width, feature.height, feature.acceleration)
        assert all(n is None or (math.isfinite(n) and n >= 0) for n in numbers)
        assert math.isfinite(feature.flow_ratio)
    for event in found.events:
        assert all(isinstance(value, str) for value in event.fields.values())
    assert (found.features_state is State.KNOWN) == bool(found.features)


@given(st.binary(max_size=400))
@tries
def test_any_bytes(data: bytes) -> None:
    """Arbitrary bytes are read or refused."""
    read(data)


@given(st.binary(max_size=200), st.sampled_from([b"PK\x03\x04", b"PK\x05\x06", b"{", b"[", b"; "]))
@tries
def test_any_bytes_behind_a_promising_start(data: bytes, start: bytes) -> None:
    """Bytes that begin like an archive, JSON or ini are read or refused."""
    read(start + data)


@given(PAIRS, st.sampled_from(["\n", "\r\n"]), st.sampled_from(["", "[print:a]\n", "[values]\n"]))
@tries
def test_known_keys_with_any_values_in_ini(
    pairs: list[tuple[str, str]], end: str, head: str
) -> None:
    """The keys of the dialects with odd values are read or refused."""
    text = head + "\n".join(f"{key} = {value}" for key, value in pairs)
    read(text.replace("\n", end).encode("utf-8", "replace"))


@given(PAIRS, st.booleans(), st.integers(0, 3))
@tries
def test_known_keys_with_any_values_in_json(
    pairs: list[tuple[str, str]], listed: bool, tool: int
) -> None:
    """The same in JSON, as text and as lists, for any extruder."""
    data = {key: ([value, value] if listed else value) for key, value in pairs}
    read(json.dumps(data).encode(), tool=tool)


@wide
@pytest.mark.parametrize("byte", spread([0, 1, 0x2F, 0x80, 0xFF], 1))
def test_a_damaged_archive(byte: int) -> None:
    """An archive with any one byte changed is read or refused."""
    for at in range(len(ARCHIVE)):
        read(ARCHIVE[:at] + bytes([byte]) + ARCHIVE[at + 1 :])


def test_a_truncated_archive() -> None:
    """An archive cut short anywhere is refused: its list of members is at its end."""
    for at in range(len(ARCHIVE)):
        assert isinstance(read(ARCHIVE[:at]), InputError)


GCODE = "; made up\nM104 S200\nG28\nG1 X1 Y1 E0.1 F1200\nG1 X2 Y1 E0.2\n"
REFUSED = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \r\n\t\n", "the file is empty"),
    "mark only": (b"\xef\xbb\xbf", "the file is empty"),
    "binary": (b"\x7fELF\0\0\0\1", "binary, not a slicer profile"),
    "control characters": (bytes(range(1, 32)) * 9, "binary, not a slicer profile"),
    "gzip": (b"\x1f\x8b\x08\0abc", "compressed file"),
    "G-code": (GCODE.encode(), "this is G-code"),
    "binary G-code": (b"GCDE\1\0\0\0", "sliced print in a binary container"),
    "XML": (b"<?xml version='1.0'?><a/>", "this is XML"),
    "prose": (b"Dear diary,\ntoday I printed.\n", "no setting of a slicer profile"),
    "a machine's config": (b"[extruder]\nstep_pin: PA1\nmax_temp: 300\n", "no setting of a slicer"),
    "JSON number": (b"[1, 2]", "no setting of a slicer profile"),
    "JSON list": (b'[{"a": 1}, 2]', "must be an object"),
    "empty JSON": (b"{}", "no setting of a slicer profile"),
    "broken JSON": (b'{"layer_height": ', "broken JSON"),
    "truncated archive": (ARCHIVE[:-30], "truncated or damaged"),
    "archive head": (b"PK\x03\x04", "truncated or damaged"),
}


@every("case", REFUSED)
def test_what_is_no_profile_is_refused_with_its_reason(case: str) -> None:
    """Each wrong file has its own sentence, the place and a remedy."""
    data, words = REFUSED[case]
    err = read(data, "given.ini")

    assert isinstance(err, InputError)
    assert words in err.problem
    assert err.remedy
    assert err.at is not None
    assert err.at.file == "given.ini"


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    """A missing file, a folder and an impossible path are unreadable, with the reason."""
    for path in (str(tmp_path / "none.ini"), str(tmp_path), "a\0b", ""):
        with pytest.raises(UnreadableError, match="cannot be read"):
            read_profiles([path])


def test_a_medium_that_fails_is_unreadable() -> None:
    """An error while reading is told like one while opening."""

    class Failing(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            raise OSError(5, "Input/output error")

    with pytest.raises(UnreadableError, match="input/output error"):
        read_profiles(["x"], open_file=lambda path: Failing())


class Zeros(io.RawIOBase):
    """A file of 200 MB that exists only as it is read."""

    def __init__(self, line: bytes) -> None:
        self.line, self.left, self.given = line, 200 * 2**20, 0

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        count = min(size if size >= 0 else self.left, self.left)
        self.left -= count
        self.given += count
        return (self.line * (count // len(self.line) + 1))[:count]


@pytest.mark.parametrize(
    ("line", "words"), [(b"a = 1\n", "larger than 8 MB"), (b"G1 X1 Y1\n", "this is G-code")]
)
def test_a_huge_file_is_refused_within_bounds(line: bytes, words: str) -> None:
    """Of a 200 MB file no more than the cap is read; G-code is named as such."""
    source = Zeros(line)
    with pytest.raises((UnreadableError, ProfileError), match=words):
        read_profiles(["x"], open_file=lambda path: source)  # type: ignore[arg-type,return-value]

    assert source.given <= MAX_TEXT + 1


@wide
@only_wide
def test_an_archive_that_unpacks_without_end_is_bounded(ask: Ask) -> None:
    """A member of zeros far larger than the archive is refused, with little memory."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open("a.ini", "w") as member:
            for _ in range(64):
                member.write(b"\n" * 2**20)
        archive.writestr("b.json", SAMPLE)
    tracemalloc.start()
    with pytest.raises(ProfileError, match="unpacks to more than 8 MB"):
        ask({"x.zip": target.getvalue()})
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert peak < 60 * 2**20


@wide
@pytest.mark.parametrize("broken", spread([True, False], 1))
def test_members_that_share_their_bytes_count_each_time(
    ask: Ask, monkeypatch: pytest.MonkeyPatch, broken: bool
) -> None:
    """Two thousand members of one stretch of the archive: what comes out is counted."""
    data = overlapping(2000, b"a = 1\n" * 2**18, broken=broken)
    came = []
    real = zipfile.ZipExtFile.read

    def read(self: zipfile.ZipExtFile, n: int | None = -1) -> bytes:
        came.append(len(piece := real(self, n)))
        return piece

    monkeypatch.setattr(zipfile.ZipExtFile, "read", read)
    with pytest.raises(ProfileError, match="unpacks to more than 8 MB"):
        ask({"x.zip": data})

    assert len(data) < 2**19
    assert sum(came) <= UNPACKED_BYTES + 1


def overlapping(count: int, body: bytes, *, broken: bool) -> bytes:
    """Return an archive whose list names the same bytes again and again."""
    data = zipped({"a.ini": body})
    first, end = data.index(b"PK\x01\x02"), data.index(b"PK\x05\x06")
    entry = bytearray(data[first:end])
    entry[16] ^= 0xFF if broken else 0  # its check sum
    entries = bytes(entry) * count
    tail = bytearray(data[end:])
    tail[8:10] = tail[10:12] = count.to_bytes(2, "little")
    tail[12:16] = len(entries).to_bytes(4, "little")
    return data[:first] + entries + bytes(tail)


def test_an_archive_of_many_large_members_is_refused(ask: Ask) -> None:
    """All members together are bounded too."""
    members = {f"{i}.ini": b"\n" * (2 * 2**20) for i in range(6)}
    with pytest.raises(ProfileError, match="unpacks to more than 8 MB"):
        ask({"x.zip": zipped(members)})


def test_an_archive_of_countless_members_is_refused(ask: Ask) -> None:
    """The number of members is bounded, and so is the list of members itself."""
    with pytest.raises(ProfileError, match="or 2000 profiles"):
        ask({"x.zip": zipped({f"{i}.ini": "" for i in range(2001)})})
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, 2**31, 0, 0)
    with pytest.raises(ProfileError, match="more members than any project"):
        ask({"x.zip": b"PK\x03\x04" + bytes(2000) + end})


def test_an_encrypted_member_is_told(ask: Ask) -> None:
    """A member that needs a password is an unreadable one."""
    data = bytearray(zipped({"F.json": SAMPLE, "G.json": SAMPLE}))
    for mark, offset in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        data[data.index(mark) + offset] |= 1
    found = ask({"x.zip": bytes(data)})

    assert [e.fields for e in found.events if e.kind == "profile-member-unreadable"] == [
        {"member": "F.json", "reason": "it is encrypted"}
    ]
    assert found.facts["demand.profile_flow"].known


@every("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@every("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding: str, end: str) -> None:
    """A text in any usual encoding and with any line ends gives the same facts."""
    text = "# \u00fcbung\nfilament_settings_id = \u00c4\nfilament_max_volumetric_speed = 12\n"
    found = read(text.replace("\n", end).encode(encoding))

    assert isinstance(found, ProfileSet)
    assert found.profiles[0].name == "\u00c4"
    assert held(found.facts["demand.profile_flow"]) == pytest.approx(12e-9)
    at = found.facts["demand.profile_flow"].origin.at
    assert at is not None
    assert at.line == 3


def test_a_lone_surrogate_in_json_can_be_printed() -> None:
    """An escape that is no character does not reach a sentence as one that cannot be encoded."""
    found = read(b'{"name": "a\\ud800", "filament_type": "\\udfff", "inherits": "\\ud801"}')

    assert isinstance(found, ProfileSet)
    texts = [found.profiles[0].name, str(held(found.facts["filament.material"]))]
    texts += [value for event in found.events for value in event.fields.values()]
    for text in texts:
        assert text.encode("utf-8")
