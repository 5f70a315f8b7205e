"""The parts of a verdict tell themselves from those of another edition."""

from __future__ import annotations

import pytest

from patency.evidence import parts, parts_digest
from patency.evidence.parts import PARTS


@pytest.mark.parametrize("changed", [PARTS[:-1], PARTS[::-1], (*PARTS[1:], PARTS[0])], ids=["fewer", "back", "moved"])
def test_other_parts_or_another_order_have_another_digest(
    changed: tuple[parts.Part, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = parts_digest()
    assert parts_digest() == before
    monkeypatch.setattr(parts, "PARTS", changed)
    assert parts_digest() != before
