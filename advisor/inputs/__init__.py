"""Words of the input become stated facts: settings, macros, sheets, slicer profiles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.inputs.asked import (
        flow_asked as flow_asked,
    )
    from advisor.inputs.asked import (
        read_asked as read_asked,
    )
    from advisor.inputs.config_facts import (
        ConfigFacts as ConfigFacts,
    )
    from advisor.inputs.config_facts import (
        ExtruderFacts as ExtruderFacts,
    )
    from advisor.inputs.dialect import (
        Default as Default,
    )
    from advisor.inputs.dialect import (
        Key as Key,
    )
    from advisor.inputs.dialect import (
        load_dialect as load_dialect,
    )
    from advisor.inputs.extruders import (
        read_config as read_config,
    )
    from advisor.inputs.glossary import (
        load_glossary as load_glossary,
    )
    from advisor.inputs.macro_commands import (
        MacroSetting as MacroSetting,
    )
    from advisor.inputs.macros import (
        MacroMove as MacroMove,
    )
    from advisor.inputs.macros import (
        Macros as Macros,
    )
    from advisor.inputs.macros import (
        read_macros as read_macros,
    )
    from advisor.inputs.outside import (
        Outside as Outside,
    )
    from advisor.inputs.profile import (
        Feature as Feature,
    )
    from advisor.inputs.profile import (
        ProfileSet as ProfileSet,
    )
    from advisor.inputs.profile import (
        read_profiles as read_profiles,
    )
    from advisor.inputs.profile.archive import (
        MAGIC as MAGIC,
    )
    from advisor.inputs.profile.dialects import (
        load_dialects as load_dialects,
    )
    from advisor.inputs.profile.door import (
        MAX_TEXT as MAX_TEXT,
    )
    from advisor.inputs.profile.door import (
        container_of as container_of,
    )
    from advisor.inputs.profile.door import (
        default_open_file as default_open_file,
    )
    from advisor.inputs.profile.door import (
        open_path as open_path,
    )
    from advisor.inputs.profile.door import (
        read_capped as read_capped,
    )
    from advisor.inputs.profile.ini_text import (
        parse_ini as parse_ini,
    )
    from advisor.inputs.profile.json_text import (
        parse_json as parse_json,
    )
    from advisor.inputs.sheet import (
        Sheet as Sheet,
    )
    from advisor.inputs.sheet import (
        read_sheet as read_sheet,
    )
    from advisor.inputs.sheet import (
        sheet_of as sheet_of,
    )
    from advisor.inputs.sheet_fields import (
        Bound as Bound,
    )
    from advisor.inputs.sheet_fields import (
        Fields as Fields,
    )
    from advisor.inputs.sheet_fields import (
        SheetField as SheetField,
    )
    from advisor.inputs.sheet_fields import (
        load_fields as load_fields,
    )
    from advisor.inputs.sheet_fields import (
        read_value as read_value,
    )
    from advisor.inputs.sheet_options import (
        stated_by_option as stated_by_option,
    )
    from advisor.inputs.sheet_records import (
        Allowance as Allowance,
    )
    from advisor.inputs.sheet_records import (
        Measurement as Measurement,
    )
    from advisor.inputs.sheet_records import (
        SheetPart as SheetPart,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "asked": "flow_asked read_asked",
            "config_facts": "ConfigFacts ExtruderFacts",
            "dialect": "Default Key load_dialect",
            "extruders": "read_config",
            "glossary": "load_glossary",
            "macro_commands": "MacroSetting",
            "macros": "MacroMove Macros read_macros",
            "outside": "Outside",
            "profile": "Feature ProfileSet read_profiles",
            "profile.archive": "MAGIC",
            "profile.dialects": "load_dialects",
            "profile.door": "MAX_TEXT container_of default_open_file open_path read_capped",
            "profile.ini_text": "parse_ini",
            "profile.json_text": "parse_json",
            "sheet": "Sheet read_sheet sheet_of",
            "sheet_fields": "Bound SheetField Fields load_fields read_value",
            "sheet_options": "stated_by_option",
            "sheet_records": "Allowance Measurement SheetPart",
        },
    )
