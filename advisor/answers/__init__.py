"""The questions that the program answers, and the one session that reads what is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.answers.asks import (
        Asks as Asks,
        OneOrMore as OneOrMore,
        stated_options as stated_options,
        texts_of as texts_of,
        typed as typed,
    )
    from advisor.answers.build_records import (
        ByHand as ByHand,
        CapacityChange as CapacityChange,
        CompareReport as CompareReport,
        Edit as Edit,
        LeverAnswer as LeverAnswer,
        MendReport as MendReport,
        TargetReport as TargetReport,
        Variant as Variant,
    )
    from advisor.answers.builds.compare import (
        compare as compare,
    )
    from advisor.answers.builds.vary import (
        known_names as known_names,
    )
    from advisor.answers.checked import (
        CheckedConfig as CheckedConfig,
        Family as Family,
    )
    from advisor.answers.curve_records import (
        LEVEL as LEVEL,
        BandLine as BandLine,
        ForceReport as ForceReport,
        GripReport as GripReport,
        GripRow as GripRow,
        MotorNeed as MotorNeed,
        MotorRow as MotorRow,
        OperatingPoint as OperatingPoint,
        TorqueReport as TorqueReport,
    )
    from advisor.answers.curves.force import (
        force_report as force_report,
    )
    from advisor.answers.curves.grip import (
        grip_answer as grip_answer,
        grip_report as grip_report,
    )
    from advisor.answers.curves.torque import (
        torque_answer as torque_answer,
        torque_report as torque_report,
    )
    from advisor.answers.demand_records import (
        CappedTime as CappedTime,
        CapTimesAnswer as CapTimesAnswer,
        DemandReport as DemandReport,
        DemandRow as DemandRow,
        ExcessPlace as ExcessPlace,
        RefusedMoves as RefusedMoves,
        SeriesRow as SeriesRow,
        SlicerTime as SlicerTime,
        SlowedMoves as SlowedMoves,
        WindowRow as WindowRow,
        WorstPlace as WorstPlace,
    )
    from advisor.answers.derate_motor import (
        derate as derate,
    )
    from advisor.answers.derate_records import DerateReport as DerateReport
    from advisor.answers.diagnosis.answer import diagnose as diagnose, seen_words as seen_words
    from advisor.answers.diagnosis.inquiry import Inquiry as Inquiry
    from advisor.answers.diagnosis.sightings import SeenTexts as SeenTexts
    from advisor.answers.diagnosis.symptom_questions import SymptomQuestion as SymptomQuestion
    from advisor.answers.diagnosis_records import (
        CauseLine as CauseLine,
        CauseOdds as CauseOdds,
        CurrentDoubt as CurrentDoubt,
        DiagnoseReport as DiagnoseReport,
        FedLength as FedLength,
        NextTest as NextTest,
        OutcomeMeaning as OutcomeMeaning,
        SeenWords as SeenWords,
    )
    from advisor.answers.explain_name import (
        explain as explain,
    )
    from advisor.answers.flow_limit import (
        flow as flow,
    )
    from advisor.answers.interview import (
        Interview as Interview,
    )
    from advisor.answers.lint import (
        check as check,
        fixes_fitted as fixes_fitted,
        within_run as within_run,
    )
    from advisor.answers.machine_records import (
        CatalogueFigure as CatalogueFigure,
        Derivation as Derivation,
        Explanation as Explanation,
        FeatureAsk as FeatureAsk,
        FlowReport as FlowReport,
    )
    from advisor.answers.mend_files import (
        choice_of as choice_of,
        mend as mend,
        undo as undo,
    )
    from advisor.answers.mend_rounds import (
        Start as Start,
        start_of as start_of,
    )
    from advisor.answers.print_caps import (
        read_caps as read_caps,
    )
    from advisor.answers.print_demand import (
        demand as demand,
    )
    from advisor.answers.questions import (
        Question as Question,
    )
    from advisor.answers.skip_plan import (
        plan_skip_test as plan_skip_test,
    )
    from advisor.answers.skip_read import (
        read_skip_tests as read_skip_tests,
    )
    from advisor.answers.starter import (
        starter_sheet as starter_sheet,
    )
    from advisor.answers.tuning.answer import (
        SessionTexts as SessionTexts,
        tuning_session as tuning_session,
    )
    from advisor.answers.tuning_records import (
        AccelRow as AccelRow,
        AdvanceLimits as AdvanceLimits,
        CapRow as CapRow,
        RetractLimits as RetractLimits,
        SessionCurrent as SessionCurrent,
        SessionReport as SessionReport,
        SessionStep as SessionStep,
        SpeedCeiling as SpeedCeiling,
    )
    from advisor.answers.weigh_compare import (
        compare_tests as compare_tests,
    )
    from advisor.answers.weigh_next import (
        next_piece as next_piece,
    )
    from advisor.answers.weigh_plan import (
        WishTexts as WishTexts,
        plan_test as plan_test,
    )
    from advisor.answers.weigh_read import (
        read_tests as read_tests,
    )
    from advisor.answers.which_configs import (
        copies_in as copies_in,
        expand as expand,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "skip_plan": "plan_skip_test",
            "skip_read": "read_skip_tests",
            "asks": "Asks OneOrMore stated_options texts_of typed",
            "builds.compare": "compare",
            "builds.vary": "known_names",
            "build_records": "ByHand CapacityChange CompareReport Edit LeverAnswer MendReport "
            "TargetReport Variant",
            "curve_records": "BandLine ForceReport GripReport GripRow LEVEL MotorNeed MotorRow "
            "OperatingPoint TorqueReport",
            "curves.force": "force_report",
            "curves.grip": "grip_answer grip_report",
            "curves.torque": "torque_answer torque_report",
            "derate_motor": "derate",
            "diagnosis.answer": "diagnose seen_words",
            "diagnosis.inquiry": "Inquiry",
            "diagnosis.sightings": "SeenTexts",
            "diagnosis.symptom_questions": "SymptomQuestion",
            "diagnosis_records": "CauseLine CauseOdds CurrentDoubt DiagnoseReport FedLength "
            "NextTest OutcomeMeaning SeenWords",
            "explain_name": "explain",
            "checked": "CheckedConfig Family",
            "flow_limit": "flow",
            "interview": "Interview",
            "lint": "check fixes_fitted within_run",
            "mend_files": "choice_of mend undo",
            "mend_rounds": "Start start_of",
            "print_caps": "read_caps",
            "print_demand": "demand",
            "questions": "Question",
            "demand_records": "CapTimesAnswer CappedTime DemandReport DemandRow ExcessPlace "
            "RefusedMoves SeriesRow SlicerTime SlowedMoves WindowRow WorstPlace",
            "derate_records": "DerateReport",
            "machine_records": "CatalogueFigure Derivation Explanation FeatureAsk FlowReport",
            "starter": "starter_sheet",
            "tuning.answer": "SessionTexts tuning_session",
            "tuning_records": "AccelRow AdvanceLimits CapRow RetractLimits SessionCurrent "
            "SessionReport SessionStep SpeedCeiling",
            "weigh_next": "next_piece",
            "weigh_plan": "WishTexts plan_test",
            "weigh_read": "read_tests",
            "weigh_compare": "compare_tests",
            "which_configs": "copies_in expand",
        },
    )
