"""What the descriptions themselves refuse or answer."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from patency.catalogue import Connector, Hose, Need, Pump, StageKind, department_schema
from patency.quantities import Answer, Limit, Toleranced
from tests.small_site import small_department


def connector(family: str, gender: str, size: str | None = None) -> Connector:
    return Connector.model_validate({"family": family, "gender": gender} | ({"size": size} if size else {}))


@pytest.mark.parametrize(
    ("one", "other", "answer"),
    [
        (("luer", "male"), ("luer", "female"), Answer.YES),
        (("luer", "male"), ("luer", "male"), Answer.NO),
        (("luer", "male"), ("taper", "female"), Answer.NO),
        (("tube", "male", "5 mm"), ("tube", "female", "5 ± 0.5 mm"), Answer.YES),
        (("tube", "male", "5.6 mm"), ("tube", "female", "5 ± 0.5 mm"), Answer.NO),
        (("tube", "male", "5.5 mm"), ("tube", "female", "5 ± 0.5 mm"), Answer.YES),
        (("tube", "male"), ("tube", "female", "5 ± 0.5 mm"), Answer.UNKNOWN),
    ],
)
def test_ends_join_by_family_gender_and_size(one: tuple[str, ...], other: tuple[str, ...], answer: Answer) -> None:
    assert connector(*one).mates_with(connector(*other)) is answer
    assert connector(*other).mates_with(connector(*one)) is answer


@pytest.mark.parametrize(
    "points",
    [
        [("0 L/min", "7 m"), ("200 L/min", "7 m"), ("400 L/min", "5 m")],
        [("10 L/min", "7 m"), ("200 L/min", "6 m"), ("400 L/min", "5 m")],
        [("0 L/min", "7 m"), ("0 L/min", "6 m"), ("400 L/min", "5 m")],
    ],
)
def test_a_pump_whose_curve_does_not_fall_is_refused(points: list[tuple[str, str]]) -> None:
    written = {
        "points": [{"flow": flow, "head": head} for flow, head in points],
        "sump_level": "-100 mm",
        "relative_speed": 1,
        "source": "invented",
    }
    with pytest.raises(ValidationError, match="does not fall"):
        Pump.model_validate(written)


def test_only_drying_is_dry() -> None:
    assert [kind for kind in StageKind if not kind.wet] == [StageKind.DRY]


def test_the_version_approved_and_issued_last_is_in_force() -> None:
    instructions = small_department().instructions["steel"]
    (version,) = instructions.versions
    assert instructions.in_force(date(2025, 1, 31)) is None
    assert instructions.in_force(date(2025, 2, 1)) == version
    newer = version.model_copy(update={"version": "2", "issued": date(2026, 1, 1), "approval": None})
    both = instructions.model_copy(update={"versions": [version, newer]})
    assert both.in_force(date(2026, 6, 1)) == version


def test_a_piece_is_as_long_as_its_outline_and_as_wide_as_its_widest_part() -> None:
    forceps = small_department().instruments["fix5"].pieces["whole"]
    assert [forceps.length_m, forceps.widest_m] == pytest.approx([0.49, 0.08])


def test_a_limit_made_by_a_program_is_taken_as_it_is() -> None:
    limit = Limit(1.0, "Pa", "validation report")
    assert Need.model_validate({"minimum_shear": limit}).minimum_shear is limit


def test_a_loose_hose_with_a_wall_is_a_hose() -> None:
    end = {"family": "luer", "gender": "male"}
    written = {"kind": "hose", "name": "hose", "stock": 1, "near": end, "far": end, "bore": "3 mm", "length": "20 cm"}
    assert Hose.model_validate({**written, "outer": "5 mm"}).length_m == Toleranced(0.2)


def test_the_schema_completes_every_key_of_a_department_and_asks_for_none_in_a_single_file() -> None:
    schema = department_schema()
    assert {"instruments", "carriers", "limits", "sets"} <= schema["properties"].keys()
    assert not schema.get("required")
