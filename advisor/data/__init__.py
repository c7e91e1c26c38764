"""The program's own data, rules/ and grammars/: digest, compiled form, YAML with places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.data.grammar import (
        ParserTables as ParserTables,
    )
    from advisor.data.grammar import (
        Terminal as Terminal,
    )
    from advisor.data.grammar import (
        build_lexer as build_lexer,
    )
    from advisor.data.grammar import (
        build_parser as build_parser,
    )
    from advisor.data.grammar import (
        load_lexer as load_lexer,
    )
    from advisor.data.grammar import (
        load_parser as load_parser,
    )
    from advisor.data.resources import (
        Plain as Plain,
    )
    from advisor.data.resources import (
        Row as Row,
    )
    from advisor.data.resources import (
        artifact as artifact,
    )
    from advisor.data.resources import (
        check_contents as check_contents,
    )
    from advisor.data.resources import (
        data_files as data_files,
    )
    from advisor.data.resources import (
        digest as digest,
    )
    from advisor.data.resources import (
        folder as folder,
    )
    from advisor.data.resources import (
        read_text as read_text,
    )
    from advisor.data.schema import (
        STATUSES as STATUSES,
    )
    from advisor.data.schema import (
        Kind as Kind,
    )
    from advisor.data.schema import (
        Node as Node,
    )
    from advisor.data.schema import (
        checked as checked,
    )
    from advisor.data.schema import (
        either as either,
    )
    from advisor.data.schema import (
        ends as ends,
    )
    from advisor.data.schema import (
        flag as flag,
    )
    from advisor.data.schema import (
        listed as listed,
    )
    from advisor.data.schema import (
        names as names,
    )
    from advisor.data.schema import (
        number as number,
    )
    from advisor.data.schema import (
        pattern as pattern,
    )
    from advisor.data.schema import (
        quantity as quantity,
    )
    from advisor.data.schema import (
        raw as raw,
    )
    from advisor.data.schema import (
        read_data as read_data,
    )
    from advisor.data.schema import (
        read_node as read_node,
    )
    from advisor.data.schema import (
        row as row,
    )
    from advisor.data.schema import (
        sourced as sourced,
    )
    from advisor.data.schema import (
        string as string,
    )
    from advisor.data.schema import (
        text as text,
    )
    from advisor.data.schema import (
        typed as typed,
    )
    from advisor.data.schema import (
        unit as unit,
    )
    from advisor.data.schema import (
        word as word,
    )
    from advisor.data.values import (
        Quantity as Quantity,
    )
    from advisor.data.values import (
        Range as Range,
    )
    from advisor.data.values import (
        Ratio as Ratio,
    )
    from advisor.data.values import (
        parse_integer as parse_integer,
    )
    from advisor.data.values import (
        parse_number as parse_number,
    )
    from advisor.data.values import (
        parse_quantity as parse_quantity,
    )
    from advisor.data.values import (
        parse_ratio as parse_ratio,
    )
    from advisor.data.values import (
        why_no_number as why_no_number,
    )
    from advisor.data.values import (
        why_no_ratio as why_no_ratio,
    )
    from advisor.data.values import (
        within as within,
    )
    from advisor.data.yamlread import (
        Placed as Placed,
    )
    from advisor.data.yamlread import (
        below as below,
    )
    from advisor.data.yamlread import (
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
