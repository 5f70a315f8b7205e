"""What the site says where nothing is stated, and that it is remembered what it was asked."""

from __future__ import annotations

import pytest

from patency.catalogue import FlowLimits
from patency.flow.site_defaults import SiteDefaults
from patency.quantities import Limit, Toleranced

LIMITS = FlowLimits(
    bore_tolerance=Limit(0.02, "1", "no source"),
    rod_tolerance=Limit(0.01, "1", "no source"),
    roughness=Limit(1.5e-6, "m", "no source"),
    roughness_factor=Limit(2.0, "1", "no source"),
    default_loss=Limit(0.8, "1", "no source"),
    loss_tolerance=Limit(0.3, "1", "no source"),
    pump_tolerance=Limit(0.05, "1", "no source"),
)


def test_a_stated_tolerance_needs_no_default() -> None:
    defaults = SiteDefaults(LIMITS)
    assert defaults.bore_doubt_m(Toleranced(4e-3, 5e-5)) == 5e-5
    assert defaults.rod_doubt_m(Toleranced(2e-3, 0.0)) == 0.0
    assert defaults.roughness_m(Toleranced(1e-5)) == 1e-5
    assert defaults.loss(Toleranced(2.0, 0.1)) == (2.0, 0.1)
    assert defaults.asked == {}


def test_a_loss_without_tolerance_takes_the_site_s() -> None:
    defaults = SiteDefaults(LIMITS)
    loss, doubt = defaults.loss(Toleranced(2.0))
    assert (loss, doubt) == pytest.approx((2.0, 0.6))
    assert set(defaults.asked) == {"loss_tolerance"}


def test_a_loss_nobody_states_lies_between_nothing_and_the_site_s_default() -> None:
    defaults = SiteDefaults(LIMITS)
    loss, doubt = defaults.loss(None)
    assert (loss - doubt, loss + doubt) == (0.0, 0.8)
    assert set(defaults.asked) == {"default_loss"}


def test_the_site_s_default_stands_in_and_is_remembered() -> None:
    defaults = SiteDefaults(LIMITS)
    assert defaults.bore_doubt_m(Toleranced(4e-3)) == pytest.approx(8e-5)
    assert defaults.rod_doubt_m(Toleranced(2e-3)) == pytest.approx(2e-5)
    assert defaults.roughness_m(None) == 1.5e-6
    assert defaults.loss_doubt(2.0) == pytest.approx(0.6)
    assert defaults.roughness_factor() == 2.0
    assert defaults.pump_doubt() == 0.05
    assert defaults.asked == {name: getattr(LIMITS, name) for name in defaults.asked}
    assert len(defaults.asked) == 6


def test_what_the_site_does_not_say_counts_as_nothing_and_is_remembered_as_missing() -> None:
    defaults = SiteDefaults(FlowLimits())
    assert defaults.bore_doubt_m(Toleranced(4e-3)) == 0.0
    assert defaults.rod_doubt_m(Toleranced(4e-3)) == 0.0
    assert defaults.roughness_m(None) == 0.0
    assert defaults.loss_doubt(2.0) == 0.0
    assert defaults.loss(None) == (0.0, 0.0)
    assert defaults.roughness_factor() == 1.0
    assert defaults.pump_doubt() == 0.0
    assert set(defaults.asked) == {
        "bore_tolerance",
        "rod_tolerance",
        "roughness",
        "loss_tolerance",
        "default_loss",
        "roughness_factor",
        "pump_tolerance",
    }
    assert set(defaults.asked.values()) == {None}
