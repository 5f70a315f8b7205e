"""One load as arranged: pieces, ports, connector chains, places; the six questions and their answers."""

from patency.load.arrangement import CappedPort, Connection, LeftOut, Load, OnFloor, PlacedPiece, Plan, StaysFed
from patency.load.likeness import load_kind
from patency.load.pieces import PieceToPlace, pieces_of_set
from patency.load.plan_file import plan_schema, read_plan, write_plan
from patency.load.plan_names import unknown_names
from patency.load.questions import Figure, PieceReplies, Question, Reply

__all__ = [
    "CappedPort",
    "Connection",
    "Figure",
    "LeftOut",
    "Load",
    "OnFloor",
    "PieceReplies",
    "PieceToPlace",
    "PlacedPiece",
    "Plan",
    "Question",
    "Reply",
    "StaysFed",
    "load_kind",
    "pieces_of_set",
    "plan_schema",
    "read_plan",
    "unknown_names",
    "write_plan",
]
