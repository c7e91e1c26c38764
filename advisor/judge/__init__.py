"""Rules as data over one machine's facts and events: findings, their levels, their fixes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.judge.allow import (
        Judgement as Judgement,
        sift as sift,
    )
    from advisor.judge.levels import (
        judged_level as judged_level,
    )
    from advisor.judge.load import (
        ARTIFACTS as ARTIFACTS,
        event_words as event_words,
        load_rulebook as load_rulebook,
    )
    from advisor.judge.records import (
        FixRule as FixRule,
        Rule as Rule,
        Rulebook as Rulebook,
    )
    from advisor.judge.repeats import (
        joined as joined,
        told_once as told_once,
        within_budget as within_budget,
    )
    from advisor.judge.run import (
        evaluate_rules as evaluate_rules,
        made_fix as made_fix,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "allow": "Judgement sift",
            "run": "evaluate_rules made_fix",
            "repeats": "joined told_once within_budget",
            "levels": "judged_level",
            "load": "ARTIFACTS event_words load_rulebook",
            "records": "FixRule Rule Rulebook",
        },
    )
