"""Every event of the profile reader is listed in rules/events.yaml, with its fields."""

from __future__ import annotations

import json
import re
from pathlib import Path

from every import every

import advisor.inputs.profile as package
from advisor.data.resources import read_text
from advisor.data.yamlread import read_yaml
from tests.inputs_profile.conftest import Ask, zipped

LISTED = read_yaml(read_text("rules", "events.yaml"), "events.yaml").data
OURS = {kind for kind in LISTED if kind.startswith("profile-")}
FILAMENT = {"type": "filament", "name": "F", "filament_type": "PLA"}
OTHER = FILAMENT | {"name": "G", "filament_type": "TPU"}
TWICE = '{"type": "process", "layer_height": "1", "layer_height": "2"}'
CASES: dict[str, dict[str, object]] = {
    "profile-parent-missing": {"a.json": FILAMENT | {"inherits": "x"}},
    "profile-parent-unclear": {
        "t/f/a.json": FILAMENT | {"inherits": "x"},
        "t/a/x.json": FILAMENT | {"name": "x"},
        "t/b/x.json": OTHER | {"name": "x"},
    },
    "profile-part-missing": {"a.json": FILAMENT},
    "profile-presets-chosen": {
        "a.zip": zipped(
            {"F.json": FILAMENT, "P.json": FILAMENT | {"type": "", "layer_height": "1"}}
        )
    },
    "profile-member-unreadable": {"a.zip": zipped({"F.json": FILAMENT, "x.ini": b"\0"})},
    "profile-conflict": {"a.json": FILAMENT, "b.json": OTHER},
    "profile-value-twice": {"a.json": TWICE},
    "profile-value-unreadable": {"a.json": FILAMENT | {"filament_density": "much"}},
    "profile-share-open": {"a.json": {"line_width": "50%"}},
    "profile-list-short": {"a.json": FILAMENT | {"filament_diameter": ["1.75"]}},
    "profile-list-choice": {"a.json": FILAMENT | {"filament_diameter": ["1.75", "2.85"]}},
    "profile-material-unknown": {"a.json": FILAMENT | {"filament_type": "CHEESE"}},
    "profile-material-assumed": {"a.json": OTHER},
    "profile-advance-in-text": {"a.json": FILAMENT | {"filament_start_gcode": "M900 K1"}},
}
TOOLS = {"profile-list-short": 1}


def test_the_cases_cover_what_is_listed() -> None:
    """There is a case for every kind, and the code names no other."""
    folder = Path(package.__file__).parent
    source = "".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    raised = set(re.findall(r'Event\(\s*"([^"]+)"', source))

    assert set(CASES) == OURS == raised


@every("kind", CASES)
def test_an_event_has_the_fields_that_are_listed(ask: Ask, kind: str) -> None:
    """The event is raised, and its fields are the listed ones."""
    files = {path: json.dumps(data) if isinstance(data, dict) else data
             for path, data in CASES[kind].items()}  # fmt: skip
    first = [path for path in files if not path.endswith("x.json")]
    found = ask(files, *first, tool=TOOLS.get(kind, 0))
    kinds = {event.kind for event in found.events}

    assert kind in kinds
    for event in found.events:
        assert sorted(event.fields) == sorted(LISTED[event.kind]["fields"])
