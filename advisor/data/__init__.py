"""The program's own data, rules/ and grammars/: digest, compiled form, YAML with places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.data.grammar import (
        ParserTables as ParserTables,
        Terminal as Terminal,
        build_lexer as build_lexer,
        build_parser as build_parser,
        load_lexer as load_lexer,
        load_parser as load_parser,
    )
    from advisor.data.resources import (
        Plain as Plain,
        Row as Row,
        artifact as artifact,
        check_contents as check_contents,
        data_files as data_files,
        digest as digest,
        folder as folder,
        read_text as read_text,
    )
    from advisor.data.schema import (
        STATUSES as STATUSES,
        Kind as Kind,
        Node as Node,
        checked as checked,
        either as either,
        ends as ends,
        flag as flag,
        listed as listed,
        names as names,
        number as number,
        pattern as pattern,
        quantity as quantity,
        raw as raw,
        read_data as read_data,
        read_node as read_node,
        row as row,
        sourced as sourced,
        string as string,
        text as text,
        typed as typed,
        unit as unit,
        word as word,
    )
    from advisor.data.values import (
        Quantity as Quantity,
        Range as Range,
        Ratio as Ratio,
        parse_integer as parse_integer,
        parse_number as parse_number,
        parse_quantity as parse_quantity,
        parse_ratio as parse_ratio,
        why_no_number as why_no_number,
        why_no_ratio as why_no_ratio,
        within as within,
    )
    from advisor.data.yamlread import (
        Placed as Placed,
        below as below,
        read_yaml as read_yaml,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "": "schema",
            "grammar": "ParserTables Terminal build_lexer build_parser load_lexer load_parser",
            "resources": "Plain Row artifact check_contents data_files digest folder read_text",
            "schema": "Kind Node STATUSES checked either ends flag listed names number "
            "pattern quantity raw read_data read_node row sourced string text typed unit "
            "word",
            "values": "Quantity Range Ratio parse_integer parse_number parse_quantity "
            "parse_ratio why_no_number why_no_ratio within",
            "yamlread": "Placed below read_yaml",
        },
    )
