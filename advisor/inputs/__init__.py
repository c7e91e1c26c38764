"""Words of the input become stated facts: settings, macros, sheets, slicer profiles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.inputs.asked import (
        flow_asked as flow_asked,
        read_asked as read_asked,
    )
    from advisor.inputs.dialect import (
        Default as Default,
        Key as Key,
        load_dialect as load_dialect,
    )
    from advisor.inputs.extruders import (
        ConfigFacts as ConfigFacts,
        ExtruderFacts as ExtruderFacts,
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
        Macros as Macros,
        read_macros as read_macros,
    )
    from advisor.inputs.outside import (
        Outside as Outside,
    )
    from advisor.inputs.profile import (
        Feature as Feature,
        ProfileSet as ProfileSet,
        read_profiles as read_profiles,
    )
    from advisor.inputs.profile.dialects import (
        load_dialects as load_dialects,
    )
    from advisor.inputs.profile.door import (
        MAX_TEXT as MAX_TEXT,
        container_of as container_of,
        default_open_file as default_open_file,
        open_path as open_path,
        read_capped as read_capped,
    )
    from advisor.inputs.profile.source import (
        MAGIC as MAGIC,
    )
    from advisor.inputs.profile.texts import (
        parse_ini as parse_ini,
        parse_json as parse_json,
    )
    from advisor.inputs.sheet import (
        Sheet as Sheet,
        read_sheet as read_sheet,
        sheet_of as sheet_of,
        stated_by_option as stated_by_option,
    )
    from advisor.inputs.sheet_fields import (
        Bound as Bound,
        Fields as Fields,
        SheetField as SheetField,
        load_fields as load_fields,
        read_value as read_value,
    )
    from advisor.inputs.sheet_reader import (
        Allowance as Allowance,
        Measurement as Measurement,
        SheetPart as SheetPart,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "asked": "flow_asked read_asked",
            "extruders": "ConfigFacts ExtruderFacts read_config",
            "dialect": "Default Key load_dialect",
            "glossary": "load_glossary",
            "macro_commands": "MacroSetting",
            "macros": "MacroMove Macros read_macros",
            "outside": "Outside",
            "profile": "Feature ProfileSet read_profiles",
            "profile.source": "MAGIC",
            "profile.dialects": "load_dialects",
            "profile.door": "MAX_TEXT container_of default_open_file open_path read_capped",
            "profile.texts": "parse_ini parse_json",
            "sheet": "Sheet read_sheet sheet_of stated_by_option",
            "sheet_fields": "Bound Fields SheetField load_fields read_value",
            "sheet_reader": "Allowance Measurement SheetPart",
        },
    )
