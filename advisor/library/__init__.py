"""The library's questions, each with keyword arguments; they take trade units and print nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.library.bench import (
        derate as derate,
        diagnose as diagnose,
        explain as explain,
        session as session,
        sheet as sheet,
        skip_plan as skip_plan,
        skip_read as skip_read,
        weigh_compare as weigh_compare,
        weigh_next as weigh_next,
        weigh_plan as weigh_plan,
        weigh_read as weigh_read,
    )
    from advisor.library.machines import (
        check as check,
        compare as compare,
        demand as demand,
        edits as edits,
        flow as flow,
        grip as grip,
        torque as torque,
        undo as undo,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "bench": "derate diagnose explain session sheet skip_plan skip_read weigh_compare "
            "weigh_next weigh_plan weigh_read",
            "machines": "check compare demand edits flow grip torque undo",
        },
    )
