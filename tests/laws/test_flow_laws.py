"""What must hold for any network of water paths, on invented ones."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patency.errors import InputError, PatencyError
from patency.flow import Network, PumpPoints, parse_network, solve, write_network
from patency.flow.machine_code import Kernel
from tests.flow.random_networks import random_network

if TYPE_CHECKING:
    from collections.abc import Iterator
    from random import Random

FEW = settings(max_examples=40)
PLAIN = Kernel.INTERPRETED


@st.composite
def networks(draw: st.DrawFn) -> Network:
    """A small network of any kind."""
    return random_network(
        np.random.default_rng(draw(st.integers(0, 2**32))),
        nodes=draw(st.integers(1, 7)),
        outlets=draw(st.integers(1, 9)),
        loops=draw(st.integers(0, 3)),
        dry_share=draw(st.sampled_from([0.0, 0.1, 0.5])),
    )


@FEW
@given(networks())
def test_what_goes_in_comes_out_and_heads_account_for_every_loss(network: Network) -> None:
    result = solve(network, PLAIN)
    assert result.mass_balance_error_m3_s < 1e-12
    assert result.energy_error_m < 1e-9
    assert result.flows_m3_s["L0"] == pytest.approx(sum(result.flows_m3_s[o.id] for o in network.outlets), abs=1e-14)


@FEW
@given(networks(), st.floats(1.01, 1.5))
def test_a_faster_pump_never_gives_an_outlet_less(network: Network, faster: float) -> None:
    slow = solve(network, PLAIN)
    quick = solve(
        replace(network, pump=replace(network.pump, relative_speed=network.pump.relative_speed * faster)), PLAIN
    )
    for outlet in network.outlets:
        assert quick.flows_m3_s[outlet.id] >= slow.flows_m3_s[outlet.id] * (1 - 1e-9)
    for node, head in slow.heads_m.items():
        assert quick.heads_m[node] > head


@FEW
@given(networks(), st.data())
def test_a_cap_gives_zero_and_no_other_outlet_less(network: Network, data: st.DataObject) -> None:
    capped = data.draw(st.sampled_from(network.outlets))
    rest = tuple(replace(o, state="closed") if o is capped else o for o in network.outlets)
    before, after = solve(network, PLAIN), solve(replace(network, outlets=rest), PLAIN)
    assert after.flows_m3_s[capped.id] == 0.0
    for outlet in network.outlets:
        if outlet is not capped:
            assert after.flows_m3_s[outlet.id] >= before.flows_m3_s[outlet.id] * (1 - 1e-9) - 1e-14


@FEW
@given(networks())
def test_open_outlets_only_give_and_the_dry_ones_stand_above_their_node(network: Network) -> None:
    result = solve(network, PLAIN)
    for outlet in network.outlets:
        flow, above = result.flows_m3_s[outlet.id], result.heads_m[outlet.node] - outlet.elevation_m
        assert flow >= 0.0
        if outlet.state == "open":
            assert (outlet.id in result.dry_outlets) == (flow == 0.0)
            assert above <= 0.0 if flow == 0.0 else above > 0.0


@FEW
@given(networks(), st.randoms(use_true_random=False))
def test_the_order_in_the_file_does_not_matter(network: Network, shuffle: Random) -> None:
    links, outlets = list(network.links), list(network.outlets)
    shuffle.shuffle(links)
    shuffle.shuffle(outlets)
    one, other = solve(network, PLAIN), solve(replace(network, links=tuple(links), outlets=tuple(outlets)), PLAIN)
    assert list(other.flows_m3_s) == [*(link.id for link in links), *(outlet.id for outlet in outlets)]
    for name, flow in one.flows_m3_s.items():
        assert other.flows_m3_s[name] == pytest.approx(flow, rel=1e-9, abs=1e-13)


@FEW
@given(networks(), st.data())
def test_turning_a_link_round_turns_only_its_sign(network: Network, data: st.DataObject) -> None:
    turned = data.draw(st.sampled_from([link for link in network.links if link.from_node != "SUMP"] or network.links))
    if turned.from_node == "SUMP":
        return
    back = replace(turned, from_node=turned.to_node, to_node=turned.from_node, segments=turned.segments[::-1])
    one = solve(network, PLAIN)
    other = solve(replace(network, links=tuple(back if link is turned else link for link in network.links)), PLAIN)
    for name, flow in one.flows_m3_s.items():
        sign = -1 if name == turned.id else 1
        assert other.flows_m3_s[name] * sign == pytest.approx(flow, rel=1e-9, abs=1e-13)


@FEW
@given(networks())
def test_written_and_read_again_it_is_the_same_network(network: Network) -> None:
    assert parse_network(write_network(network)) == network


def places(tree: dict[str, Any] | list[Any]) -> Iterator[tuple[Any, Any]]:
    """Every place in a tree of mappings and lists, as a container and its key."""
    for key, value in tree.items() if isinstance(tree, dict) else enumerate(tree):
        yield tree, key
        if isinstance(value, dict | list):
            yield from places(value)


WRONG = st.one_of(
    st.none(), st.booleans(), st.floats(), st.integers(), st.text(max_size=3), st.just([]), st.builds(dict)
)


@settings(max_examples=300)
@given(networks(), st.data())
def test_a_value_put_wrong_anywhere_is_read_or_refused_in_one_line(network: Network, data: st.DataObject) -> None:
    tree = json.loads(write_network(network))
    container, key = data.draw(st.sampled_from(list(places(tree))))
    container[key] = data.draw(WRONG)
    try:
        solve(parse_network(json.dumps(tree)), PLAIN)
    except PatencyError as error:
        line = error.line
    else:
        line = "read"
    assert line
    assert "\n" not in line


@FEW
@given(st.text(max_size=200))
def test_any_text_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse_network(text, "t")
    assert refusal.value.line.startswith("t")


def test_the_networks_meant_here_hold_both_kinds_of_pump() -> None:
    some = [random_network(np.random.default_rng(seed), nodes=3, outlets=3) for seed in range(30)]
    assert {isinstance(network.pump, PumpPoints) for network in some} == {True, False}
