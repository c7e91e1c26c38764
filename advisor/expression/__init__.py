"""The condition language: compiled with its units checked, evaluated over the ensemble.

Rules, the firmware's defaults and the suggestions of the catalogue are written in it. It
knows facts only as records of `advisor.base` and a vocabulary of names and units; it knows
no rule, and it never runs Python from a text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.expression.compiled import (
        Compiled as Compiled,
        ExpressionResult as ExpressionResult,
    )
    from advisor.expression.compiler import (
        ARTIFACTS as ARTIFACTS,
        Place as Place,
        compile_expression as compile_expression,
        syntax_tree as syntax_tree,
    )
    from advisor.expression.evaluator import (
        evaluate as evaluate,
    )
    from advisor.expression.kinds import (
        Vocabulary as Vocabulary,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "compiled": "Compiled ExpressionResult",
            "compiler": "ARTIFACTS Place compile_expression syntax_tree",
            "kinds": "Vocabulary",
            "evaluator": "evaluate",
        },
    )
