"""A table of hostile cases: every reader and every writer, with what must hold of each.

    python tests/studies/hostile_cases.py [--only WORD] [--failures]

Of every case: it ends, its exit code is one of 0 to 3, there is no traceback, internal error or
warning, none of the user's files is changed or gone, and the secret beside the config's folder is
on no stream and in no file that was written. A case may ask for more (its exit codes, words).
All files are invented.
"""

from __future__ import annotations

import argparse
import gzip
import json
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.studies.hostile_ground import (
    CONFIG,
    PRINT,
    PROFILE,
    SHEET,
    TABLE,
    Case,
    Content,
    fifo,
    folder_there,
    hard_link,
    link,
    run_all,
    with_field,
    with_key,
    zipped,
)

EXTREMES = ("1e155", "5e-324", "1.8e308", "9" * 400, "-1e300", "0." + "0" * 46 + "1", "nan", "inf")
KEYS = (
    "rotation_distance", "gear_ratio", "full_steps_per_rotation", "microsteps", "nozzle_diameter",
    "filament_diameter", "max_extrude_cross_section", "pressure_advance", "max_temp", "run_current",
    "sense_resistor", "stealthchop_threshold", "max_velocity", "max_accel",
)  # fmt: skip
FIELDS = (
    ("motor.rated_current", "A"), ("motor.holding_torque", "N m"), ("motor.resistance", "ohm"),
    ("motor.inductance", "mH"), ("motor.rotor_inertia", "g cm2"), ("motor.step_angle", "deg"),
    ("drive.gear_ratio", ""), ("drive.gear_diameter", "mm"), ("drive.bite_depth", "mm"),
    ("drive.efficiency", ""), ("drive.free_gap", "mm"), ("hotend.melt_length", "mm"),
    ("hotend.heater_power", "W"), ("filament.diameter", "mm"), ("filament.density", "g/cm3"),
    ("supply.voltage", "V"), ("ambient", "degC"), ("tube_length", "mm"), ("asked", "mm3/s"),
)  # fmt: skip
SETTINGS = (
    "layer_height", "extrusion_width", "external_perimeter_speed", "default_acceleration",
    "filament_diameter", "filament_density", "filament_max_volumetric_speed",
    "extrusion_multiplier", "temperature", "nozzle_diameter", "retract_speed",
)  # fmt: skip
LINT = ("lint", "printer.cfg")
FLOW = ("flow", "printer.cfg", "--profile", "profile.ini")


