"""Inside, outside or unknown: hand-built loads against hand-built reference loads, and exactly what differs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from patency.catalogue import Department
from patency.flow import LoadEnvelope, Standing, envelope_of_load, flow_of_load, nominal_flow_of_load
from patency.flow.envelope.comparing import Relation
from patency.flow.envelope.standing import PointCompared
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.one_port import SITE, bore, connected, nozzle, one_load, one_port, over_nozzle

if TYPE_CHECKING:
    from patency.flow import LumenStanding
    from patency.load import Load

DAY = date(2026, 3, 2)
INLET = {"family": "thread", "gender": "female"}


def limit(value: str, **more: str) -> dict[str, str]:
    return {"value": value, "source": "qualification, invented", **more}


def shown(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    """Say what the lumen of the reference load got: less than the planned one gets, 78 mL/min and 13 Pa."""
    values = {
        "instrument": "thing",
        "piece": "tube",
        "lumen": "bore",
        "flow": limit("60 mL/min"),
        "shear": limit("8 Pa"),
        **changes,
    }
    return {key: value for key, value in values.items() if value is not None}


def reference(*lumens: dict[str, Any], **changes: Any) -> dict[str, Any]:  # noqa: ANN401
    return {
        "source": "validation report 7, invented",
        "valid_from": "2026-01-01",
        "valid_until": "2026-12-31",
        "carrier": "Wren",
        "programme": "gentle",
        "lumens": list(lumens) or [shown()],
        **changes,
    }


def planned(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    return connected(bore("1 mm"), **{"inlet": INLET, **changes})


def department(
    *references: dict[str, Any],
    lumen: dict[str, Any] | None = None,
    other: dict[str, Any] | None = None,
    **more: Any,  # noqa: ANN401
) -> Department:
    """Return the department with one planned lumen, these reference loads and another instrument they may name."""
    data = yaml.safe_load(SITE.replace("LUMEN", "{}").replace("PORT", "{}").replace("ACCESSORIES", "{}"))
    data["reference_loads"] = {f"R{number}": each for number, each in enumerate(references, start=1)}
    piece = {"name": "tube", "placing": "port", "outline": [{"form": "tube", "length": "300 mm", "width": "5 mm"}]}
    if other is not None:
        described = {"name": "other", "family": more.pop("family", "thing")}
        data["instruments"]["other"] = described | {
            "pieces": {"tube": {**piece, "way_up": "distal up", "lumens": {"bore": other}}}
        }
    return one_port(lumen or planned(), site=yaml.safe_dump(data, allow_unicode=True, sort_keys=False), **more)


def held(site: Department, load: Load | None = None, day: date = DAY) -> LoadEnvelope:
    load = load or one_load()
    return envelope_of_load(site, load, flow_of_load(site, load), day)


def only(envelope: LoadEnvelope) -> LumenStanding:
    (lumen,) = envelope.lumens
    assert envelope.standing is lumen.standing
    return lumen


def points(lumen: LumenStanding) -> list[tuple[PointCompared, Standing]]:
    assert lumen.nearest is not None
    assert lumen.standing is lumen.nearest.standing
    return [(difference.point, difference.standing) for difference in lumen.nearest.differences]


def test_a_lumen_that_gets_at_least_what_it_was_shown_to_get_is_inside() -> None:
    lumen = only(held(department(reference())))
    assert (lumen.standing, lumen.port, points(lumen)) == (Standing.INSIDE, "P", [])
    assert lumen.nearest is not None
    assert lumen.nearest.relation is Relation.SAME


def test_the_lower_end_of_flow_and_shear_decides_and_both_values_are_told() -> None:
    got = flow_of_load(department(), one_load()).lumens["One", "thing/1/tube", "bore"]
    assert got.shear_pa is not None
    flow, shear = (got.flow_m3_s.low + got.flow_m3_s.nominal) / 2, (got.shear_pa.low + got.shear_pa.nominal) / 2
    more = shown(flow=limit(f"{flow * 6e7:.9f} mL/min"), shear=limit(f"{shear:.9f} Pa"))
    lumen = only(held(department(reference(more))))
    assert points(lumen) == [
        (point, Standing.OUTSIDE) for point in (PointCompared.FLOW, PointCompared.EXCHANGES, PointCompared.SHEAR)
    ]
    assert lumen.nearest is not None
    by_flow, by_exchanges, by_shear = lumen.nearest.differences
    assert by_flow.planned == got.flow_m3_s.low
    assert by_flow.validated == pytest.approx(flow)
    assert (by_shear.planned, by_shear.unit) == (got.shear_pa.low, "Pa")
    assert by_shear.validated == pytest.approx(shear)
    assert by_exchanges.planned == pytest.approx(60.0 * got.flow_m3_s.low / got.volume_m3)
    assert by_exchanges.validated == pytest.approx(60.0 * flow / got.volume_m3)


@pytest.mark.parametrize(
    ("changes", "point", "standing"),
    [
        ({"carrier": "Heron"}, PointCompared.CARRIER, Standing.OUTSIDE),
        ({"programme": "brutal"}, PointCompared.PROGRAMME, Standing.OUTSIDE),
        ({"valid_from": "2026-03-03"}, PointCompared.VALIDITY, Standing.UNKNOWN),
        ({"valid_until": "2026-03-01"}, PointCompared.VALIDITY, Standing.UNKNOWN),
        ({"valid_until": None}, PointCompared.VALIDITY, Standing.UNKNOWN),
        ({"lumens": [shown(flow=None)]}, PointCompared.FLOW, Standing.UNKNOWN),
        ({"lumens": [shown(shear=None)]}, PointCompared.SHEAR, Standing.UNKNOWN),
        ({"lumens": [shown(shear=limit("8 Pa", valid_until="2026-03-01"))]}, PointCompared.SHEAR, Standing.UNKNOWN),
        ({"lumens": [shown(flow=limit("60 mL/min", valid_until="2026-03-01"))]}, PointCompared.FLOW, Standing.UNKNOWN),
    ],
)
def test_what_a_reference_load_does_not_show_is_told(
    changes: dict[str, Any], point: PointCompared, standing: Standing
) -> None:
    envelope = held(department(reference(**changes)))
    found = points(only(envelope))
    assert {name for name, _ in found} == {point} | (
        {PointCompared.EXCHANGES} if point is PointCompared.FLOW else set()
    )
    assert {each for _, each in found} == {standing}
    assert envelope.nearest is not None
    whole = [difference.point for difference in envelope.nearest.differences]
    assert whole == (
        [point] if point in {PointCompared.CARRIER, PointCompared.PROGRAMME, PointCompared.VALIDITY} else []
    )


def test_a_department_without_reference_loads_knows_nothing() -> None:
    envelope = held(department())
    assert (envelope.standing, envelope.nearest, only(envelope).nearest) == (Standing.UNKNOWN, None, None)


def test_a_load_without_lumens_is_not_called_inside() -> None:
    site, load = department(reference()), one_load(pieces=())
    assert held(site, load).standing is Standing.UNKNOWN


def test_a_lumen_on_no_port_is_outside() -> None:
    load = one_load()
    loose = one_load(pieces=(load.pieces[0].model_copy(update={"lumens": ()}),))
    lumen = only(held(department(reference()), loose))
    assert (lumen.port, points(lumen)) == ("", [(PointCompared.CONNECTION, Standing.OUTSIDE)])


def test_an_inlet_that_is_not_described_leaves_it_unknown() -> None:
    lumen = only(held(department(reference(), lumen=planned(inlet=None))))
    assert points(lumen) == [(PointCompared.DESCRIPTION, Standing.UNKNOWN)]


def test_without_intervals_nothing_is_inside() -> None:
    site, load = department(reference()), one_load()
    envelope = envelope_of_load(site, load, nominal_flow_of_load(site, load), DAY)
    assert points(only(envelope)) == [(PointCompared.CALCULATION, Standing.UNKNOWN)]


HARDER = {
    "the same sizes": (bore("1 mm"), {}, []),
    "narrower": (bore("0.9 mm"), {}, []),
    "longer": (bore("1 mm", "400 mm"), {}, []),
    "a narrow gap": ({"shape": "annulus", "outer": "3 mm", "inner": "2 mm", "length": "300 mm"}, {}, []),
    "a blind branch": (bore("1 mm"), {"dead_ends": ["5 mm"]}, []),
    "wider": (bore("1.1 mm"), {}, [PointCompared.PASSAGE]),
    "shorter": (bore("1 mm", "290 mm"), {}, [PointCompared.LENGTH]),
    "a wide gap": (
        {"shape": "annulus", "outer": "4 mm", "inner": "2 mm", "length": "300 mm"},
        {},
        [PointCompared.PASSAGE],
    ),
    "wider and shorter": (bore("1.1 mm", "290 mm"), {}, [PointCompared.PASSAGE, PointCompared.LENGTH]),
}


@pytest.mark.parametrize("family", ["thing", "others"])
@pytest.mark.parametrize("what", HARDER)
def test_another_lumen_covers_only_what_it_is_at_least_as_hard_as(what: str, family: str) -> None:
    segment, more, expected = HARDER[what]
    # So little was shown that only geometry can differ.
    got = shown(instrument="other", flow=limit("1 mL/min"), shear=limit("1 Pa"))
    lumen = only(held(department(reference(got), other=connected(segment, inlet=INLET, **more), family=family)))
    assert points(lumen) == [(point, Standing.OUTSIDE) for point in expected]
    assert lumen.nearest is not None
    assert lumen.nearest.relation is (Relation.FAMILY if family == "thing" else Relation.OTHER)


def test_blind_branches_count_by_the_deepest() -> None:
    got = shown(instrument="other", flow=limit("1 mL/min"), shear=limit("1 Pa"))
    site = department(
        reference(got),
        lumen=planned(dead_ends=["2 mm", "5 mm"]),
        other=connected(bore("1 mm"), inlet=INLET, dead_ends=["4 mm"]),
    )
    lumen = only(held(site))
    assert points(lumen) == [(PointCompared.BLIND, Standing.OUTSIDE)]
    assert lumen.nearest is not None
    (difference,) = lumen.nearest.differences
    assert (difference.planned, difference.validated) == (0.005, 0.004)


def test_blind_branches_nobody_has_looked_for_leave_it_unknown() -> None:
    got = shown(instrument="other", flow=limit("1 mL/min"), shear=limit("1 Pa"))
    same = connected(bore("1 mm"), inlet=INLET, dead_ends=[])
    for lumen, other in (
        (planned(dead_ends=None), same),
        (planned(dead_ends=["5 mm"]), {**same, "dead_ends": None}),
    ):
        found = only(held(department(reference(got), lumen=lumen, other=other)))
        assert points(found) == [(PointCompared.BLIND, Standing.UNKNOWN)]
    none = only(held(department(reference(got), lumen=planned(dead_ends=[]), other={**same, "dead_ends": None})))
    assert points(none) == []


def test_a_shear_that_is_not_known_of_the_planned_lumen_leaves_it_unknown() -> None:
    site, load = department(reference()), one_load()
    load_flow = flow_of_load(site, load)
    key = ("One", "thing/1/tube", "bore")
    unknown = replace(load_flow.lumens[key], shear_pa=None)
    envelope = envelope_of_load(site, load, replace(load_flow, lumens={key: unknown}), DAY)
    assert points(only(envelope)) == [(PointCompared.SHEAR, Standing.UNKNOWN)]


def test_exchanges_are_those_of_the_reference_s_own_volume() -> None:
    """A lumen of a quarter of the volume was shown 60 mL/min; the same flow exchanges the planned one too seldom."""
    narrow = connected(bore("0.5 mm"), inlet=INLET)
    lumen = only(held(department(reference(shown(instrument="other")), other=narrow)))
    assert points(lumen) == [(PointCompared.EXCHANGES, Standing.OUTSIDE)]


def test_over_a_nozzle_flow_and_exchanges_are_compared_and_a_connection_does_not_stand_for_it() -> None:
    chain, depth_m = ("nozzle",), 0.08
    load = one_load(chain, depth_m)
    accessories = {"nozzle": nozzle()}
    lumen = over_nozzle(bore("11.5 mm", "110 mm"))
    over = reference(shown(flow=limit("100 mL/min"), shear=None))
    inside = only(held(department(over, lumen=lumen, accessories=accessories), load))
    assert (inside.standing, points(inside)) == (Standing.INSIDE, [])
    piped = reference(shown(instrument="other", flow=limit("100 mL/min"), shear=None))
    site = department(piped, lumen=lumen, accessories=accessories, other=connected(bore("1 mm"), inlet=INLET))
    assert points(only(held(site, load))) == [
        (PointCompared.FEEDING, Standing.OUTSIDE),
        (PointCompared.EXCHANGES, Standing.OUTSIDE),
    ]


def test_a_jet_that_does_not_reach_the_far_end_is_outside() -> None:
    upright = {"stand": {"inclination": "90 °", "support_at": "50 mm"}}
    site = department(
        reference(shown(flow=limit("1 mL/min"), shear=None)),
        lumen=over_nozzle(bore("11.5 mm", "4 m")),
        accessories={"nozzle": nozzle()},
        port=upright,
    )
    lumen = only(held(site, one_load(("nozzle",), 0.08)))
    assert points(lumen) == [(PointCompared.JET, Standing.OUTSIDE)]


def test_any_reference_load_in_date_can_cover_a_lumen_and_the_nearest_comes_first() -> None:
    too_much, lapsed, good = (
        reference(shown(flow=limit("90 mL/min"))),
        reference(valid_until="2026-03-01"),
        reference(),
    )
    envelope = held(department(too_much, lapsed, good))
    assert only(envelope).standing is Standing.INSIDE
    assert [(each.reference, each.inside) for each in envelope.references] == [("R3", 1), ("R1", 0), ("R2", 0)]
    without = held(department(too_much, lapsed))
    assert only(without).standing is Standing.UNKNOWN


def test_of_the_lumens_of_a_reference_load_the_same_one_is_compared_first() -> None:
    far = shown(instrument="other", flow=limit("200 mL/min"))
    near = shown(flow=limit("90 mL/min"))
    lumen = only(held(department(reference(far, near), other=planned())))
    assert lumen.nearest is not None
    assert lumen.nearest.relation is Relation.SAME


@cache
def larkmere_envelope(load_id: str, day: date = date(2026, 5, 12)) -> LoadEnvelope:
    load = hand_made_load(load_id)
    return envelope_of_load(larkmere(), load, flow_of_load(larkmere(), load), day)


def test_larkmere_s_reference_load_covers_what_it_shows_and_no_sleeve_over_a_nozzle() -> None:
    envelope = larkmere_envelope("L3")
    by_type: dict[str, set[Standing]] = {}
    for lumen in envelope.lumens:
        by_type.setdefault(lumen.key[1].split("/")[0], set()).add(lumen.standing)
    assert by_type["mod5"] == by_type["bip5"] == by_type["clip10"] == {Standing.INSIDE}
    assert by_type["mod5long"] == {Standing.UNKNOWN}  # its shear was not recorded
    assert by_type["bip5long"] == by_type["sleeve13"] == by_type["fan10"] == {Standing.OUTSIDE}
    assert sum(envelope.count(standing) for standing in Standing) == len(envelope.lumens) == 31


def test_larkmere_has_no_reference_load_for_the_other_carrier_and_none_after_a_year() -> None:
    assert larkmere_envelope("D1").count(Standing.INSIDE) == 0
    assert larkmere_envelope("L3", date(2027, 3, 16)).count(Standing.INSIDE) == 0
