"""Every broken department is refused with one line that names file, line, path and what was expected."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from patency.catalogue import read_department
from patency.errors import InputErrors
from tests.small_site import SMALL_SITE, changed

BROKEN = yaml.safe_load((Path(__file__).parents[1] / "broken" / "catalogues.yaml").read_text(encoding="utf-8"))


def test_there_are_many_and_each_breaks_something_else() -> None:
    assert len(BROKEN) >= 60
    assert len({one["what"] for one in BROKEN}) == len(BROKEN)


@pytest.mark.parametrize("one", BROKEN, ids=lambda one: one["what"])
def test_a_broken_department_is_refused_with_the_line_that_names_the_place(one: dict[str, str]) -> None:
    with pytest.raises(InputErrors) as refusal:
        read_department(changed(SMALL_SITE, one["was"], one["now"]))
    said, lines = one["says"], [fault.line for fault in refusal.value.faults]
    if said.endswith("…"):  # the rest is the YAML parser's own wording
        lines = [line[: len(said) - 1] + "…" for line in lines]
    assert lines == [said]
