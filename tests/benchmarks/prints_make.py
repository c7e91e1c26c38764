"""Makes sliced prints of any size: invented, of the shapes that slicers write.

Run as a script it writes one: ``python prints_make.py OUT.gcode --megabytes 500``.
A print is layers of walls, solid and sparse infill with travel, retraction and feature comments;
styles differ in how filament and feed are written.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

STYLES = ("relative", "absolute", "arcs", "trailing")
_LAYER_HEIGHT, _WIDTH = 0.2, 0.45
_FILAMENT_AREA = math.pi * 1.75**2 / 4.0
_FEEDS = {"External perimeter": 1800, "Perimeter": 3600, "Solid infill": 4800,
          "Internal infill": 7200}  # fmt: skip


def print_lines(style: str = "relative", seed: int = 1) -> Iterator[str]:
    """Yield the lines of a print without end, one layer after the other.

    Parameters
    ----------
    style : str
        ``relative`` (feed on lines of its own), ``absolute`` (filament counted on, feed on many
        lines), ``arcs`` (a third of the walls are arcs), ``trailing`` (comment on each move).
    seed : int
        Of the random numbers.
    """
    maker = _Maker(style, seed)
    yield from ("; invented print, made for measuring", "M104 S215", "G28", "G90",
                "M82" if style == "absolute" else "M83", "G92 E0",
                "G1 Z5 F3000", "M109 S215", "G1 X10 Y10 F6000")  # fmt: skip
    layer = 0
    while True:
        layer += 1
        yield from maker.layer(layer)


def write_print(out: BinaryIO, size: int, style: str = "relative", seed: int = 1) -> int:
    """Write whole lines until `size` bytes are reached; return the bytes written."""
    written, block, count = 0, [], 0
    for line in print_lines(style, seed):
        block.append(line)
        count += len(line) + 1
        if count >= 1 << 16 or written + count >= size:
            out.write(("\n".join(block) + "\n").encode())
            written, block, count = written + count, [], 0
            if written >= size:
                return written
    return written


class _Maker:
    def __init__(self, style: str, seed: int) -> None:
        self.random = random.Random(seed)
        self.style = style
        self.e = 0.0
        self.x = self.y = 10.0
        self.note = ""

    def layer(self, number: int) -> Iterator[str]:
        z = number * _LAYER_HEIGHT
        yield from (";LAYER_CHANGE", f";Z:{z:.2f}", f";HEIGHT:{_LAYER_HEIGHT}")
        yield f"G1 Z{z:.2f} F9000"
        yield f"M73 P{number % 100}"
        if self.style == "absolute":
            self.e = 0.0
            yield "G92 E0"
        for feature, feed in _FEEDS.items():
            yield f";TYPE:{feature}"
            self.note = f" ; {feature.lower()}" if self.style == "trailing" else ""
            yield f"M204 S{self.random.choice((1500, 3000, 5000))}"
            for _ in range(4):
                yield from self.loop(feature, feed)

    def loop(self, feature: str, feed: int) -> Iterator[str]:
        r = self.random
        cx, cy = r.uniform(40, 160), r.uniform(40, 160)
        yield from self.travel(cx + 20.0, cy)
        yield f"G1 F{feed}" if self.style != "absolute" else f"G1 X{self.x:.3f} F{feed}"
        if r.random() < 0.3:
            yield f";WIDTH:{_WIDTH + r.uniform(0, 0.1):.6f}"
        if "infill" in feature.lower():
            for k in range(60):
                side = 20.0 if (k + 1) // 2 % 2 else -20.0
                yield self.line(cx + side, cy + 0.4 * k)
            return
        for k in range(1, 121):
            angle = 2.0 * math.pi * k / 120
            radius = 20.0 + r.uniform(-0.05, 0.05)
            x, y = cx + radius * math.cos(angle), cy + radius * math.sin(angle)
            if self.style == "arcs" and k % 3 == 0:
                yield self.arc(x, y)
            else:
                yield self.line(x, y)

    def travel(self, x: float, y: float) -> Iterator[str]:
        yield self.filament(-0.8, 2400)
        yield f"G1 X{x:.3f} Y{y:.3f} F18000"
        self.x, self.y = x, y
        yield self.filament(0.8, 2400)

    def filament(self, length: float, feed: int) -> str:
        self.e += length
        return f"G1 E{self._e(length)} F{feed}"

    def line(self, x: float, y: float) -> str:
        length = self._pushed(math.hypot(x - self.x, y - self.y))
        self.x, self.y = x, y
        return f"G1 X{x:.3f} Y{y:.3f} E{self._e(length)}{self.note}"

    def arc(self, x: float, y: float) -> str:
        chord_x, chord_y = x - self.x, y - self.y
        i, j = 0.5 * chord_x - 3.0 * chord_y, 0.5 * chord_y + 3.0 * chord_x
        turn = 2.0 * math.atan2(0.5, 3.0)
        length = self._pushed(math.hypot(i, j) * turn)
        self.x, self.y = x, y
        return f"G3 X{x:.3f} Y{y:.3f} I{i:.3f} J{j:.3f} E{self._e(length)}{self.note}"

    def _pushed(self, length: float) -> float:
        pushed = length * _LAYER_HEIGHT * _WIDTH / _FILAMENT_AREA
        self.e += pushed
        return pushed

    def _e(self, length: float) -> str:
        text = f"{self.e if self.style == 'absolute' else length:.5f}"
        return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def main() -> None:
    """Write a print to a file."""
    parser = argparse.ArgumentParser(description="Make an invented sliced print.")
    parser.add_argument("out", type=Path)
    parser.add_argument("--megabytes", type=float, default=5.0)
    parser.add_argument("--style", choices=STYLES, default="relative")
    chosen = parser.parse_args()
    with chosen.out.open("wb") as out:
        written = write_print(out, int(chosen.megabytes * 1e6), chosen.style)
    sys.stderr.write(f"{written} bytes in {chosen.out}\n")


if __name__ == "__main__":
    main()
