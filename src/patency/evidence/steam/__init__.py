"""What the record of a steam sterilizer proves: air removal, plateau, saturation, drying, and the machine's tests."""

from patency.evidence.steam.entered import (
    EnteredCheck,
    EnteredChecks,
    SterilizerTest,
    judge_sterilizer_test,
    limit_of_test,
    read_entered,
)
from patency.evidence.steam.judging import SteamEvidence, judge_leakage, judge_steam, steam_document, steam_schema
from patency.evidence.steam.lethality import f0_s

__all__ = [
    "EnteredCheck",
    "EnteredChecks",
    "SteamEvidence",
    "SterilizerTest",
    "f0_s",
    "judge_leakage",
    "judge_steam",
    "judge_sterilizer_test",
    "limit_of_test",
    "read_entered",
    "steam_document",
    "steam_schema",
]
