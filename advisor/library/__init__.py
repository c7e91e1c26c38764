"""The library's questions, each with keyword arguments; they take trade units and print nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.library.bench import (
        derate as derate,
    )
    from advisor.library.bench import (
        diagnose as diagnose,
    )
    from advisor.library.bench import (
        explain as explain,
    )
    from advisor.library.bench import (
        session as session,
    )
    from advisor.library.bench import (
        sheet as sheet,
    )
    from advisor.library.bench import (
        skip_plan as skip_plan,
    )
    from advisor.library.bench import (
        skip_read as skip_read,
    )
    from advisor.library.bench import (
        weigh_compare as weigh_compare,
    )
    from advisor.library.bench import (
        weigh_next as weigh_next,
    )
    from advisor.library.bench import (
        weigh_plan as weigh_plan,
    )
    from advisor.library.bench import (
        weigh_read as weigh_read,
    )
    from advisor.library.machines import (
        check as check,
    )
    from advisor.library.machines import (
        compare as compare,
    )
    from advisor.library.machines import (
        demand as demand,
    )
    from advisor.library.machines import (
        edits as edits,
    )
    from advisor.library.machines import (
        flow as flow,
    )
    from advisor.library.machines import (
        grip as grip,
    )
    from advisor.library.machines import (
        torque as torque,
    )
    from advisor.library.machines import (
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