def configs() -> Iterator[Case]:
    """Values, texts and encodings of a config."""
    for key in KEYS:
        for text in EXTREMES:
            value = f"{text}:1" if key == "gear_ratio" else text
            yield Case(
                "config value", f"{key} {text[:12]}", LINT, {"printer.cfg": with_key(key, value)}
            )
    for key, text in (
        ("nozzle_diameter", "1e155"),
        ("rotation_distance", "5e-324"),
        ("run_current", "3e307"),
    ):
        for argv in (
            ("flow", "printer.cfg", "--asked", "20mm3/s"), ("torque", "printer.cfg"), ("grip", "printer.cfg"),
            ("mend", "printer.cfg"), ("compare", "printer.cfg", "--target", "30mm3/s"),
            ("sheet", "printer.cfg"), ("weigh", "plan", "printer.cfg"),
            ("report", "printer.cfg", "--html", "page.html"),
            ("demand", "box.gcode", "--config", "printer.cfg"), ("explain", "flow.torque", "printer.cfg"),
        ):  # fmt: skip
            yield Case(
                "config value",
                f"{argv[0]} {key} {text}",
                argv,
                {"printer.cfg": with_key(key, text)},
            )
    stepper = (
        "\n[extruder_stepper a]\nextruder: extruder\nrotation_distance: 1.8e308\nmicrosteps: 16\n"
    )
    yield Case(
        "config value", "an extruder stepper at 1.8e308", LINT, {"printer.cfg": CONFIG + stepper}
    )
    texts: dict[str, bytes] = {
        "empty": b"", "blanks": b" \n\t\n", "one NUL": CONFIG.encode().replace(b"[extruder]", b"[extr\0uder]"),
        "all NUL": bytes(4096), "UTF-16": CONFIG.encode("utf-16"), "UTF-32": CONFIG.encode("utf-32"),
        "byte order mark": b"\xef\xbb\xbf" + CONFIG.encode(), "bad bytes": b"\xff\xfe\xfd" * 50 + CONFIG.encode(),
        "carriage returns": CONFIG.encode().replace(b"\n", b"\r"), "gzip": gzip.compress(CONFIG.encode()),
        "a zip": zipped({"printer.cfg": CONFIG}), "an ELF head": b"\x7fELF" + bytes(range(256)),
        "a line of 1 MB": CONFIG.encode() + b"k: " + b"x" * 1_000_000,
        "20,000 sections": CONFIG.encode() + b"".join(b"[s%d]\n" % i for i in range(20_000)),
        "20,000 keys": CONFIG.encode() + b"[s]\n" + b"".join(b"k%d: 1\n" % i for i in range(20_000)),
        "brackets": b"[" * 50_000, "open header": b"[extruder\nrotation_distance: 3\n",
        "merge marks": b"<<<<<<< a\n" + CONFIG.encode() + b"=======\n>>>>>>> b\n",
        "escapes in a name": CONFIG.encode() + b"[tmc2209 \x1b[31mextruder]\nrun_current: 1\n",
        "escapes in a value": with_key("nozzle_diameter", "\x1b]0;owned\x07").encode(),
        "right-to-left": with_key("nozzle_diameter", "\u202e4.0").encode(),
        "other digits": with_key("nozzle_diameter", "\u0660.\u0664").encode(),
        "template": with_key("run_current", "{{ common }}").encode(),
        "40 extruders": b"".join(CONFIG.replace("[extruder]", f"[extruder{i}]").encode() for i in range(1, 41)),
        "two printers": b"[printer:a]\nnozzle_diameter: 0.4\n[printer:b]\nnozzle_diameter: 0.6\n",
        "no extruder": b"[printer]\nmax_velocity: 300\n", "prose": b"Dear reader,\nthis is no config.\n",
        "allowances": CONFIG.encode() + b"# feedwright: allow nothing-known, x\n" * 2_000,
        "macro of huge moves": CONFIG.encode() + b"[gcode_macro A]\ngcode:\n  M83\n  G1 E1e308 F1e308\n  G1 E1e308 F5e-324\n",
        "macro of no numbers": CONFIG.encode() + b"[gcode_macro A]\ngcode:\n  M82\n  G1 Enan Finf\n  G92 E1e308\n  G1 E-1e308 F100\n",
        "saved block of digits": CONFIG.encode() + b"#*# <--- SAVE_CONFIG --->\n#*# [extruder]\n#*# pressure_advance = 1e999\n",
    }  # fmt: skip
    for name, data in texts.items():
        yield Case("config text", name, LINT, {"printer.cfg": data})
        yield Case("config text", f"mend {name}", ("mend", "printer.cfg"), {"printer.cfg": data})
    for name, what in {"a folder": folder_there, "a FIFO": fifo, "a link to itself": link("printer.cfg"),
                       "a dead link": link("nowhere"), "a device": link("/dev/zero"),
                       "process memory": link("/proc/self/mem")}.items():  # fmt: skip
        yield Case("config path", name, LINT, {"printer.cfg": what})
        yield Case(
            "config path",
            f"mend --write {name}",
            ("mend", "printer.cfg", "--write"),
            {"printer.cfg": what},
        )
    yield Case("config path", "not there", LINT, {"printer.cfg": None}, codes=(3,))
    yield Case("config path", "a name with a NUL", ("lint", "a\0b"), codes=(2, 3))
    yield Case("config path", "a name of 5,000 letters", ("lint", "a" * 5000), codes=(3,))
    yield Case("config path", "a name with a line end", ("lint", "a\nb.cfg"), codes=(3,))
    yield Case("config path", "empty", ("lint", ""), codes=(2, 3))
    for data in (b"", b"\0", CONFIG.encode(), b"\xff" * 99):
        yield Case("config path", f"standard input {data[:3]!r}", ("lint", "-"), stdin=data)


