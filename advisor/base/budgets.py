"""How much of an input is looked at: every budget in one place, counts and never the clock.

An input of less than 1 MB takes at most 5 s of CPU and 300 MB within them, whatever is in it
(tests/benchmarks/hostile_inputs.py prints it). What a budget leaves out is said in one sentence.
The figures are choices of this project; beside each stands how far real inputs go.
"""

from __future__ import annotations

from typing import Final

MB: Final = 1024 * 1024

# findings
EVENTS_PER_FILE: Final = 1_000  # told one by one, the others counted; a real file has a few
HINTS: Final = 20  # misspelt words of one file that are compared with the known ones
LONGEST_HINTED: Final = 60  # characters of such a word; names of rules have up to 45
MISTAKES: Final = 50  # of a sheet or a weighed test told in full; the others counted

# configs
CONFIG_BYTES: Final = 64 * MB  # of one file; the largest real one has 94 kB
EXTRUDERS: Final = 32  # a real machine has up to four, a tool changer sixteen
MACHINES: Final = 32  # extruders, and configs without one, of a run
DRAWN_EXTRUDERS: Final = 4  # of a config, with curves on the page; the others in words and bars
DRAWN_MACHINES: Final = 4  # of all configs of a page with few extruders
PAGE_WORK: Final = 36  # extruders told on a page, one with curves counted as four more

# slicer profiles
PROFILE_BYTES: Final = 8 * MB  # of one profile; the largest real bundles have a few megabytes
UNPACKED_BYTES: Final = 8 * MB  # of all members of an archive, damaged ones too
MEMBERS: Final = 2_000  # of an archive that can be profiles
DIRECTORY_BYTES: Final = 2 * MB  # an archive's own list of all its members
PRESETS: Final = 20_000  # of all files given; a maker's bundle has 4,612 in 1 MB
ELEMENTS: Final = 10_000  # of one list; a real one has as many as the machine has tools

# hardware sheets
SHEET_BYTES: Final = 64 * 1024  # a sheet with every field filled in and explained has 6 kB
SHEET_NODES: Final = 5_000

# weighed tests
WEIGHED_BYTES: Final = 256 * 1024
WEIGHED_LINES: Final = 2_000  # a long evening at the scale gives fifty
WEIGHED_COLUMNS: Final = 100
KEPT_NAMES: Final = 1_000  # in the folder of tests that are kept; a busy workshop has some dozens
KEPT_TABLES: Final = 100  # of them that are read, the last by name
KEPT_USED: Final = 6  # for one extruder, the newest; each more narrows little and takes its time
