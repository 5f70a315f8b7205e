"""What a person does with Patency, one module each: the one place that reads, computes and writes."""

from patency.steps.board_showing import Board, BoardLine, Urgency, board_of
from patency.steps.commissioning import (
    FittedBench,
    fit_bench,
    print_bench_form,
    propose_bench,
    read_measurements,
    watch_bench,
)
from patency.steps.cycle_diagnosing import CycleDiagnosed, diagnose_cycle
from patency.steps.cycle_judging import (
    CycleJudged,
    RecordFiles,
    judge_cycle,
    judge_record,
    load_of_plan,
    read_record_files,
)
from patency.steps.department_enrolling import enrolment, ledger_piece, ledger_type, small_part
from patency.steps.envelope_checking import EnvelopeCheck, check_envelope
from patency.steps.envelope_words import envelope_summary, lumen_words, proposal_lines
from patency.steps.fault_finding import (
    LoadFaults,
    fault_pictures,
    faults_document,
    faults_of_plan,
    loss_of_others,
    with_advice,
)
from patency.steps.files import read_text, write_all
from patency.steps.flow_showing import FlowShown, flow_document, flow_of_plan, flow_pictures
from patency.steps.interlocking import (
    Interlock,
    aged_statement,
    blocked_at,
    calendar_standing,
)
from patency.steps.ledger_reading import LedgerCheck, export_events, rebuild_ledger, trace_thing, verify_ledger
from patency.steps.load_planning import plan_site, read_planned
from patency.steps.margin_sampling import MarginCheck, margin_words, sample_margins
from patency.steps.monitoring import (
    Charted,
    chart_drift,
    chart_table,
    find_wet_patterns,
    plan_inspections,
)
from patency.steps.network_solving import solve_network
from patency.steps.plan_checking import PlanCheck, check_plan_file
from patency.steps.question_answering import answer_counts, answers_document, answers_of_load
from patency.steps.self_checking import published_checks, self_check, self_check_data, self_check_report
from patency.steps.set_story import PieceLine, SetStory, StoryLine, event_words, set_story_of
from patency.steps.sheet_printing import print_sheets, sheet_of_load
from patency.steps.site_checking import SiteCheck, check_site
from patency.steps.site_reading import read_site
from patency.steps.steam_judging import SteamJudged, judge_steam_cycle, judge_steam_leakage
from patency.steps.thing_finding import Found, FoundKind, find_scanned

__all__ = [
    "Board",
    "BoardLine",
    "Charted",
    "CycleDiagnosed",
    "CycleJudged",
    "EnvelopeCheck",
    "FittedBench",
    "FlowShown",
    "Found",
    "FoundKind",
    "Interlock",
    "LedgerCheck",
    "LoadFaults",
    "MarginCheck",
    "PieceLine",
    "PlanCheck",
    "RecordFiles",
    "SetStory",
    "SiteCheck",
    "SteamJudged",
    "StoryLine",
    "Urgency",
    "aged_statement",
    "answer_counts",
    "answers_document",
    "answers_of_load",
    "blocked_at",
    "board_of",
    "calendar_standing",
    "chart_drift",
    "chart_table",
    "check_envelope",
    "check_plan_file",
    "check_site",
    "diagnose_cycle",
    "enrolment",
    "envelope_summary",
    "event_words",
    "export_events",
    "fault_pictures",
    "faults_document",
    "faults_of_plan",
    "find_scanned",
    "find_wet_patterns",
    "fit_bench",
    "flow_document",
    "flow_of_plan",
    "flow_pictures",
    "judge_cycle",
    "judge_record",
    "judge_steam_cycle",
    "judge_steam_leakage",
    "ledger_piece",
    "ledger_type",
    "load_of_plan",
    "loss_of_others",
    "lumen_words",
    "margin_words",
    "plan_inspections",
    "plan_site",
    "print_bench_form",
    "print_sheets",
    "proposal_lines",
    "propose_bench",
    "published_checks",
    "read_measurements",
    "read_planned",
    "read_record_files",
    "read_site",
    "read_text",
    "rebuild_ledger",
    "sample_margins",
    "self_check",
    "self_check_data",
    "self_check_report",
    "set_story_of",
    "sheet_of_load",
    "small_part",
    "solve_network",
    "trace_thing",
    "verify_ledger",
    "watch_bench",
    "with_advice",
    "write_all",
]
