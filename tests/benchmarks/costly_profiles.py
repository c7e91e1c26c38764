"""Hostile slicer profiles: bundles, lists, archives."""

from __future__ import annotations

import io
import json
import zipfile

from costly_made import CONFIG, LINT, PROFILE, SMALL, Case, Files, case, cut, numbered, profile

PROFILED = [*LINT, "--profile", "p.ini"]


@case
def bundle_of_a_maker() -> Case:
    """What must pass: 4,612 presets in 1 MB, each with a parent."""
    row = "[filament:f{i}]\ninherits = *c*\nfilament_type = PLA\n"
    row += "filament_max_volumetric_speed = {i}\n"
    bundle = "[filament:*c*]\nfilament_density = 1.24\n" + numbered(
        row + "filament_cost = 2; x{i}\n" * 4, 4_612
    )
    files: Files = {"printer.cfg": CONFIG, "p.ini": bundle}
    return files, [*PROFILED, "--preset", "f7"]


@case
def bundle_of_a_maker_unchosen() -> Case:
    """The same, with no preset chosen."""
    files, _ = bundle_of_a_maker()
    return files, PROFILED


@case
def mend_with_many_presets() -> Case:
    """The edits of a bundle of 100,000 presets."""
    text = "[filament:a]\n" + PROFILE + numbered("[filament:f{i}]\n", 55_000)
    return profile(text, "p.ini", "mend", "printer.cfg")


@case
def mend_with_far_too_many_presets() -> Case:
    """The edits of a bundle of 100,000 presets with a value each (more than 1 MB)."""
    row = "[filament:f{i}]\nfilament_max_volumetric_speed = 24\n"
    return profile(numbered(row, 100_000), "p.ini", "mend", "printer.cfg")


@case
def presets_in_a_chain() -> Case:
    """Presets that inherit from one another, in a long chain."""
    row = "[filament:f{i}]\nfilament_type = PLA\ninherits = f{i}0\n"
    return profile(numbered(row, 15_000))


@case
def presets_with_many_parents() -> Case:
    """A preset with as many parents as presets."""
    rows = numbered("[filament:f{i}]\nfilament_type = PLA\n", 12_000)
    names = ";".join(f"f{i}" for i in range(12_000))
    return profile(f"{rows}[filament:z]\ninherits = {names}\nfilament_max_volumetric_speed = 9\n")


@case
def presets_that_double() -> Case:
    """Each preset inherits from the next two."""
    row = "[filament:f{i}]\nfilament_type = PLA\ninherits = f{j}; f{k}\n"
    text = "".join(row.format(i=i, j=i + 1, k=i + 2) for i in range(60))
    return profile(text)


@case
def presets_with_lost_parents() -> Case:
    """Presets that each name another parent that is nowhere."""
    row = "[filament:f{i}]\nfilament_max_volumetric_speed = 9\ninherits = g{i}\n"
    return profile(numbered(row, 12_000))


@case
def profile_of_one_key() -> Case:
    """One key again and again."""
    return profile(PROFILE + numbered("filament_max_volumetric_speed = {i}\n", 22_000))


@case
def profile_of_many_keys() -> Case:
    """Keys that nobody knows."""
    return profile(PROFILE + numbered("k{i} = {i}\n", 60_000))


@case
def profile_of_one_long_line() -> Case:
    """A value of a million letters."""
    return profile(PROFILE + "filament_max_volumetric_speed = " + "9," * 450_000)


@case
def profile_of_quotes() -> Case:
    """A list of quotes that never close."""
    return profile(PROFILE + 'filament_type = "' + '\\";"' * 200_000)


@case
def profile_of_blanks() -> Case:
    """Lines of blanks only."""
    return profile(PROFILE + (" " * 1_000 + "\n") * 900)


@case
def profile_of_semicolons() -> Case:
    """A print profile kept as comments."""
    return profile("; " + cut("; filament_type = PLA\n"))


@case
def profile_of_comment_marks() -> Case:
    """A file of comment marks."""
    return profile(";" * 1_000_000 + "\n" + PROFILE)


@case
def large_ini() -> Case:
    """32 MB of ini (more than 1 MB, for comparison)."""
    return profile(PROFILE + cut("a = 1\n", 32 * SMALL - 4096))


@case
def deep_json() -> Case:
    """Lists in lists."""
    return profile('{"filament_type": ' + "[" * 450_000 + "]" * 450_000 + "}", "p.json")


@case
def deep_json_objects() -> Case:
    """Objects in objects."""
    return profile('{"a":' * 170_000 + "1" + "}" * 170_000, "p.json")


