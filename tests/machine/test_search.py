"""The changes of the sticks that a search looks at, and what it calls them."""

import numpy as np
import pytest

from curvelib import Independent, TankMix
from curvelib.machine.ramping import RampPath
from curvelib.machine.search import Search, _half_of_all_changes
from curvelib.machine.verdict import CaseLimit

LIMIT = CaseLimit("stopping forward", "on the level", "slide", 2.0)


def test_the_changes_and_their_mirror_images_are_all_there_are():
    """Nine places of two sticks give 72 changes: 36 and their opposites, straight ones first."""
    before, after = _half_of_all_changes()
    half = {(*a, *b) for a, b in zip(before.T, after.T, strict=True)}
    mirrored = {tuple(-x for x in change) for change in half}
    assert len(half) == 36
    assert not half & mirrored
    assert all(change[:2] != change[2:] for change in half)
    assert not before[1, :3].any()
    assert not after[1, :3].any()


@pytest.mark.parametrize(
    ("mix", "acts_on", "stop", "full"),
    [
        (TankMix(), "motors", "from full forward to rest", "from full forward to full reverse"),
        (
            Independent(),
            "sticks",
            "from left full forward and right full forward to rest",
            "from rest to left full reverse and right full reverse",
        ),
    ],
)
def test_changes_are_named_by_what_the_hands_do(mix, acts_on, stop, full):
    """Throttle and steer in tank mixing, left and right in independent mixing."""
    search = Search(RampPath(mix, acts_on), 1.0, 0.0, LIMIT, 10.0)
    least, binds = search.least_to_stop()
    assert least == pytest.approx(0.5, abs=2e-4)
    assert binds.change == stop
    _, binds = search.least_to_full(0.5)
    assert binds.change == full


def test_a_limit_of_nothing_is_never_kept():
    """At 0 or below no ramp will do."""
    search = Search(RampPath(), 1.0, 0.0, CaseLimit("stopping forward", "x", "slide", -0.1), 10.0)
    assert search.least_to_stop() == (None, None)


def test_the_roll_counts_what_lies_under_the_ramp():
    """Straight ahead half of top speed times ramp, delay and lag at full speed before."""
    search = Search(RampPath(TankMix(0.0)), 2.0, 0.3, LIMIT, 10.0)
    ramp, rolls = search.longest_to_stop(3.0, 0.2)
    assert rolls == pytest.approx(2.0 * 0.5)
    assert ramp == pytest.approx((3.0 - 1.0) / (2.0 / 2.0))


def test_a_machine_that_only_spins_needs_no_room():
    """Without throttle the middle does not move, and any ramp stops in any room."""
    search = Search(RampPath(reach=(0.0, 1.0)), 2.0, 0.3, LIMIT, 10.0)
    assert search.longest_to_stop(0.0, 0.2) == (np.inf, 0.0)
    assert search.straight_share() == 0.0