def includes() -> Iterator[Case]:
    """Includes: what is read, quoted, edited."""
    targets = (
        "/etc/passwd", "../secret.txt", "../../../../../../etc/passwd", "/proc/self/environ",
        "/proc/self/mem", "/dev/zero", "/dev/stdin", "/dev/tty", "../notes.cfg", "/etc", ".", "..", "",
        "*", "../*", "/*/*/*", "~/notes.cfg", "a\\b.cfg", "pipe.cfg", "printer.cfg", "linked.cfg",
        "dead.cfg", "[a-", "nowhere.cfg", "x" * 300, "caf\u00e9.cfg",
    )  # fmt: skip
    shapes: dict[str, Content | None] = {
        "pipe.cfg": fifo, "linked.cfg": link("../notes.cfg"), "dead.cfg": link("gone")}  # fmt: skip
    forms: tuple[tuple[str, ...], ...] = (
        LINT, ("lint", "printer.cfg", "--format", "json"), ("mend", "printer.cfg", "--write"))  # fmt: skip
    for target in targets:
        text = {"printer.cfg": f"[include {target}]\n{CONFIG}"}
        for argv in forms:
            if (
                target == "pipe.cfg"
                or argv is LINT
                or target.startswith(("/etc/", "../", "/proc/self/e", "linked"))
            ):
                changes = ("printer.cfg",) if argv[0] == "mend" else ()
                yield Case("include", f"{' '.join(argv)} {target[:40]}", argv, shapes | text,
                           never=("root:x:0:", "PATH="), changes=changes)  # fmt: skip
    for argv in (
        ("report", "printer.cfg", "--html", "page.html"),
        ("lint", "printer.cfg", "--format", "sarif"),
    ):
        for target in ("/etc/passwd", "../notes.cfg", "../secret.txt"):
            yield Case("include", f"{argv[0]} {argv[-1]} {target}", argv,
                       {"printer.cfg": f"[include {target}]\n{CONFIG}"}, never=("root:x:0:",))  # fmt: skip
    chain: dict[str, Content | None] = {f"c{i}.cfg": f"[include c{i + 1}.cfg]\n" for i in range(60)}
    yield Case("include", "60 deep", LINT, chain | {"printer.cfg": f"[include c0.cfg]\n{CONFIG}"})
    ring: dict[str, Content | None] = {"a.cfg": "[include b.cfg]\n", "b.cfg": "[include a.cfg]\n"}
    yield Case("include", "a ring", LINT, ring | {"printer.cfg": f"[include a.cfg]\n{CONFIG}"})
    many = "[include a.cfg]\n" * 3000
    yield Case(
        "include", "the same 3,000 times", LINT, {"a.cfg": "[x]\n", "printer.cfg": many + CONFIG}
    )