@case
def wide_json() -> Case:
    """A list of very many numbers."""
    return profile(
        '{"type": "filament", "filament_max_volumetric_speed": [' + "1," * 450_000 + "1]}", "p.json"
    )


@case
def json_of_many_keys() -> Case:
    """An object of very many keys."""
    rows = {f"k{i}": "1" for i in range(60_000)}
    return profile(json.dumps({"type": "filament", "filament_type": "PLA", **rows}), "p.json")


@case
def json_of_one_key() -> Case:
    """An object that states one key again and again."""
    rows = '"filament_type": "PLA",' * 40_000
    return profile("{" + rows + '"type": "filament"}', "p.json")


@case
def json_of_many_presets() -> Case:
    """A list of very many presets."""
    rows = [
        {"type": "filament", "name": f"f{i}", "filament_max_volumetric_speed": ["9"]}
        for i in range(11_000)
    ]
    return profile(json.dumps(rows), "p.json")


@case
def json_of_long_numbers() -> Case:
    """A number of a million digits."""
    return profile(
        '{"type": "filament", "filament_max_volumetric_speed": ' + "9" * 1_000_000 + "}", "p.json"
    )


@case
def json_of_escapes() -> Case:
    """A text of escapes that never ends."""
    return profile('{"filament_type": "' + "\\u0041" * 160_000, "p.json")


@case
def json_that_breaks_off() -> Case:
    """A million opening brackets."""
    return profile("[{" * 450_000, "p.json")


@case
def zip_that_unpacks_far() -> Case:
    """A small archive of members that unpack to 15 MB each."""
    return profile(_zip({f"{i}.ini": b"a = 1\n" * (15 * SMALL // 6) for i in range(4)}), "p.zip")


@case
def zip_of_zeros() -> Case:
    """A small archive of line ends."""
    return profile(_zip({f"{i}.ini": b"\n" * (15 * SMALL) for i in range(4)}), "p.zip")


@case
def zip_of_json() -> Case:
    """A small archive of JSON that unpacks far."""
    body = b'{"type":"filament","filament_type":[' + b"1," * 7_000_000 + b"1]}"
    return profile(_zip({f"{i}.json": body for i in range(4)}), "p.zip")


@case
def zip_of_many_keys() -> Case:
    """A small archive of members of very many keys."""
    body = numbered("filament_type = PLA\nk{i} = 1\n", 400_000).encode()
    return profile(_zip({f"{i}.ini": body for i in range(6)}), "p.zip")


@case
def zip_of_many_members() -> Case:
    """An archive of very many small members."""
    return profile(_zip({f"{i}.ini": PROFILE.encode() for i in range(6_000)}), "p.zip")


@case
def zip_of_overlapping_members() -> Case:
    """Members that all are the same bytes of the archive."""
    return profile(_overlapping(2_000, b"a = 1\n" * 2_500_000), "p.zip")


@case
def zip_of_broken_members() -> Case:
    """Members whose check sums are wrong; the bytes unpack all the same."""
    data = bytearray(_overlapping(2_000, b"a = 1\n" * 2_500_000))
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 16] ^= 0xFF
        at = data.find(b"PK\x01\x02", at + 1)
    return profile(bytes(data), "p.zip")


@case
def zip_of_lying_members() -> Case:
    """Members that state a size of 0."""
    data = bytearray(_zip({f"{i}.ini": b"a = 1\n" * (15 * SMALL // 6) for i in range(4)}))
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 24 : at + 28] = bytes(4)
        at = data.find(b"PK\x01\x02", at + 1)
    return profile(bytes(data), "p.zip")


def _zip(members: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return target.getvalue()


@case
def zip_of_lzma() -> Case:
    """A small archive by another method."""
    body = b"a = 1\n" * (15 * SMALL // 6)
    return profile(_zip({f"{i}.ini": body for i in range(4)}, zipfile.ZIP_LZMA), "p.zip")


@case
def zip_of_bzip2() -> Case:
    """A small archive by another method."""
    body = b"a = 1\n" * (15 * SMALL // 6)
    return profile(_zip({f"{i}.ini": body for i in range(4)}, zipfile.ZIP_BZIP2), "p.zip")


def _overlapping(count: int, body: bytes) -> bytes:
    """Return an archive whose list names the same bytes `count` times."""
    data = _zip({"00000.ini": body})
    first, end = data.index(b"PK\x01\x02"), data.index(b"PK\x05\x06")
    entry = data[first:end]
    entries = entry * count
    tail = bytearray(data[end:])
    tail[8:10] = tail[10:12] = count.to_bytes(2, "little")
    tail[12:16] = len(entries).to_bytes(4, "little")
    return data[:first] + entries + bytes(tail)
