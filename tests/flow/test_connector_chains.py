"""What the water passes between port and lumen, link by link."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from patency.errors import InputError
from patency.flow import Bore
from patency.flow.connector_chains import ConnectorChain, connector_chain, nozzle_openings, overlap_m
from patency.flow.site_defaults import SiteDefaults
from tests.flow.one_port import HOSE, bore, connected, is_opening, nozzle, one_port, over_nozzle, sleeve
from tests.flow.test_site_defaults import LIMITS

if TYPE_CHECKING:
    from patency.catalogue import FlushingSleeve, Lumen

from patency.load import Connection

MALE, FEMALE = {"family": "luer", "gender": "male"}, {"family": "luer", "gender": "female"}
STOCKED = {"name": "part", "stock": 1}
ACCESSORIES = {
    "n": nozzle(),
    "s": sleeve(),
    "hose": {"kind": "hose", **STOCKED, "near": FEMALE, "far": MALE, "bore": "5 mm", "length": "1 m", "outer": "8 mm"},
    "ff": {"kind": "adapter", **STOCKED, "near": FEMALE, "far": FEMALE, "bore": "2.5 mm", "length": "20 mm"},
    "sieve": {
        "kind": "strainer",
        **STOCKED,
        "near": FEMALE,
        "far": MALE,
        "bore": "3 mm",
        "length": "30 mm",
        "loss": "8 ± 2",
    },
    "cap": {"kind": "cap", **STOCKED, "near": FEMALE},
}
LUER_IN = connected(bore("3 mm"), inlet=FEMALE)


def chain_of(
    chain: list[str], lumen: dict[str, Any] = LUER_IN, port: dict[str, Any] | None = None
) -> tuple[ConnectorChain, list[float]]:
    department = one_port(lumen, ACCESSORIES, {"hose": HOSE} if port is None else port)
    described = the_lumen(lumen)
    found = connector_chain(
        department,
        department.carriers["Wren"].ports["P"],
        Connection(lumen="bore", port="P", chain=tuple(chain)),
        described,
        SiteDefaults(LIMITS),
    )
    bores = [stretch.segment for stretch in found.stretches]
    assert all(isinstance(segment, Bore) for segment in bores)
    return found, [round(1000 * segment.diameter_m, 3) for segment in bores if isinstance(segment, Bore)]


def the_lumen(lumen: dict[str, Any]) -> Lumen:
    return one_port(lumen, ACCESSORIES).instruments["thing"].pieces["tube"].lumens["bore"]


def the_sleeve(**changes: Any) -> FlushingSleeve:  # noqa: ANN401
    found = one_port(LUER_IN, {"s": sleeve(**changes)}).accessories["s"]
    assert found.kind == "flushing sleeve"
    return found


def test_a_lumen_on_the_port_s_own_hose_sees_fitting_hose_and_the_mated_pair() -> None:
    assert chain_of([])[1] == [8.0, 4.0, 2.0]


def test_a_luer_is_a_bore_of_2_mm_and_not_its_taper() -> None:
    chain, _ = chain_of([])
    pair = chain.stretches[-1].segment
    assert isinstance(pair, Bore)
    assert (pair.diameter_m, pair.length_m) == (2e-3, 7.5e-3)


def test_an_open_lumen_end_mates_with_nothing() -> None:
    assert chain_of([], connected(bore("3 mm")))[1] == [8.0, 4.0]


def test_a_family_without_a_stated_bore_adds_nothing() -> None:
    tube_in = connected(bore("3 mm"), inlet={"family": "tube", "gender": "male"})
    end = {"family": "tube", "gender": "female"}
    assert chain_of([], tube_in, {"end": end})[1] == [8.0]


def test_each_accessory_stands_between_its_two_mated_pairs() -> None:
    assert chain_of(["hose", "sieve", "ff"])[1] == [8.0, 4.0, 2.0, 5.0, 2.0, 3.0, 2.0, 2.5, 2.0]


def test_the_loss_of_a_strainer_and_of_a_fitting_is_in_the_chain() -> None:
    chain, _ = chain_of(["sieve"], port={"hose": HOSE, "loss": 0.5})
    fitting, sieve = chain.stretches[0], chain.stretches[3]
    assert isinstance(fitting.segment, Bore)
    assert isinstance(sieve.segment, Bore)
    assert (fitting.segment.minor_loss, fitting.loss_doubt) == pytest.approx((0.5, 0.15))
    assert (sieve.segment.minor_loss, sieve.loss_doubt) == (8.0, 2.0)


def test_a_flushing_sleeve_ends_the_chain_with_its_passage() -> None:
    chain, bores = chain_of(["s"], connected(bore("3 mm"), grip="80 mm"))
    assert bores == [8.0, 4.0, 2.0, 3.0]
    assert chain.sleeve is not None
    assert chain.nozzle is None
    passage = chain.stretches[-1].segment
    assert isinstance(passage, Bore)
    # 60 mm long, covering 10 to 60 mm of tube, in the middle 35 mm: 25 mm are left
    assert passage.length_m == pytest.approx(0.025)


def test_a_nozzle_ends_the_chain_with_its_tube() -> None:
    chain, bores = chain_of(["n"], over_nozzle(bore("10 mm")), {})
    assert bores == [8.0, 6.0]
    assert chain.nozzle is not None
    assert chain.sleeve is None


def test_tip_and_side_holes_of_a_nozzle_are_one_opening() -> None:
    holes = [{"count": 4, "diameter": "1 mm", "from_inlet": "20 mm"}]
    found = one_port(LUER_IN, {"n": nozzle(side_holes=holes)}).accessories["n"]
    assert found.kind == "injector nozzle"
    opening = nozzle_openings(found, SiteDefaults(LIMITS)).segment
    assert is_opening(opening, 8e-6, 0.8)


def test_a_sleeve_covers_the_middle_between_least_and_most() -> None:
    long, short = (the_lumen(connected(bore("3 mm"), grip=grip)) for grip in ("90 mm", "20 mm"))
    assert overlap_m(the_sleeve(), long) == pytest.approx(0.035)
    assert overlap_m(the_sleeve(), short) == pytest.approx(0.015)
    assert overlap_m(the_sleeve(least_overlap="30 mm"), short) == pytest.approx(0.030)


def test_a_sleeve_on_a_tube_nobody_says_how_much_of_may_be_covered_covers_the_least() -> None:
    assert overlap_m(the_sleeve(), the_lumen(LUER_IN)) == 0.010


def test_a_sleeve_pushed_on_as_far_as_it_goes_still_has_a_passage() -> None:
    department = one_port(LUER_IN, {"s": sleeve(length="12 mm")}, {"hose": HOSE})
    chain = connector_chain(
        department,
        department.carriers["Wren"].ports["P"],
        Connection(lumen="bore", port="P", chain=("s",)),
        the_lumen(LUER_IN),
        SiteDefaults(LIMITS),
    )
    passage = chain.stretches[-1].segment
    assert isinstance(passage, Bore)
    assert passage.length_m == pytest.approx(3e-3)


@pytest.mark.parametrize(
    ("chain", "what"),
    [
        (["attic"], "'attic'"),
        (["cap"], "'cap'"),
        (["n", "ff"], "something stands behind 'n'"),
        (["s", "ff"], "something stands behind 's'"),
    ],
)
def test_a_chain_that_cannot_be_read_is_refused(chain: list[str], what: str) -> None:
    with pytest.raises(InputError, match=what):
        chain_of(chain)