def sheets() -> Iterator[Case]:
    """The hardware sheet and its bases."""
    for path, unit in FIELDS:
        for text in ("1e155", "5e-324", "1e300", "0", "9" * 400):
            yield Case(
                "sheet value",
                f"{path} {text[:12]}",
                LINT,
                {"hardware.yaml": with_field(path, f"{text} {unit}")},
            )
    broken: dict[str, Content] = {
        "empty": "", "a list": "- a\n- b\n", "a number": "5\n", "tabs": "motor:\n\tclass: x\n",
        "an object": "motor: !!python/object/apply:os.system ['echo hi']\n", "bad bytes": b"\xff\xfe\xff",
        "NUL": b"motor: \0\n", "a bomb": "a: &a [x,x,x,x,x,x,x,x]\n" + "".join(
            f"{n}: &{n} [*{m},*{m},*{m},*{m},*{m},*{m},*{m},*{m}]\n" for m, n in zip("abcdefg", "bcdefgh", strict=True)),
        "a merge": "motor: &m\n  class: round-36\ndrive:\n  <<: *m\n", "deep": "[" * 3000 + "]" * 3000,
        "twice": "motor: {class: round-36}\nmotor: {class: round-36}\n", "a typo": "motr: {class: round-36}\n",
        "a date": "asked: 2001-01-01\n", "sexagesimal": "asked: 1:20 mm3/s\n", "true": "asked: true\n",
        "a huge band": "asked: 1e300..1e308 mm3/s\n", "a falling band": "asked: 9..1 mm3/s\n",
        "UTF-16": SHEET.encode("utf-16"), "1.1 MB": "# " + "x" * 1_100_000, "escapes": "motor: {class: \"\\e[31m\"}\n",
        "another extruder": "extruders: {nobody: {motor: {class: round-36}}}\n",
        "a gear ratio of nothing": "drive: {gear_ratio: '0:0'}\n", "a tuple key": "? [a, b]\n: c\n",
    }  # fmt: skip
    for name, content in broken.items():
        yield Case("sheet text", name, LINT, {"hardware.yaml": content})
        yield Case("sheet text", f"compare {name}", ("compare", "printer.cfg", "--sheet", "hardware.yaml", "--target", "30mm3/s"),
                   {"hardware.yaml": content})  # fmt: skip
    for argv in (("derate", "1A"), ("mend", "printer.cfg"), ("weigh", "plan", "printer.cfg"),
                 ("compare", "printer.cfg", "--sheet", "hardware.yaml", "--vary", "nozzle.diameter=0.4mm,0.6mm")):  # fmt: skip
        due = (0,) if argv[0] == "derate" else (3,)
        yield Case(
            "sheet text",
            f"{argv[0]} stops at a broken sheet",
            argv,
            {"hardware.yaml": "motr: 1\n"},
            codes=due,
        )
    for target in ("../secret.yaml", "/etc/passwd", "/proc/self/environ", "/dev/zero", "pipe.yaml", "hardware.yaml",
                   "nowhere.yaml", ".", "/dev/stdin", "linked.yaml"):  # fmt: skip
        files: dict[str, Content | None] = {"hardware.yaml": f"base: {target}\nasked: 5 mm3/s\n", "pipe.yaml": fifo,
                 "linked.yaml": link("../secret.yaml")}  # fmt: skip
        yield Case("sheet base", target, LINT, files, never=("root:x:0", "PATH="))
        yield Case("sheet base", f"compare {target}", ("compare", "printer.cfg", "--sheet", "hardware.yaml", "--target", "30mm3/s"),
                   files, never=("root:x:0", "PATH="))  # fmt: skip
    for name, what in {
        "a folder": folder_there,
        "a FIFO": fifo,
        "a device": link("/dev/zero"),
    }.items():
        yield Case(
            "sheet path", name, ("lint", "printer.cfg", "--sheet", "s.yaml"), {"s.yaml": what}
        )
        yield Case("sheet path", f"{name} beside", LINT, {"hardware.yaml": what})


