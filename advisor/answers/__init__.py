"""The questions that the program answers, and the one session that reads what is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.answers.asks import (
        Asks as Asks,
    )
    from advisor.answers.asks import (
        OneOrMore as OneOrMore,
    )
    from advisor.answers.asks import (
        stated_options as stated_options,
    )
    from advisor.answers.asks import (
        texts_of as texts_of,
    )
    from advisor.answers.asks import (
        typed as typed,
    )
    from advisor.answers.builds.compare import (
        compare as compare,
    )
    from advisor.answers.builds.vary import (
        known_names as known_names,
    )
    from advisor.answers.compare_records import (
        CompareReport as CompareReport,
    )
    from advisor.answers.compare_records import (
        LeverAnswer as LeverAnswer,
    )
    from advisor.answers.compare_records import (
        TargetReport as TargetReport,
    )
    from advisor.answers.compare_records import (
        Variant as Variant,
    )
    from advisor.answers.curve_records import (
        LEVEL as LEVEL,
    )
    from advisor.answers.curve_records import (
        BandLine as BandLine,
    )
    from advisor.answers.curve_records import (
        ForceReport as ForceReport,
    )
    from advisor.answers.curve_records import (
        GripReport as GripReport,
    )
    from advisor.answers.curve_records import (
        GripRow as GripRow,
    )
    from advisor.answers.curve_records import (
        MotorNeed as MotorNeed,
    )
    from advisor.answers.curve_records import (
        MotorRow as MotorRow,
    )
    from advisor.answers.curve_records import (
        OperatingPoint as OperatingPoint,
    )
    from advisor.answers.curve_records import (
        TorqueReport as TorqueReport,
    )
    from advisor.answers.curves.answer import (
        grip_answer as grip_answer,
    )
    from advisor.answers.curves.answer import (
        torque_answer as torque_answer,
    )
    from advisor.answers.curves.force import (
        force_report as force_report,
    )
    from advisor.answers.curves.grip import (
        grip_report as grip_report,
    )
    from advisor.answers.curves.torque import (
        torque_report as torque_report,
    )
    from advisor.answers.demand_records import CappedTime as CappedTime
    from advisor.answers.demand_records import CapTimesAnswer as CapTimesAnswer
    from advisor.answers.demand_records import DemandReport as DemandReport
    from advisor.answers.demand_records import DemandRow as DemandRow
    from advisor.answers.demand_records import ExcessPlace as ExcessPlace
    from advisor.answers.demand_records import RefusedMoves as RefusedMoves
    from advisor.answers.demand_records import SeriesRow as SeriesRow
    from advisor.answers.demand_records import SlicerTime as SlicerTime
    from advisor.answers.demand_records import SlowedMoves as SlowedMoves
    from advisor.answers.demand_records import WindowRow as WindowRow
    from advisor.answers.demand_records import WorstPlace as WorstPlace
    from advisor.answers.derate_motor import (
        derate as derate,
    )
    from advisor.answers.derate_records import DerateReport as DerateReport
    from advisor.answers.diagnosis.answer import diagnose as diagnose
    from advisor.answers.diagnosis.answer import seen_words as seen_words
    from advisor.answers.diagnosis.inquiry import Inquiry as Inquiry
    from advisor.answers.diagnosis.sightings import SeenTexts as SeenTexts
    from advisor.answers.diagnosis.symptom_questions import SymptomQuestion as SymptomQuestion
    from advisor.answers.diagnosis_records import CauseLine as CauseLine
    from advisor.answers.diagnosis_records import CauseOdds as CauseOdds
    from advisor.answers.diagnosis_records import CurrentDoubt as CurrentDoubt
    from advisor.answers.diagnosis_records import DiagnoseReport as DiagnoseReport
    from advisor.answers.diagnosis_records import FedLength as FedLength
    from advisor.answers.diagnosis_records import NextTest as NextTest
    from advisor.answers.diagnosis_records import OutcomeMeaning as OutcomeMeaning
    from advisor.answers.diagnosis_records import SeenWords as SeenWords
    from advisor.answers.explain_name import (
        explain as explain,
    )
    from advisor.answers.explain_records import CatalogueFigure as CatalogueFigure
    from advisor.answers.explain_records import Derivation as Derivation
    from advisor.answers.explain_records import Explanation as Explanation
    from advisor.answers.family import (
        Family as Family,
    )
    from advisor.answers.flow_limit import (
        flow as flow,
    )
    from advisor.answers.flow_records import FeatureAsk as FeatureAsk
    from advisor.answers.flow_records import FlowReport as FlowReport
    from advisor.answers.interview import (
        Interview as Interview,
    )
    from advisor.answers.lint import (
        CheckedConfig as CheckedConfig,
    )
    from advisor.answers.lint import (
        check as check,
    )
    from advisor.answers.lint import (
        fixes_fitted as fixes_fitted,
    )
    from advisor.answers.lint import (
        within_run as within_run,
    )
    from advisor.answers.mend_files import (
        choice_of as choice_of,
    )
    from advisor.answers.mend_files import (
        mend as mend,
    )
    from advisor.answers.mend_files import (
        undo as undo,
    )
    from advisor.answers.mend_records import (
        ByHand as ByHand,
    )
    from advisor.answers.mend_records import (
        CapacityChange as CapacityChange,
    )
    from advisor.answers.mend_records import (
        Edit as Edit,
    )
    from advisor.answers.mend_records import (
        MendReport as MendReport,
    )
    from advisor.answers.mend_rounds import (
        Start as Start,
    )
    from advisor.answers.mend_rounds import (
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
    )
    from advisor.answers.tuning.answer import (
        tuning_session as tuning_session,
    )
    from advisor.answers.tuning_records import (
        AccelRow as AccelRow,
    )
    from advisor.answers.tuning_records import (
        AdvanceLimits as AdvanceLimits,
    )
    from advisor.answers.tuning_records import (
        CapRow as CapRow,
    )
    from advisor.answers.tuning_records import (
        RetractLimits as RetractLimits,
    )
    from advisor.answers.tuning_records import (
        SessionCurrent as SessionCurrent,
    )
    from advisor.answers.tuning_records import (
        SessionReport as SessionReport,
    )
    from advisor.answers.tuning_records import (
        SessionStep as SessionStep,
    )
    from advisor.answers.tuning_records import (
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
    )
    from advisor.answers.weigh_plan import (
        plan_test as plan_test,
    )
    from advisor.answers.weigh_read import (
        read_tests as read_tests,
    )
    from advisor.answers.which_configs import (
        copies_in as copies_in,
    )
    from advisor.answers.which_configs import (
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
            "compare_records": "CompareReport LeverAnswer TargetReport Variant",
            "curve_records": "BandLine ForceReport GripReport GripRow LEVEL MotorNeed MotorRow "
            "OperatingPoint TorqueReport",
            "curves.answer": "grip_answer torque_answer",
            "curves.force": "force_report",
            "curves.grip": "grip_report",
            "curves.torque": "torque_report",
            "derate_motor": "derate",
            "diagnosis.answer": "diagnose seen_words",
            "diagnosis.inquiry": "Inquiry",
            "diagnosis.sightings": "SeenTexts",
            "diagnosis.symptom_questions": "SymptomQuestion",
            "diagnosis_records": "CauseLine CauseOdds CurrentDoubt DiagnoseReport FedLength "
            "NextTest OutcomeMeaning SeenWords",
            "explain_name": "explain",
            "family": "Family",
            "flow_limit": "flow",
            "interview": "Interview",
            "lint": "CheckedConfig check fixes_fitted within_run",
            "mend_files": "choice_of mend undo",
            "mend_records": "ByHand CapacityChange Edit MendReport",
            "mend_rounds": "Start start_of",
            "print_caps": "read_caps",
            "print_demand": "demand",
            "questions": "Question",
            "demand_records": "CapTimesAnswer CappedTime DemandReport DemandRow ExcessPlace "
            "RefusedMoves "
            "SeriesRow SlicerTime SlowedMoves WindowRow WorstPlace",
            "derate_records": "DerateReport",
            "explain_records": "CatalogueFigure Derivation Explanation",
            "flow_records": "FeatureAsk FlowReport",
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
