"""What a cycle record proves about one load: the record read, its stages found, every criterion judged.

Text and values in, values out. ``read_description`` and ``read_record`` take the record in, ``judge`` compares it with
the programme, the site's limits and the pressures predicted for the very load, and ``evidence_document`` gives the
result as plain values.
"""

from patency.evidence.circulation import PRESSURE_CRITERION, FixedWindow
from patency.evidence.criteria import NO_LIMIT, Criterion, CriterionState, Sense
from patency.evidence.description import RecordDescription, description_schema, read_description
from patency.evidence.findings import Counted, Finding, FindingKind
from patency.evidence.found_stages import Origin, StagesFound, StageSpan
from patency.evidence.lethality import Lethality, a0, lethal_rate
from patency.evidence.prediction import EyeCheck, LoadMachine, PredictedPressure, PressurePrediction, Seen
from patency.evidence.reading import read_columns, read_record
from patency.evidence.record import CycleRecord, Trace
from patency.evidence.stage_readings import ArmRead, PressureRead, StagesRead, read_stages
from patency.evidence.stages import find_stages
from patency.evidence.steam import (
    EnteredChecks,
    SteamEvidence,
    f0_s,
    judge_leakage,
    judge_steam,
    read_entered,
    steam_document,
    steam_schema,
)
from patency.evidence.timing import Spacing, TimeAxis
from patency.evidence.verdict import Evidence, StageTold, evidence_document, evidence_schema, judge, judge_alone

__all__ = [
    "NO_LIMIT",
    "PRESSURE_CRITERION",
    "ArmRead",
    "Counted",
    "Criterion",
    "CriterionState",
    "CycleRecord",
    "EnteredChecks",
    "Evidence",
    "EyeCheck",
    "Finding",
    "FindingKind",
    "FixedWindow",
    "Lethality",
    "LoadMachine",
    "Origin",
    "PredictedPressure",
    "PressurePrediction",
    "PressureRead",
    "RecordDescription",
    "Seen",
    "Sense",
    "Spacing",
    "StageSpan",
    "StageTold",
    "StagesFound",
    "StagesRead",
    "SteamEvidence",
    "TimeAxis",
    "Trace",
    "a0",
    "description_schema",
    "evidence_document",
    "evidence_schema",
    "f0_s",
    "find_stages",
    "judge",
    "judge_alone",
    "judge_leakage",
    "judge_steam",
    "lethal_rate",
    "read_columns",
    "read_description",
    "read_entered",
    "read_record",
    "read_stages",
    "steam_document",
    "steam_schema",
]