def profiles() -> Iterator[Case]:
    """Slicer profiles."""
    for setting in SETTINGS:
        for text in ("1e155", "5e-324", "1e300", "-1e9", "1e9", "1e-9", "nan", "%", "1e308%"):
            lines = [
                f"{setting} = {text}" if line.startswith(f"{setting} =") else line
                for line in PROFILE.splitlines()
            ]
            yield Case(
                "profile value", f"{setting} {text}", FLOW, {"profile.ini": "\n".join(lines)}
            )
    nest = '{"inherits": ' * 2000 + "1" + "}" * 2000
    texts: dict[str, Content] = {
        "empty": b"", "two printers": "[printer:a]\nnozzle_diameter = 0.4\n[printer:b]\nnozzle_diameter = 0.6\n",
        "one printer": "[printer:a]\nnozzle_diameter = 0.4\n", "no number": '{"type": "process", "layer_height": {}}',
        "deep JSON": nest, "deep lists": "[" * 100_000, "broken JSON": '{"layer_height": ', "JSON of a list": "[1, 2]",
        "JSON null": "null", "JSON NaN": '{"type":"process","layer_height": NaN, "outer_wall_speed": Infinity}',
        "JSON of 400 nines": json.dumps({"type": "process", "layer_height": 0}).replace("0", "9" * 400),
        "JSON of 5,000 digits": json.dumps({"type": "process", "layer_height": 0}).replace("0", "9" * 5000),
        "JSON surrogate": '{"type":"process","name":"\\ud800","layer_height":"0.2"}',
        "JSON key twice": '{"layer_height":"0.2","layer_height":"0.3","type":"process"}',
        "a share of itself": "layer_height = 0.2\nfirst_layer_speed = 50%\nperimeter_speed = 50%\n",
        "its own parent": "[print:a]\ninherits = a\nlayer_height = 0.2\n",
        "a ring of parents": "[print:a]\ninherits = b\n[print:b]\ninherits = a\n[filament:c]\ntemperature = 200\n",
        "bad bytes": b"layer_height = 0.2\n\xff\xfe\xff = 3\n", "UTF-16": PROFILE.encode("utf-16"), "NUL": b"\0" * 100,
        "a config": CONFIG, "a print": PRINT, "escapes": "[print:\x1b[31m]\nlayer_height = 0.2\n[print:b]\nlayer_height = 1\n",
        "a zip": zipped({"a.ini": PROFILE}), "an empty zip": zipped({}), "a cut zip": zipped({"a.ini": PROFILE})[:-30],
        "a zip that climbs": zipped({"../../evil.ini": PROFILE}), "a zip in a zip": zipped({"b.zip": zipped({"a.ini": PROFILE})}),
        "a zip of 2,000": zipped({f"{i}.json": "{}" for i in range(2000)}), "a zip bomb": zipped({"a.ini": b"k = 1\n" * 5_000_000}),
        "a gzip": gzip.compress(PROFILE.encode()), "20,000 presets": "".join(f"[print:{i}]\nlayer_height = 0.2\n" for i in range(20_000)),
        "a line of 3 MB": "layer_height = " + "1," * 1_500_000,
    }  # fmt: skip
    for name, content in texts.items():
        yield Case("profile text", name, FLOW, {"profile.ini": content})
        yield Case(
            "profile text",
            f"lint {name}",
            ("lint", "printer.cfg", "--profile", "profile.ini"),
            {"profile.ini": content},
        )
    for parent in ("../secret", "/etc/passwd", "../secret.json", "pipe", "/proc/self/environ"):
        data = json.dumps(
            {"type": "process", "name": "x", "inherits": parent, "layer_height": "0.2"}
        )
        yield Case("profile parent", parent, ("flow", "printer.cfg", "--profile", "p.json", "--asked", "5mm3/s"),
                   {"p.json": data, "pipe.json": fifo, "pipe": fifo}, never=("root:x:0", "PATH="))  # fmt: skip
    child = json.dumps({"type": "process", "name": "x", "inherits": "y", "layer_height": "0.2"})
    asked = ("flow", "printer.cfg", "--profile", "p.json", "--asked", "5mm3/s")
    for name, what in {
        "a FIFO": fifo,
        "a device": link("/dev/zero"),
        "a dead link": link("gone"),
        "a folder": folder_there,
    }.items():
        yield Case("profile path", f"{name} beside", asked, {"p.json": child, "y.json": what})
        yield Case(
            "profile path", name, ("lint", "printer.cfg", "--profile", "q.ini"), {"q.ini": what}
        )
        yield Case("profile path", f"mend --write-profile {name}",
                   ("mend", "printer.cfg", "--profile", "q.ini", "--write", "--write-profile"), {"q.ini": what})  # fmt: skip


