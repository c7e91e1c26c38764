"""The weighed test: its plan and G-code, its table, what it shows, the ensemble it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.weigh.answers import (
        DeliveredMore as DeliveredMore,
        FlowRow as FlowRow,
        NextPiece as NextPiece,
        ProvedFlow as ProvedFlow,
        WeighCompareAnswer as WeighCompareAnswer,
        WeighedByHand as WeighedByHand,
        WeighedSlip as WeighedSlip,
        WeighedStep as WeighedStep,
        WeighedTest as WeighedTest,
        WeighNextAnswer as WeighNextAnswer,
        WeighPlan as WeighPlan,
        WeighPlanAnswer as WeighPlanAnswer,
        WeighPlanStep as WeighPlanStep,
        WeighReadAnswer as WeighReadAnswer,
        plan_in_trade as plan_in_trade,
        read_in_trade as read_in_trade,
        tests_in_trade as tests_in_trade,
    )
    from advisor.weigh.by_hand import (
        depth_of_marks as depth_of_marks,
        fed_share as fed_share,
        scaled as scaled,
        scaled_draws as scaled_draws,
    )
    from advisor.weigh.fit import (
        WeighedResult as WeighedResult,
        narrowed as narrowed,
    )
    from advisor.weigh.fit_points import (
        first_loss as first_loss,
    )
    from advisor.weigh.gcode import (
        harmless as harmless,
        write_gcode as write_gcode,
        write_table as write_table,
    )
    from advisor.weigh.outlook import (
        Outlook as Outlook,
        OutlookBench as OutlookBench,
        outlook_of as outlook_of,
    )
    from advisor.weigh.paired import (
        Pair as Pair,
        pair_of as pair_of,
    )
    from advisor.weigh.plan import (
        Bench as Bench,
        Wishes as Wishes,
        make_plan as make_plan,
        one_by_one as one_by_one,
        piece_of as piece_of,
        ramp_share as ramp_share,
    )
    from advisor.weigh.pool import (
        bench_of as bench_of,
        weighed_as as weighed_as,
    )
    from advisor.weigh.reader import (
        WeighedTable as WeighedTable,
        read_weighed as read_weighed,
        text_of as text_of,
    )
    from advisor.weigh.reading import (
        evaluate as evaluate,
    )
    from advisor.weigh.records import (
        Calibration as Calibration,
        Contrast as Contrast,
        Evaluation as Evaluation,
        Evenness as Evenness,
        HandTest as HandTest,
        Plan as Plan,
        PlanReport as PlanReport,
        PlanStep as PlanStep,
        Setup as Setup,
        Slip as Slip,
        Step as Step,
        WeighReport as WeighReport,
        trade as trade,
    )
    from advisor.weigh.skip_fit import (
        SkipPoint as SkipPoint,
        SkipResult as SkipResult,
        click_flow as click_flow,
        rotor_rate as rotor_rate,
    )
    from advisor.weigh.skip_gcode import (
        SkipFirmware as SkipFirmware,
        write_skip_gcode as write_skip_gcode,
        write_skip_table as write_skip_table,
    )
    from advisor.weigh.skip_plan import (
        SkipSetup as SkipSetup,
        make_skip_plan as make_skip_plan,
    )
    from advisor.weigh.skip_records import (
        SkipFile as SkipFile,
        SkipLevel as SkipLevel,
        SkipNarrows as SkipNarrows,
        SkipPlan as SkipPlan,
        SkipPlanAnswer as SkipPlanAnswer,
        SkipReadAnswer as SkipReadAnswer,
        SkipRow as SkipRow,
        SkipSeenPoint as SkipSeenPoint,
        SkipTable as SkipTable,
        SkipTest as SkipTest,
        skip_numbers as skip_numbers,
        skip_words as skip_words,
    )
    from advisor.weigh.skip_table import (
        read_skip_table as read_skip_table,
    )
    from advisor.weigh.table import (
        next_row as next_row,
    )
    from advisor.weigh.table_records import (
        Run as Run,
        day_of as day_of,
        day_words as day_words,
    )
    from advisor.weigh.weigh_data import (
        load_words as load_words,
        weigh_numbers as weigh_numbers,
    )
    from advisor.weigh.weighed_words import (
        weighed_events as weighed_events,
        weighed_note as weighed_note,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "answers": "DeliveredMore FlowRow NextPiece ProvedFlow WeighCompareAnswer "
            "WeighNextAnswer WeighPlan WeighPlanAnswer WeighPlanStep WeighReadAnswer "
            "WeighedByHand WeighedSlip WeighedStep WeighedTest plan_in_trade read_in_trade "
            "tests_in_trade",
            "by_hand": "depth_of_marks fed_share scaled scaled_draws",
            "fit": "WeighedResult narrowed",
            "fit_points": "first_loss",
            "gcode": "harmless write_gcode write_table",
            "plan": "Bench Wishes make_plan one_by_one piece_of ramp_share",
            "pool": "bench_of weighed_as",
            "reader": "WeighedTable read_weighed text_of",
            "reading": "evaluate",
            "outlook": "Outlook OutlookBench outlook_of",
            "table": "next_row",
            "table_records": "Run day_of day_words",
            "records": "Calibration Contrast Evaluation Evenness HandTest Plan PlanReport "
            "PlanStep Setup Slip Step WeighReport trade",
            "skip_records": "SkipFile SkipLevel SkipNarrows SkipPlan SkipPlanAnswer "
            "SkipReadAnswer SkipRow SkipSeenPoint SkipTable SkipTest skip_numbers skip_words",
            "skip_fit": "SkipPoint SkipResult click_flow rotor_rate",
            "skip_gcode": "SkipFirmware write_skip_gcode write_skip_table",
            "skip_plan": "SkipSetup make_skip_plan",
            "skip_table": "read_skip_table",
            "weigh_data": "load_words weigh_numbers",
            "weighed_words": "weighed_events weighed_note",
            "paired": "Pair pair_of",
        },
    )
