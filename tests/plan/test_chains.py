"""Connector chains: all that are legal, none that is not, and in words what is missing."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from patency.catalogue import (
    Accessory,
    Adapter,
    ChainLink,
    Connector,
    ConnectorFamily,
    Department,
    FedBy,
    FlushingSleeve,
    Gender,
    Hose,
    InjectorNozzle,
    Lumen,
    Strainer,
)
from patency.plan.links.chains import LONGEST, Chain, find_chains, start_of, useful_chains
from patency.plan.links.ends import end_fit, nozzle_fit, sleeve_fit
from patency.plan.links.unreachable import connector_words, missing_link
from patency.quantities import Answer, Toleranced
from tests.small_site import small_department

SMALL = small_department()
PORT = {"family": "luer", "gender": "male"}


def connector(family: str, gender: str, size: str | None = None) -> Connector:
    return Connector.model_validate({"family": family, "gender": gender, **({"size": size} if size else {})})


def link(kind: str, near: Connector, far: Connector | None = None, **more: object) -> Accessory:
    """Make an accessory with everything else usual."""
    usual = {"name": kind, "stock": 1, "near": near, **more}
    if kind == "adapter":
        return Adapter.model_validate({"kind": kind, "far": far, "bore": "2 mm", "length": "20 mm", **usual})
    if kind == "hose":
        return Hose.model_validate(
            {"kind": kind, "far": far, "bore": "3 mm", "length": "0.2 m", "outer": "5 mm", **usual}
        )
    if kind == "strainer":
        return Strainer.model_validate(
            {"kind": kind, "far": far, "bore": "3 mm", "length": "30 mm", "loss": 4, **usual}
        )
    if kind == "injector nozzle":
        shape = {"bore": "4 mm", "outlet": "3 mm", "outer": "6 mm", "length": "80 mm", "discharge_coefficient": 0.8}
        shape["side_holes"] = []
        return InjectorNozzle.model_validate({"kind": kind, **shape, **usual})
    shape = {"inner": "5 mm", "bore": "3 mm", "length": "50 mm", "least_overlap": "10 mm", "end_cap": True}
    return FlushingSleeve.model_validate({"kind": kind, "grips": far, **shape, **usual})


def lumen(**more: object) -> Lumen:
    usual = {"segments": [{"shape": "bore", "bore": "10 mm", "length": "100 mm"}], "fed_by": "connection"}
    nones = {"side_holes": [], "dead_ends": [], "strainer_upstream": False}
    return Lumen.model_validate({**usual, **nones, **more})


def with_accessories(accessories: dict[str, Accessory]) -> Department:
    families = {name: ConnectorFamily(name=name, source="invented") for name in "abcx"}
    return SMALL.model_copy(update={"accessories": accessories, "connector_families": families})


def drawn_end(chance: np.random.Generator) -> Connector:
    family = "abc"[int(chance.integers(0, 3))]
    gender = ("male", "female")[int(chance.integers(0, 2))]
    size = (None, "5 ± 0.2 mm", "5.3 ± 0.2 mm", "7 mm")[int(chance.choice(4, p=[0.8, 0.08, 0.08, 0.04]))]
    return connector(family, gender, size)


def drawn_library(chance: np.random.Generator) -> dict[str, Accessory]:
    kinds = ["adapter", "adapter", "hose", "strainer", "flushing sleeve", "injector nozzle"]
    library = {}
    for number in range(int(chance.integers(5, 12))):
        kind = kinds[int(chance.integers(0, len(kinds)))]
        far = None if kind == "injector nozzle" else drawn_end(chance)
        if kind == "flushing sleeve":  # a sleeve always states what it grips
            far = connector("abc"[int(chance.integers(0, 3))], "female", "5.2 ± 0.3 mm")
        library[f"{kind} {number}"] = link(kind, drawn_end(chance), far, rank=int(chance.integers(0, 3)))
    return library


def legal(department: Department, start: Connector, what: Lumen, names: tuple[str, ...]) -> bool:
    """Say from the rules, one after the other, whether a string of links is a legal chain."""
    links = [department.accessories[name] for name in names]
    end = start
    for position, one in enumerate(links):
        assert isinstance(one, ChainLink)
        if end.mates_with(one.near) is not Answer.YES:
            return False
        if isinstance(one, FlushingSleeve | InjectorNozzle) and position < len(links) - 1:
            return False
        if not isinstance(one, InjectorNozzle):
            end = one.grips if isinstance(one, FlushingSleeve) else one.far
    if what.strainer_upstream and not any(isinstance(one, Strainer) for one in links):
        return False
    last = links[-1] if links else None
    if what.fed_by is FedBy.INJECTOR_NOZZLE:
        return isinstance(last, InjectorNozzle) and 0.006 <= 0.7 * 0.010
    if isinstance(last, InjectorNozzle) or what.inlet is None or end.mates_with(what.inlet) is not Answer.YES:
        return False
    return not isinstance(last, FlushingSleeve) or (what.grip_m is not None and what.grip_m >= 0.010)


@pytest.mark.parametrize("start", range(0, 300, 100))
def test_exactly_the_legal_chains_are_found_in_small_libraries(start: int) -> None:
    found_some = 0
    for seed in range(start, start + 100):
        chance = np.random.default_rng(seed)
        department = with_accessories(drawn_library(chance))
        over = chance.random() < 0.2  # an injector nozzle stands in an open end
        inlet = drawn_end(chance) if chance.random() < 0.9 and not over else None
        what = lumen(
            fed_by="injector nozzle" if over else "connection",
            inlet=inlet,
            strainer_upstream=bool(chance.random() < 0.2),
            **({"grip": "15 mm"} if chance.random() < 0.8 else {}),
        )
        port = drawn_end(chance)
        names = list(department.accessories)
        every = [links for count in range(LONGEST + 1) for links in product(names, repeat=count)]
        # Without the limit on adapters: it is tried on its own.
        free = department.model_copy(update={"limits": unlimited(department)})
        expected = {links for links in every if legal(free, port, what, links)}
        chains = find_chains(free, port, what)
        assert {chain.links for chain in chains} == expected, seed
        assert chains == sorted(chains, key=lambda chain: (chain.cost, chain.links))
        found_some += bool(expected)
        if not expected:
            assert len(missing_link(free, [port], what)) > 10
    assert found_some > 8


def unlimited(department: Department) -> object:
    load = department.limits.load.model_copy(update={"longest_chain": None})
    return department.limits.model_copy(update={"load": load})


def test_the_sites_limit_counts_adapters_only() -> None:
    turns = link("adapter", connector("a", "female"), connector("a", "male"))
    strainer = link("strainer", connector("a", "female"), connector("a", "male"))
    department = with_accessories({"turns": turns, "strainer": strainer})
    limit = department.limits.load.longest_chain
    assert limit is not None
    one = limit.__class__(1.0, "1", "invented")
    load = department.limits.load.model_copy(update={"longest_chain": one})
    department = department.model_copy(update={"limits": department.limits.model_copy(update={"load": load})})
    chains = find_chains(department, connector("a", "male"), lumen(inlet=connector("a", "female")))
    assert max(chain.links.count("turns") for chain in chains) == 1
    assert any(chain.links.count("strainer") == 2 for chain in chains)


def test_a_low_rank_beats_a_short_chain() -> None:
    sleeve = link("adapter", connector("b", "female"), connector("c", "male"), rank=2)
    near = link("adapter", connector("b", "female"), connector("a", "male"))
    far = link("adapter", connector("a", "female"), connector("c", "male"))
    department = with_accessories({"disliked": sleeve, "near": near, "far": far})
    chains = find_chains(department, connector("b", "male"), lumen(inlet=connector("c", "female")))
    assert [chain.links for chain in chains] == [("near", "far"), ("disliked",)]


def test_a_chain_that_takes_more_for_no_less_is_of_no_use() -> None:
    few, more, other = Chain(1, ("a",)), Chain(2, ("b", "a")), Chain(3, ("c",))
    twice = Chain(5, ("c", "c"))
    assert useful_chains([twice, other, more, few]) == [few, other]


def test_a_chain_begins_at_the_hose_where_the_port_has_one() -> None:
    ports = SMALL.carriers["Wren"].ports
    assert start_of(ports["H1"]).family == "luer"
    assert start_of(ports["T1"]).family == "taper"


def test_a_sleeve_must_not_cover_side_holes_nor_need_more_tube_than_there_is() -> None:
    sleeve = link("flushing sleeve", connector("a", "female"), connector("b", "female", "5 mm"))
    assert isinstance(sleeve, FlushingSleeve)
    holes = [{"count": 2, "diameter": "1 mm", "from_inlet": "9 mm"}]
    assert sleeve_fit(sleeve, lumen(grip="15 mm")).answer is Answer.YES
    assert sleeve_fit(sleeve, lumen(grip="9 mm")).answer is Answer.NO
    assert sleeve_fit(sleeve, lumen()).answer is Answer.UNKNOWN
    covered = sleeve_fit(sleeve, lumen(grip="15 mm", side_holes=holes))
    assert (covered.answer, covered.why) == (Answer.NO, "it would cover the side holes at 9 mm")
    unsaid = sleeve_fit(sleeve, lumen(grip="15 mm", side_holes=None))
    assert (unsaid.answer, unsaid.why[:28]) == (Answer.UNKNOWN, "whether there are side holes")


def test_a_nozzle_stands_as_deep_as_its_side_holes_and_the_site_ask() -> None:
    nozzle = link(
        "injector nozzle",
        connector("a", "female"),
        side_holes=[{"count": 2, "diameter": "1 mm", "from_inlet": "30 mm"}],
    )
    assert isinstance(nozzle, InjectorNozzle)
    limits = SMALL.limits.load
    fit = nozzle_fit(nozzle, lumen(), limits)
    assert fit.depth_m == pytest.approx((0.050, 0.080))  # 80 mm less 30 mm to the holes; at most the nozzle itself
    short = lumen(segments=[{"shape": "bore", "bore": "10 mm", "length": "40 mm"}])
    assert nozzle_fit(nozzle, short, limits).answer is Answer.NO
    waist = [
        {"shape": "bore", "bore": "10 mm", "length": "60 mm"},
        {"shape": "bore", "bore": "8 mm", "length": "60 mm"},
    ]
    assert nozzle_fit(nozzle, lumen(segments=waist), limits).depth_m == pytest.approx((0.050, 0.060))
    unsaid = nozzle_fit(nozzle.model_copy(update={"side_holes": None}), lumen(), limits)
    assert (unsaid.answer, unsaid.why) == (Answer.UNKNOWN, "whether the nozzle has side holes is not stated")


@pytest.mark.parametrize(("bore", "answer"), [("8.6 mm", Answer.YES), ("8.5 mm", Answer.NO), ("6 mm", Answer.NO)])
def test_a_nozzle_leaves_the_sites_share_of_the_bore_free(bore: str, answer: Answer) -> None:
    """6 mm are 70 % of 8.57 mm."""
    nozzle = link("injector nozzle", connector("a", "female"))
    assert isinstance(nozzle, InjectorNozzle)
    what = lumen(segments=[{"shape": "bore", "bore": bore, "length": "100 mm"}])
    assert nozzle_fit(nozzle, what, SMALL.limits.load).answer is answer


def test_no_nozzle_stands_in_an_annulus_nor_where_the_site_states_no_share() -> None:
    nozzle = link("injector nozzle", connector("a", "female"))
    assert isinstance(nozzle, InjectorNozzle)
    ring = lumen(segments=[{"shape": "annulus", "outer": "12 mm", "inner": "3 mm", "length": "100 mm"}])
    assert "annulus" in nozzle_fit(nozzle, ring, SMALL.limits.load).why
    silent = SMALL.limits.load.model_copy(update={"nozzle_share_of_bore": None})
    assert nozzle_fit(nozzle, lumen(), silent).answer is Answer.UNKNOWN


def test_a_nozzle_and_a_connection_do_not_stand_in_for_each_other() -> None:
    nozzle = link("injector nozzle", connector("a", "female"))
    adapter = link("adapter", connector("a", "female"), connector("b", "male"))
    assert isinstance(nozzle, InjectorNozzle)
    assert isinstance(adapter, Adapter)
    over = lumen(fed_by="injector nozzle")
    assert end_fit(nozzle, lumen(), SMALL.limits.load).answer is Answer.NO
    assert end_fit(adapter, over, SMALL.limits.load).answer is Answer.NO
    assert end_fit(adapter, lumen(), SMALL.limits.load).answer is Answer.UNKNOWN  # its inlet is not stated


def test_the_missing_link_is_named_for_each_way_to_fail() -> None:
    a, far = connector("a", "male"), connector("b", "female")
    nothing = with_accessories({})
    assert missing_link(nothing, [], lumen()) == "no carrier has a port for it"
    assert missing_link(nothing, [a], lumen(fed_by="injector nozzle")) == "the department has no injector nozzle"
    assert "joins a, male to b, female" in missing_link(nothing, [a, a], lumen(inlet=far))
    assert "has none" in missing_link(nothing, [a], lumen(inlet=connector("a", "female"), strainer_upstream=True))
    stray = with_accessories({"sieve": link("strainer", connector("b", "female"), connector("b", "male"))})
    told = missing_link(stray, [a], lumen(inlet=connector("a", "female"), strainer_upstream=True))
    assert "none joins in the chain (sieve)" in told


def test_a_nozzle_out_of_reach_says_what_joins_no_port() -> None:
    nozzle = link("injector nozzle", connector("x", "female"))
    told = missing_link(with_accessories({"n": nozzle}), [connector("a", "male")], lumen(fed_by="injector nozzle"))
    assert told == "no injector nozzle does it (n: no adapter joins a port to x, female)"


def test_a_chain_longer_than_the_search_goes_is_told_as_such() -> None:
    steps = {
        name: link("adapter", connector(near, "female"), connector(far, "male"))
        for name, near, far in (("one", "a", "b"), ("two", "b", "c"))
    }
    nozzle = {"n": link("injector nozzle", connector("x", "female"))}
    last = {"three": link("adapter", connector("c", "female"), connector("x", "male"))}
    department = with_accessories({**steps, **last, **nozzle})
    what = lumen(fed_by="injector nozzle")
    assert find_chains(department, connector("a", "male"), what) == []
    assert "n: no adapter joins a port to" in missing_link(department, [connector("a", "male")], what)


def test_a_connector_is_named_with_family_size_and_gender() -> None:
    department = with_accessories({})
    assert connector_words(department, connector("a", "male", "5 ± 0.1 mm")) == "a 5 mm, male"
    unnamed = Connector(family="z", gender=Gender.FEMALE, size_m=Toleranced(0.004))
    assert connector_words(department, unnamed) == "z 4 mm, female"
