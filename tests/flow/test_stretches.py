"""Stretches as the catalogue describes them, and what the steps between them cost and to whom."""

from __future__ import annotations

import math

import pytest

from patency.catalogue import AnnulusSegment, BoreSegment
from patency.flow import Annulus, Bore, Orifice
from patency.flow.joining import entry_loss, join
from patency.flow.site_defaults import SiteDefaults
from patency.flow.stretches import Stretch, area_m2, bore_stretch, described_stretch, orifice_stretch
from patency.quantities import Toleranced
from tests.flow.test_site_defaults import LIMITS

NO_LOSS = Toleranced(0.0)


def defaults() -> SiteDefaults:
    return SiteDefaults(LIMITS)


def passage(diameter_m: float, length_m: float = 0.1, loss: Toleranced = NO_LOSS) -> Stretch:
    return bore_stretch(Toleranced(diameter_m), length_m, defaults(), loss=loss)


def loss_of(stretch: Stretch) -> float:
    assert not isinstance(stretch.segment, Orifice)
    return stretch.segment.minor_loss


def test_a_described_bore_keeps_what_is_stated() -> None:
    described = BoreSegment.model_validate(
        {"shape": "bore", "bore": "4 ± 0.1 mm", "length": "300 mm", "roughness": "5 µm", "loss": "1.5 ± 0.2"}
    )
    stretch = described_stretch(described, defaults())
    assert stretch.segment == Bore(diameter_m=4e-3, length_m=0.3, roughness_m=5e-6, minor_loss=1.5)
    assert (stretch.diameter_doubt_m, stretch.rod_doubt_m) == pytest.approx((1e-4, 0.0))
    assert stretch.loss_doubt == pytest.approx(0.2)


def test_a_described_annulus_has_two_doubtful_diameters() -> None:
    described = AnnulusSegment.model_validate(
        {"shape": "annulus", "outer": "3.6 mm", "inner": "2.6 ± 0.03 mm", "length": "330 mm", "loss": 0.5}
    )
    stretch = described_stretch(described, defaults())
    expected = Annulus(
        outer_diameter_m=3.6e-3, inner_diameter_m=2.6e-3, length_m=0.33, roughness_m=1.5e-6, minor_loss=0.5
    )
    assert stretch.segment == expected
    assert stretch.diameter_doubt_m == pytest.approx(0.02 * 3.6e-3)
    assert stretch.rod_doubt_m == pytest.approx(3e-5)
    assert stretch.loss_doubt == pytest.approx(0.15)
    assert area_m2(stretch.segment) == pytest.approx(math.pi / 4.0 * (3.6e-3**2 - 2.6e-3**2))


def test_holes_side_by_side_are_one_opening_of_their_area() -> None:
    stretch = orifice_stretch([(1, Toleranced(2e-3, 2e-5)), (4, Toleranced(1e-3))], 0.8, defaults())
    assert area_m2(stretch.segment) == pytest.approx(math.pi / 4.0 * (2e-3**2 + 4 * 1e-3**2))
    # All holes err together: d(d²) = 2 d dd, so the doubt of the whole is the sum of n d dd over the whole diameter.
    whole = math.sqrt(2e-3**2 + 4 * 1e-3**2)
    assert stretch.diameter_doubt_m == pytest.approx((2e-3 * 2e-5 + 4 * 1e-3 * 2e-5) / whole)


def test_of_an_opening_only_what_it_loses_beside_the_jet_is_in_doubt() -> None:
    assert orifice_stretch([(1, Toleranced(2e-3))], 0.8, defaults()).loss_doubt == pytest.approx(0.3 * 0.5625)
    assert orifice_stretch([(1, Toleranced(2e-3))], 1.0, defaults()).loss_doubt == 0.0


def test_a_narrowing_is_charged_to_the_narrow_stretch_behind_it() -> None:
    wide, narrow = join([passage(4e-3), passage(2e-3)], 0.0, None, defaults())
    assert loss_of(wide) == 0.0
    assert loss_of(narrow) == pytest.approx(0.5 * (1.0 - 0.25))
    assert narrow.loss_doubt == pytest.approx(0.3 * 0.375)
    assert narrow.starts_flat


def test_a_widening_is_charged_to_the_narrow_stretch_before_it() -> None:
    narrow, wide = join([passage(2e-3), passage(4e-3)], 0.0, None, defaults())
    assert loss_of(narrow) == pytest.approx(0.5625)
    assert loss_of(wide) == 0.0
    assert wide.starts_flat


def test_stretches_of_the_same_width_join_without_loss_and_the_profile_goes_on() -> None:
    first, second = join([passage(3e-3), passage(3e-3)], 0.0, None, defaults())
    assert loss_of(first) == loss_of(second) == 0.0
    assert not first.starts_flat
    assert not second.starts_flat


def test_an_entry_loss_is_added_to_what_is_stated_and_makes_the_flow_start_flat() -> None:
    (only,) = join([passage(3e-3, loss=Toleranced(2.0, 0.1))], 1.0, None, defaults())
    assert loss_of(only) == 3.0
    assert only.loss_doubt == pytest.approx(0.1 + 0.3)
    assert only.starts_flat


def test_the_last_stretch_pays_for_opening_into_a_chamber_and_not_for_a_narrower_one() -> None:
    (wide,) = join([passage(2e-3)], 0.0, math.pi / 4.0 * 4e-3**2, defaults())
    (narrow,) = join([passage(2e-3)], 0.0, math.pi / 4.0 * 1e-3**2, defaults())
    assert loss_of(wide) == pytest.approx(0.5625)
    assert loss_of(narrow) == 0.0


def test_an_opening_brings_its_own_loss_and_takes_none_of_a_step() -> None:
    opening = orifice_stretch([(1, Toleranced(1e-3))], 0.6, defaults())
    tube, hole = join([passage(4e-3), opening], 0.0, None, defaults())
    assert loss_of(tube) == 0.0
    assert hole == opening
    assert entry_loss(1.0, opening) == 0.0


def test_entering_from_a_narrower_passage_costs_nothing_here() -> None:
    assert entry_loss(area_m2(passage(2e-3).segment), passage(4e-3)) == 0.0
    assert entry_loss(area_m2(passage(4e-3).segment), passage(2e-3)) == pytest.approx(0.375)
