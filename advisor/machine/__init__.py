"""One extruder over an ensemble of plausible ones, and the same with something changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.machine.asked_facts import (
        feature_flow as feature_flow,
        macro_facts as macro_facts,
        one_family as one_family,
        profile_facts as profile_facts,
        set_facts as set_facts,
    )
    from advisor.machine.assemble import (
        FORMULAS as FORMULAS,
        ExtruderInputs as ExtruderInputs,
        build_facts as build_facts,
        merge_stated as merge_stated,
    )
    from advisor.machine.cases import (
        cap_of as cap_of,
        cases_of as cases_of,
        settled_by_hotend as settled_by_hotend,
    )
    from advisor.machine.chain_flow import (
        BRACKET as BRACKET,
        HOTEND_INPUTS as HOTEND_INPUTS,
        MOTOR_INPUTS as MOTOR_INPUTS,
    )
    from advisor.machine.chain_motion import (
        RETRACT_PUSH as RETRACT_PUSH,
    )
    from advisor.machine.driver import (
        DriverModel as DriverModel,
        driver_of as driver_of,
    )
    from advisor.machine.ensemble import (
        FEWEST as FEWEST,
        MOST as MOST,
        Ensemble as Ensemble,
        plausible as plausible,
    )
    from advisor.machine.gains import (
        lever_gains as lever_gains,
        now_of as now_of,
        reach_of as reach_of,
    )
    from advisor.machine.graph import (
        FactBook as FactBook,
        Memory as Memory,
    )
    from advisor.machine.levers import (
        Lever as Lever,
        load_levers as load_levers,
    )
    from advisor.machine.machine import (
        OWNED as OWNED,
        Change as Change,
        Machine as Machine,
        machine_of as machine_of,
        renewed as renewed,
        stated_classes as stated_classes,
    )
    from advisor.machine.measures import (
        load_measures as load_measures,
        measure_groups as measure_groups,
    )
    from advisor.machine.names import (
        check_code as check_code,
    )
    from advisor.machine.set_current import (
        CURRENT_LIMITS as CURRENT_LIMITS,
        exceeded as exceeded,
        limit_set_by as limit_set_by,
    )
    from advisor.machine.solved import (
        with_solved as with_solved,
    )
    from advisor.machine.summary import (
        CAP_NAME as CAP_NAME,
        band_of as band_of,
        bottleneck as bottleneck,
        limit_bands as limit_bands,
        measure_next as measure_next,
    )
    from advisor.machine.sweep import (
        LATE as LATE,
        each as each,
        swept as swept,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "": "chain_motor",
            "assemble": "ExtruderInputs FORMULAS build_facts merge_stated",
            "summary": "CAP_NAME band_of bottleneck limit_bands measure_next",
            "cases": "cap_of cases_of settled_by_hotend",
            "chain_flow": "BRACKET HOTEND_INPUTS MOTOR_INPUTS",
            "chain_motion": "RETRACT_PUSH",
            "driver": "DriverModel driver_of",
            "ensemble": "Ensemble FEWEST MOST plausible",
            "gains": "lever_gains now_of reach_of",
            "graph": "FactBook Memory",
            "levers": "Lever load_levers",
            "machine": "Change Machine OWNED machine_of renewed stated_classes",
            "asked_facts": "feature_flow macro_facts one_family profile_facts set_facts",
            "measures": "load_measures measure_groups",
            "names": "check_code",
            "set_current": "CURRENT_LIMITS exceeded limit_set_by",
            "solved": "with_solved",
            "sweep": "LATE each swept",
        },
    )
