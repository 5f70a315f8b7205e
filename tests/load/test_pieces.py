"""Which single pieces a set comes apart into."""

from __future__ import annotations

from collections import Counter

from patency.load import pieces_of_set
from tests.small_site import small_department


def test_a_set_comes_apart_into_each_piece_of_each_instrument() -> None:
    keys = [piece.key for piece in pieces_of_set(small_department(), "Morning")]
    assert keys == [
        "sleeve11/1/sleeve",
        "sleeve11/1/seal",
        "mod5/1/handle",
        "mod5/1/tube",
        "mod5/1/insert",
        "fix5/1/whole",
        "cable/1/cable",
        "optic/1/optic",
    ]


def test_copies_of_a_piece_are_numbered() -> None:
    department = small_department()
    sleeve = department.instruments["sleeve11"]
    twice = {**sleeve.pieces, "seal": sleeve.pieces["seal"].model_copy(update={"count": 2})}
    instruments = {**department.instruments, "sleeve11": sleeve.model_copy(update={"pieces": twice})}
    changed = department.model_copy(update={"instruments": instruments})
    keys = [piece.key for piece in pieces_of_set(changed, "Noon")]
    assert keys[:3] == ["sleeve11/1/sleeve", "sleeve11/1/seal/1", "sleeve11/1/seal/2"]


def test_keys_are_unique_and_lumens_are_those_of_the_piece_type() -> None:
    pieces = pieces_of_set(small_department(), "Morning")
    assert max(Counter(piece.key for piece in pieces).values()) == 1
    assert {piece.key: list(piece.lumens) for piece in pieces if piece.lumens} == {
        "sleeve11/1/sleeve": ["bore"],
        "mod5/1/tube": ["bore"],
        "fix5/1/whole": ["shaft"],
    }
