"""Files that are no prints, or broken ones: a sentence or a note, never a fault."""

from __future__ import annotations

import io
import math
import random
import zipfile

import pytest
from every import every
from hypothesis import given, settings, strategies as st
from tiers import LONG, examples

from advisor.base import AdvisorError, PrintError
from advisor.prints import MachineLimits, PrintReport, analyse

LIMITS = MachineLimits(max_velocity=0.3, max_accel=5.0)
AREA = math.pi / 4.0 * 1.75e-3**2


def run(data: bytes) -> PrintReport:
    return analyse(
        io.BytesIO(data), limits=LIMITS, filament_area=AREA, melt_volume=2e-8, capacity=1e-8
    )


def finite(made: PrintReport) -> bool:
    values = [made.time, made.volume, made.peak.value, made.path_length, made.filament_length,
              made.extruder_peak_speed.value, made.extruder_peak_accel.value]  # fmt: skip
    return all(math.isfinite(value) for value in values)


def _zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("plate_1.gcode", "G1 X1 E1\n")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (_zip(), "zip"),
        (b"GCDE" + bytes(range(256)) * 40, "binary"),
        (b"\x89PNG\r\n\x1a\n" + bytes(1000), ""),
        (b"[extruder]\nrotation_distance: 22.6\n", "no G-code"),
        (b"\x1f\x8b\x08\x00broken", ""),
        (random.Random(1).randbytes(200_000), ""),
    ],
    ids=["empty", "zip", "container", "picture", "config", "gzip", "noise"],
)
def test_what_is_no_print_is_refused_in_a_sentence(data: bytes, words: str) -> None:
    """With what it looks like, and no traceback."""
    with pytest.raises(PrintError) as caught:
        run(data)
    assert words.lower() in str(caught.value).lower()
    assert "\n" not in str(caught.value)


@every(
    "line",
    [
        "G1 Xnan E1 F600",
        "G1 Xinf E1 F600",
        "G1 X1e999 E1 F600",
        "G1 X" + "9" * 400 + " E1 F600",
        "G1 X5 E" + "9" * 60 + " F600",
        "G1 X5 E1 F-600",
        "G1 X5 E1 F0",
        "G1 X5 E1",
        "G1 X E F",
        "G1 X1.2.3 E1",
        "G2 X5 Y5 I0 J0 E1",
        "G2 X5 Y5 R0.1 E1",
        "G3 I1e30 J1e30 E1",
        "G92 Enan",
        "M204 S-5",
        "M204 S0",
        "M221 S1e300",
        "M220 S-3",
        "SET_VELOCITY_LIMIT ACCEL=",
        "SET_VELOCITY_LIMIT ACCEL=nan VELOCITY=-1",
        "G4 P1e300",
        "T99999999999999999999",
        "G1 X5 E1 F600 \x00\xff",
    ],
)
def test_a_bad_line_leaves_finite_numbers(line: str) -> None:
    """The rest of the print is still read."""
    data = f"G90\nM83\nG92 X0 Y0 Z0 E0\n{line}\nG1 X10 Y10 E1 F1200\nG1 X20 E1\n"
    made = run(data.encode("latin-1"))
    assert finite(made)
    assert made.moves >= 1


def test_a_print_cut_off_in_a_line_is_read_up_to_there() -> None:
    """A broken transfer."""
    whole = b"G90\nM83\nG92 X0 Y0 E0\nG1 X10 E1 F1200\nG1 X20 E1\nG1 X3"
    assert run(whole).volume / AREA * 1e3 == pytest.approx(2.0)


def test_one_endless_line_is_bounded() -> None:
    """Megabytes without a line end: a sentence or a note, within the memory of a block or two."""
    size = 100_000_000 if LONG else 8_000_000
    data = b"G90\nM83\nG92 X0 Y0 E0\nG1 X10 E1 F1200\n" + b"A" * size
    assert finite(run(data))


_WORDS = st.sampled_from(
    ["\x00", "G1", "G0", "G2", "G3", "G92", "M82", "M83", "X1", "Y-2.5", "Z.2", "E0.1", "E-1",
     "F600", "I3", "J-3", "R5", "nan", "1e999", ";TYPE:Perimeter", "\n", "\r\n", " ", "(", ")",
     "*12", "N1", "G10", "G11", "M204 S100", "T1", "G91", "G90", "G20", "M221 S0"]
)  # fmt: skip


@settings(max_examples=examples(25, 150, 2000), deadline=None)
@given(st.lists(_WORDS, max_size=60))
def test_any_words_in_any_order(words: list[str]) -> None:
    """A report with finite numbers, or a sentence; nothing else."""
    try:
        made = run((" ".join(words)).encode())
    except AdvisorError as err:
        made = None
        said = str(err)
    assert finite(made) if made is not None else said


@settings(max_examples=examples(20, 100, 2000), deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes(data: bytes) -> None:
    """A report or a sentence."""
    try:
        made = run(b"G1 X1 E1 F600\n" + data)
    except AdvisorError as err:
        made = None
        said = str(err)
    assert finite(made) if made is not None else said