def prints_and_tables() -> Iterator[Case]:
    """Sliced prints and weighed tables."""
    head = "G90\nM83\n"
    texts: dict[str, Content] = {
        "empty": b"", "NaN": f"{head}G1 Xnan Ynan Enan Fnan\n", "huge": f"{head}G1 X1e308 Y1e308 E1e308 F1e308\nG1 X-1e308 E1e308\n",
        "tiny": f"{head}G1 X5e-324 E5e-324 F5e-324\nG1 X1 E1\n", "400 nines": f"{head}G1 X{'9' * 400} E{'9' * 400} F9000\n",
        "zero speed": f"{head}G1 X10 E1 F0\n", "negative speed": f"{head}G1 X10 E1 F-600\n", "binary": bytes(range(256)) * 40,
        "NUL": b"\0" * 9999, "a zip": zipped({"a.gcode": PRINT}), "a gzip": gzip.compress(PRINT.encode()),
        "a cut gzip": gzip.compress(PRINT.encode())[:-20], "a gzip bomb": gzip.compress(b"\n" * 30_000_000),
        "a line of 3 MB": "G1 X" + "1" * 3_000_000, "arcs of nothing": f"{head}G2 X0 Y0 I0 J0 E1 F600\nG3 X1 Y1 I1e308 J-1e308 E1\n",
        "arc by radius": f"{head}G1 X0 Y0 F600\nG2 X10 Y0 R1e-300 E1\nG2 X10 Y0 R1e300 E1\n", "UTF-16": PRINT.encode("utf-16"),
        "a config": CONFIG, "limits of nothing": f"{head}M204 S0\nM203 E0\nM220 S0\nM221 S1e300\nG1 X10 E1 F600\n",
        "escapes": f";TYPE:\x1b[31mwall\n{head}G1 X10 E1 F600\n", "a tool too many": f"{head}T99999999999999999999\nG1 X1 E1 F600\n",
        "50,000 features": head + "".join(f";TYPE:f{i}\nG1 X{i % 9} E.1 F600\n" for i in range(50_000)),
    }  # fmt: skip
    for name, content in texts.items():
        yield Case(
            "print", name, ("demand", "p.gcode", "--config", "printer.cfg"), {"p.gcode": content}
        )
    for name, what in {
        "a folder": folder_there,
        "a FIFO": fifo,
        "a device": link("/dev/zero"),
        "nothing": None,
    }.items():
        yield Case(
            "print",
            name,
            ("demand", "p.gcode", "--config", "printer.cfg"),
            {"p.gcode": what},
            codes=(2, 3),
        )
        yield Case(
            "print",
            f"flow {name}",
            ("flow", "printer.cfg", "--print", "p.gcode"),
            {"p.gcode": what},
            codes=(2, 3),
        )
    row = "1; 3.8; 280; 1; 0.83; no; slow reference"
    tables: dict[str, Content] = {
        "empty": b"", "no rows": TABLE.partition("step;")[0], "NaN": TABLE.replace("0.83", "nan"),
        "huge": TABLE.replace("0.83", "1e300"), "tiny": TABLE.replace("0.83", "5e-324"), "negative": TABLE.replace("0.83", "-1"),
        "zero": TABLE.replace("0.83", "0"), "binary": bytes(range(256)), "UTF-16": TABLE.encode("utf-16"),
        "commas": TABLE.replace(";", ","), "10,000 rows": TABLE + f"{row}\n" * 10_000, "quotes": TABLE.replace("no;", '"no;'),
        "no such material": TABLE.replace("material: pla", "material: chalk"), "400 nines": TABLE.replace("280", "9" * 400),
        "a hot nozzle": TABLE.replace("215 degC", "1e308 degC"), "a scale of nothing": TABLE.replace("0.01 g", "0 g"),
        "a tiny nozzle": TABLE.replace("0.4 mm", "5e-324 mm"), "escapes": TABLE.replace("slow reference", "\x1b[31m"),
    }  # fmt: skip
    for name, content in tables.items():
        yield Case(
            "weighed table",
            name,
            ("weigh", "read", "t.csv", "--config", "printer.cfg"),
            {"t.csv": content},
        )
        yield Case(
            "weighed table",
            f"lint {name}",
            ("lint", "printer.cfg", "--weighed", "t.csv"),
            {"t.csv": content},
        )
    for name, what in {
        "a folder": folder_there,
        "a FIFO": fifo,
        "a device": link("/dev/zero"),
    }.items():
        yield Case(
            "weighed table", name, ("lint", "printer.cfg", "--weighed", "t.csv"), {"t.csv": what}
        )


