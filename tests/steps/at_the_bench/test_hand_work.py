"""Work by hand before the wash: times, volumes, brushes, what is forbidden; taking apart; pods bound to their set."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from patency.ledger import SetState
from patency.steps import (
    SetTreatment,
    Treatment,
    Workplace,
    all_seen,
    bind_pod,
    dismantle_set,
    end_bath,
    note_by_hand,
    pods_of_set,
    receive_set,
    show_dismantling,
    show_treatment,
    start_bath,
)
from tests.steps.at_the_bench.bench import Hands, done, refusal


def of(shown: SetTreatment, instrument: str) -> Treatment:
    return next(one for one in shown.treatments if one.instrument == instrument)


def test_the_volume_of_a_flush_is_that_of_the_lumen_times_what_is_asked_for(hands: Hands) -> None:
    shown = done(show_treatment(hands.work, "Gallbladder One", hands.at))
    (shaft,) = of(shown, "clip10").flushes
    # By hand: the annulus 8.0/6.0 mm, 330 mm long, holds pi/4 * (8² - 6²) * 330 mm³ = 7.26 mL; three times that.
    assert shaft.volume_m3 == pytest.approx(3 * math.pi / 4 * (8.0**2 - 6.0**2) * 330e-9, rel=0.06)
    assert shaft.volume_m3 is not None
    assert shaft.volume_m3 > 3 * math.pi / 4 * (8.0**2 - 6.0**2) * 330e-9
    assert shaft.source == "its instructions"
    (tube,) = of(shown, "mod5").flushes
    assert tube.source.startswith("common practice")
    assert tube.volume_m3 == pytest.approx(3 * math.pi / 4 * 4.25**2 * 330e-9, rel=1e-9)


def test_a_brush_is_as_wide_as_the_bore_and_at_most_a_tenth_wider_and_none_goes_past_a_rod(hands: Hands) -> None:
    shown = done(show_treatment(hands.work, "Gallbladder One", hands.at))
    (brush,) = of(shown, "mod5").brushes
    assert brush.narrowest_m == pytest.approx(4.2e-3)
    assert brush.widest_m == pytest.approx(4.62e-3)
    assert brush.length_m == pytest.approx(0.33)
    assert of(shown, "clip10").brushes == ()


def test_nothing_stated_means_nothing_invented(hands: Hands) -> None:
    limits = hands.work.department.limits
    bare = limits.model_copy(update={"work": type(limits.work)()})
    work = Workplace(hands.ledger, hands.work.department.model_copy(update={"limits": bare}), hands.work.plan)
    tube = of(done(show_treatment(work, "Gallbladder One", hands.at)), "mod5")
    assert [(flush.volume_m3, flush.source) for flush in tube.flushes] == [(None, "not stated: ask")]
    assert [brush.widest_m for brush in tube.brushes] == [None]


def test_ultrasound_is_forbidden_where_it_is_forbidden_or_not_mentioned(hands: Hands) -> None:
    shown = done(show_treatment(hands.work, "Gallbladder One", hands.at))
    assert of(shown, "optic").not_allowed == ("no ultrasound: its instructions forbid it",)
    assert of(shown, "sleeve11").not_allowed == ("no ultrasound: its instructions do not mention it",)
    assert of(shown, "mod5").not_allowed == ()
    wrist = done(show_treatment(hands.work, "Visiting Wrist", hands.at))
    assert wrist.treatments[0].baths == ()
    assert "no instructions in force" in wrist.treatments[0].not_allowed[0]


def test_a_bath_ends_when_its_time_is_over_and_not_before(hands: Hands) -> None:
    done(receive_set(hands.work, "Gallbladder One", hands.around()))
    bath = ("Gallbladder One", "mod5", "soak")
    assert "was not started" in refusal(end_bath(hands.work, *bath, hands.around()))
    (soak, _) = of(done(start_bath(hands.work, *bath, hands.around())), "mod5").baths
    assert soak.left(hands.at) == timedelta(minutes=5)
    hands.at += timedelta(minutes=3)
    assert "left" in refusal(end_bath(hands.work, *bath, hands.around()))
    hands.at += timedelta(minutes=2)
    (soak, ultrasound) = of(done(end_bath(hands.work, *bath, hands.around())), "mod5").baths
    assert soak.ended is not None
    assert soak.left(hands.at) == timedelta()
    assert ultrasound.started is None
    assert "is not in its instructions" in refusal(
        start_bath(hands.work, "Gallbladder One", "optic", "ultrasound", hands.around())
    )
    again = of(done(start_bath(hands.work, *bath, hands.around())), "mod5").baths[0]
    assert again.ended is None


def test_what_was_done_by_hand_is_written_down_once(hands: Hands) -> None:
    done(receive_set(hands.work, "Gallbladder One", hands.around()))
    around = hands.around()
    done(note_by_hand(hands.work, "Gallbladder One", "clip10", "flushed", around))
    head = hands.ledger.head()
    done(note_by_hand(hands.work, "Gallbladder One", "clip10", "flushed", around))
    assert hands.ledger.head() == head
    assert "is not known" in refusal(note_by_hand(hands.work, "Gallbladder One", "x", "flushed", hands.around()))


def test_a_beginner_works_only_beside_somebody_able(hands: Hands) -> None:
    done(receive_set(hands.work, "Little Otter", hands.around()))
    bath = ("Little Otter", "fix3", "soak")
    told = refusal(start_bath(hands.work, *bath, hands.around("loader-2")))
    assert "loader-2: has not shown to be able to work with paediatric instrument" in told
    done(start_bath(hands.work, *bath, hands.around("loader-2", second="loader-1")))


def test_a_set_is_taken_apart_when_its_small_parts_have_a_pod(hands: Hands) -> None:
    done(receive_set(hands.work, "Appendix", hands.around()))
    seen = all_seen(hands.set_now("Appendix"))
    assert "has small parts and no pod" in refusal(dismantle_set(hands.work, "Appendix", seen, hands.around()))
    shown = done(bind_pod(hands.work, "Appendix", "pod 4", hands.around()))
    assert shown.pods == ("pod 4",)
    spring = next(part for one in shown.instruments for part in one.parts if part.name == "valve spring")
    assert spring.in_pod
    assert done(dismantle_set(hands.work, "Appendix", seen, hands.around())).state is SetState.DISMANTLED


def test_a_pod_holds_the_parts_of_one_set(hands: Hands) -> None:
    for name in ("Appendix", "Groin Repair"):
        done(receive_set(hands.work, name, hands.around()))
    done(bind_pod(hands.work, "Appendix", "pod 4", hands.around()))
    assert "holds small parts of Appendix" in refusal(bind_pod(hands.work, "Groin Repair", "pod 4", hands.around()))
    assert pods_of_set(hands.work, "Groin Repair") == ()
    assert done(show_dismantling(hands.work, "Groin Repair")).needs_pod
