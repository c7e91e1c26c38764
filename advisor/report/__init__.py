"""Turns records into text, JSON or SARIF: a report in, a string out; computes no engineering."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.report.clean import (
        controls as controls,
        plain as plain,
    )
    from advisor.report.csv_tables import (
        CSV_HEAD as CSV_HEAD,
        render_compare_csv as render_compare_csv,
        render_demand_csv as render_demand_csv,
    )
    from advisor.report.html import (
        MARK as MARK,
        ConfigPart as ConfigPart,
        ExtruderPart as ExtruderPart,
        MendPart as MendPart,
        PageParts as PageParts,
        render as render,
        render_diagnose as render_diagnose,
        render_session as render_session,
        render_weigh_compare as render_weigh_compare,
    )
    from advisor.report.json import (
        as_json as as_json,
        errors_json as errors_json,
        json_schema as json_schema,
    )
    from advisor.report.look import (
        Look as Look,
        look_for as look_for,
        written as written,
    )
    from advisor.report.numbers import (
        bands as bands,
    )
    from advisor.report.questions_text import (
        TITLE as TITLE,
    )
    from advisor.report.text import (
        sum_words as sum_words,
    )
    from advisor.report.way_words import (
        FACTS as FACTS,
        answer_words as answer_words,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "": "compare_text demand_text derate_text diagnose_text explain_text "
            "flow_text grip_text mend_text questions_text sarif session_text skip_text "
            "symptom_text text torque_text weigh_compare_text weigh_next_text weigh_text",
            "clean": "controls plain",
            "csv_tables": "CSV_HEAD render_compare_csv render_demand_csv",
            "html": "ConfigPart ExtruderPart MARK MendPart PageParts render render_diagnose "
            "render_session render_weigh_compare",
            "json": "as_json errors_json json_schema",
            "look": "Look look_for written",
            "questions_text": "TITLE",
            "text": "sum_words",
            "numbers": "bands",
            "way_words": "FACTS answer_words",
        },
    )