def options() -> Iterator[Case]:
    """Values of the command line."""
    values = (
        "1e155",
        "5e-324",
        "1e308",
        "-1",
        "0",
        "9" * 400,
        "nan",
        "inf",
        "",
        "\x1b[31m",
        "1e999",
    )
    for value in values:
        for name, argv in (
            ("rating", ("derate", f"{value}A")), ("share", ("derate", "1A", "--share", value)),
            ("ambient", ("derate", "1A", "--ambient", f"{value}degC")),
            ("resistor", ("derate", "1A", "--driver", "tmc2209", "--sense-resistor", f"{value}ohm")),
            ("asked", ("flow", "printer.cfg", "--asked", f"{value}mm3/s")),
            ("target", ("compare", "printer.cfg", "--target", f"{value}mm3/s")),
            ("vary", ("compare", "printer.cfg", "--vary", f"drive.gear_diameter={value}mm,10mm")),
            ("vary a fact", ("compare", "printer.cfg", "--vary", f"nozzle.diameter={value}mm,0.4mm")),
            ("from", ("weigh", "plan", "printer.cfg", "--from", f"{value}mm3/s")),
            ("temperature", ("weigh", "plan", "printer.cfg", "--temperature", f"{value}degC")),
            ("scale", ("weigh", "plan", "printer.cfg", "--scale", f"{value}g")),
            ("uncertainty", ("weigh", "plan", "printer.cfg", "--uncertainty", f"{value}%")),
            ("lift", ("weigh", "plan", "printer.cfg", "--lift", f"{value}mm")),
        ):  # fmt: skip
            yield Case("option", f"{name} {value[:12]!r}", argv)
    for argv in (
        ("derate", "\0A"), ("compare", "printer.cfg", "--vary", "drive.gear_diameter=1mm..2mm:1000000"),
        ("compare", "printer.cfg", "--vary", "=,"), ("compare", "printer.cfg", "--vary", "nozzle.diameter=1e308mm..1e-308mm:5"),
        ("compare", "printer.cfg", "--vary", "motor.run_current=1e300A rms,1A rms"),
        ("compare", "printer.cfg", "--limit", "0"), ("weigh", "plan", "printer.cfg", "--steps", "1000000000"),
        ("weigh", "plan", "printer.cfg", "--steps", "-3"), ("lint", "printer.cfg", "--material", "\x1b[31m"),
        ("flow", "printer.cfg", "--asked", "5mm3/s", "--extruder", "\u202eextruder"), ("explain", "\x1b[31m"),
        ("explain", ""), ("explain", "a" * 10_000), ("mend", "printer.cfg", "--only", "no-such-rule"),
        ("flow", "printer.cfg", "--profile", "profile.ini", "--preset", "\x1b[31m"),
        ("flow", "printer.cfg", "--profile", "profile.ini", "--parents", "/proc/self/environ"),
        ("lint", "--format", "xml", "printer.cfg"), ("lint",), ("lint", "--no-such"), (),
    ):  # fmt: skip
        yield Case("option", " ".join(argv)[:60], argv)


