"""What the record of a steam sterilizer proves: air removal, plateau, saturation, drying, and the machine's tests."""

from patency.evidence.steam.entered import EnteredChecks, read_entered
from patency.evidence.steam.judging import SteamEvidence, judge_leakage, judge_steam, steam_document, steam_schema
from patency.evidence.steam.lethality import f0_s

__all__ = [
    "EnteredChecks",
    "SteamEvidence",
    "f0_s",
    "judge_leakage",
    "judge_steam",
    "read_entered",
    "steam_document",
    "steam_schema",
]
