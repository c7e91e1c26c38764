"""Strategies for whole machines with planted faults, in any style a config may be written in."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st
from mend_helpers import SAVED

__all__ = ["Planted", "machines"]

_MATERIALS = ("pla", "abs", "petg", "asa")
_NOISE = (
    b"# plain words", b"; more words", b"# 20 \xb0C", b"", b"   ", "# \u4e2d\u6587".encode(),
    b"#run_current: 3.0",
)  # fmt: skip
_OTHERS = (
    "[stepper_x]\nrotation_distance{d}40\nrun_current{d}1.9\n",
    '[gcode_macro TELL]\ngcode:\n    {{% set a = 1 %}}\n    RESPOND MSG="run_current: 9"\n',
    "[fan]\npin{d}PB2\n",
    "[firmware_retraction]\nretract_length{d}0.6\nretract_speed{d}30\n",
)


@dataclass
class Planted:
    """The files of a machine by name, and the settings that must come out changed."""

    files: dict[str, bytes] = field(default_factory=dict)
    profiles: tuple[str, ...] = ()
    must: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class _Style:
    delimiter: str
    indent: str
    end: str
    tail: str  # a comment behind values

    def block(self, header: str, pairs: list[tuple[str, str]]) -> str:
        lines = [f"{self.indent}{key}{self.delimiter}{text}{self.tail}" for key, text in pairs]
        return "\n".join((f"[{header}]", *lines, "", ""))


styles = st.builds(
    _Style,
    st.sampled_from((": ", ":", " = ", "=", "\t: ", ":   ")),
    st.sampled_from(("", "", "  ", "\t")),
    st.sampled_from(("\n", "\n", "\r\n", "\r")),
    st.sampled_from(("", "", " # a note: 0.1", " ; was 0.2", "#glued")),
)


def _written(value: float) -> st.SearchStrategy[str]:
    """Ways to write a number."""
    forms = [f"{value:.2f}", f"{value:.3f}", f"+{value:.2f}", f"{value:.2e}"]
    if 0 < value < 1:
        forms.append(f"{value:.2f}"[1:])
    return st.sampled_from(forms)


@st.composite
def machines(draw: st.DrawFn) -> Planted:
    """Draw a machine whose faults fixes can cure: currents too high, a cap too high."""
    planted, style = Planted(), draw(styles)
    rating = draw(st.sampled_from((0.6, 0.8, 1.0, 1.4)))
    basis = draw(st.sampled_from(("peak", "rms", "unsure")))
    chamber = draw(st.sampled_from((25, 30, 45, 60)))
    mount = draw(st.sampled_from(("metal", "metal", "petg", "pla")))
    run = draw(st.sampled_from((0.3, 0.45, 0.6, 0.8, 1.0, 1.3))) * rating
    hold = draw(st.sampled_from((None, 0.5, 1.0, 1.25)))
    names = draw(st.sampled_from((("extruder",), ("extruder",), ("extruder", "extruder1"))))
    drivers = [_driver(draw, style, name, run, hold) for name in names]
    if run >= rating and mount == "metal" and chamber <= 30:
        planted.must.add("run_current")
    if hold is not None and hold > 1:
        planted.must.add("hold_current")
    planted.files["hardware.yaml"] = _sheet(draw, rating, basis, chamber, mount).encode()
    _config(draw, planted, style, [_extruder(style, name) for name in names], drivers)
    _profile(draw, planted)
    return planted


def _driver(draw: st.DrawFn, style: _Style, name: str, run: float, hold: float | None) -> str:
    chip = draw(st.sampled_from(("tmc2209", "tmc2208", "tmc2130", "tmc5160")))
    pairs = [("uart_pin", "PC1"), ("run_current", draw(_written(run)))]
    if hold is not None:
        pairs.append(("hold_current", draw(_written(run * hold))))
    if draw(st.booleans()):
        pairs.append(("sense_resistor", "0.110" if chip != "tmc5160" else "0.075"))
    return style.block(f"{chip} {name}", draw(st.permutations(pairs)))


def _extruder(style: _Style, name: str) -> str:
    pairs = {
        "rotation_distance": "22.6", "gear_ratio": "50:10", "microsteps": "16",
        "nozzle_diameter": "0.4", "filament_diameter": "1.75", "min_temp": "0",
        "max_temp": "275", "max_extrude_only_velocity": "50", "max_extrude_only_accel": "1000",
    }  # fmt: skip
    return style.block(name, list(pairs.items()))


def _sheet(draw: st.DrawFn, rating: float, basis: str, chamber: int, mount: str) -> str:
    torque = draw(st.sampled_from(("0.08", "0.16", "0.3")))
    material = draw(st.sampled_from(_MATERIALS))
    return (
        f"motor: {{class: square-42-short, rated_current: {rating} A, rating_basis: {basis}, "
        f"holding_torque: {torque} N m}}\n"
        f"drive: {{driven_gears: 2, gear_diameter: 7.2 mm, stages: 1, mount: {mount}}}\n"
        f"hotend: {{class: standard}}\nfilament: {{material: {material}}}\n"
        f"chamber: {chamber} degC\n"
    )


def _config(
    draw: st.DrawFn, planted: Planted, style: _Style, extruders: list[str], drivers: list[str]
) -> None:
    """Put the parts into files: in one, or the drivers in an include, later or in both."""
    others = [
        text.format(d=style.delimiter)
        for text in draw(st.lists(st.sampled_from(_OTHERS), max_size=3, unique=True))
    ]
    way = draw(st.sampled_from(("root", "root", "include", "override", "saved")))
    saved = ""
    if way == "include":
        planted.files["parts/drivers.cfg"] = _bytes(draw, style, drivers)
        drivers = ["[include parts/*.cfg]\n"]
    elif way == "override":
        milder = [text.replace("run_current", "run_current") for text in drivers]
        drivers = [*milder, *drivers]
    elif way == "saved":
        lines = [f"#*# {line}".rstrip() for text in drivers for line in text.splitlines() if line]
        plain = [
            line.partition(" # ")[0].partition(" ; ")[0].partition("#glued")[0] for line in lines
        ]
        saved, drivers = SAVED + "\n".join(plain) + "\n", []
    parts = draw(st.permutations([*extruders, *others]))
    planted.files["printer.cfg"] = _bytes(draw, style, [*parts, *drivers], saved)


def _bytes(draw: st.DrawFn, style: _Style, parts: list[str], saved: str = "") -> bytes:
    """Return a file with noise between its parts, its line ends, a mark, or no last end."""
    pieces: list[bytes] = []
    for part in parts:
        pieces += [line + b"\n" for line in draw(st.lists(st.sampled_from(_NOISE), max_size=2))]
        pieces.append(part.encode())
    data = (b"".join(pieces) + saved.encode()).replace(b"\n", style.end.encode())
    if draw(st.integers(0, 3)) == 0:
        data = data.rstrip(b"\r\n")
    return b"\xef\xbb\xbf" + data if draw(st.integers(0, 4)) == 0 else data


def _profile(draw: st.DrawFn, planted: Planted) -> None:
    kind = draw(st.sampled_from((None, "ini", "json")))
    cap = draw(st.sampled_from(("90", "75.5", "200")))
    end = draw(st.sampled_from(("\n", "\r\n")))
    if kind is None:
        return
    name = f"fast.{kind}"
    if kind == "ini":
        text = (
            f"# invented\nfilament_type = PLA\nfilament_max_volumetric_speed = {cap}\nnote = a;b\n"
        )
    else:
        text = (
            '{\n\t"type": "filament", "name": "x",\n  "filament_type": ["PLA"],\n'
            f'  "filament_max_volumetric_speed" : ["{cap}" , "1"]\n}}'
        )
    planted.files[name] = text.replace("\n", end).encode()
    planted.profiles = (name,)
    if kind == "ini" and draw(st.booleans()):  # a second one, that states other settings
        planted.files["walls.ini"] = b"# invented\nlayer_height = 0.2\nperimeter_speed = 60\n"
        planted.profiles = (name, "walls.ini")
    planted.must.add("filament_max_volumetric_speed")