def writers() -> Iterator[Case]:
    """Everything that writes a file: never over what is the user's."""
    commands: dict[str, tuple[tuple[str, ...], str]] = {
        "demand --csv": (("demand", "box.gcode", "--config", "printer.cfg", "--csv"), "out.csv"),
        "report --html": (("report", "printer.cfg", "--html"), "out.html"),
        "sheet --out": (("sheet", "printer.cfg", "--out"), "out.yaml"),
        "skip-test plan --csv": (("skip-test", "plan", "printer.cfg", "--csv"), "out.csv"),
        "weigh plan --csv": (("weigh", "plan", "printer.cfg", "--csv"), "out.csv"),
        "weigh plan --gcode": (("weigh", "plan", "printer.cfg", "--gcode"), "out.gcode"),
    }
    for name, (argv, own) in commands.items():
        for target in (
            "printer.cfg",
            "hardware.yaml",
            "box.gcode",
            "./printer.cfg",
            "../secret.txt",
            "notes.txt",
        ):
            yield Case("writer", f"{name} {target}", (*argv, target), {"notes.txt": "mine\n"})
        shapes: dict[str, Content] = {
            "a link to the config": link("printer.cfg"), "a hard link of the config": hard_link("printer.cfg"),
            "a link to a secret": link("../secret.txt"), "a FIFO": fifo, "a folder": folder_there,
            "a full device": link("/dev/full"), "a dead link": link("nowhere"),
        }  # fmt: skip
        for shape, what in shapes.items():
            yield Case("writer", f"{name} {shape}", (*argv, own), {own: what})
        yield Case("writer", f"{name} nowhere", (*argv, "no/such/folder/x"), codes=(2, 3))
        yield Case("writer", f"{name} into a file", (*argv, "printer.cfg/x"), codes=(2, 3))
        yield Case("writer", f"{name} a NUL", (*argv, "a\0b"), codes=(2, 3))
        yield Case("writer", f"{name} 5,000 letters", (*argv, "a" * 5000), codes=(2, 3))
        yield Case("writer", f"{name} empty", (*argv, ""), codes=(2, 3))
    odd = "a\nM112\n; x"
    yield Case("writer", "G-code of an odd section", ("weigh", "plan", "printer.cfg", "--gcode", "t.gcode", "--extruder", odd),
               {"printer.cfg": CONFIG.replace("[extruder]", f"[{odd}]")})  # fmt: skip
    over = (ROOT / "samples" / "over-driven" / "printer.cfg").read_text()
    mend = ("mend", "printer.cfg", "--write")
    yield Case("writer", "mend writes", mend, {"printer.cfg": over}, changes=("printer.cfg",))
    # The user named the link, so the text behind it may be shown; nothing outside is written.
    yield Case("writer", "mend of a link out of its folder", ("mend", "l.cfg", "--write"),
               {"l.cfg": link("../machine.cfg"), "../machine.cfg": over}, codes=(3,),
               says="is a link out of its folder")  # fmt: skip
    yield Case("writer", "mend of a link within its folder", ("mend", "l.cfg", "--write"),
               {"l.cfg": link("real.cfg"), "real.cfg": over}, codes=(0, 1), changes=("real.cfg",))  # fmt: skip
    yield Case(
        "writer",
        "mend of bad bytes",
        mend,
        {"printer.cfg": over.encode() + b"# \xff\n"},
        changes=("printer.cfg",),
    )
    yield Case("writer", "undo of nothing", ("mend", "printer.cfg", "--undo"))
    yield Case("writer", "mend of standard input", ("mend", "-", "--write"), stdin=over.encode())


def cases() -> list[Case]:
    """Return the whole table."""
    parts = (configs, includes, sheets, profiles, prints_and_tables, options, writers)
    return [case for part in parts for case in part()]


def study() -> int:
    """Print the table; the exit code is 1 where a case failed."""
    options_ = argparse.ArgumentParser(description="Hostile cases, and what must hold of each.")
    options_.add_argument("--only", default="", help="cases whose area or name holds this")
    options_.add_argument("--failures", action="store_true", help="show failures alone")
    asked = options_.parse_args()
    chosen = [case for case in cases() if asked.only in f"{case.area}: {case.name}"]
    lines, failed = run_all(chosen, failures_only=asked.failures)
    print("\n".join(lines))
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(study())
