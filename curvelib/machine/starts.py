"""Three ways of starting after a restart, two of them unsafe, to be compared.

`Chain` itself never drives before the sticks have rested.  The path without
that rule lives here alone, made of the chain's own parts, so that what it
prevents can be shown; no export and no machine may use it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from curvelib.chain import Chain, Gate, Live
from curvelib.machine.centre import Learned, held_sticks, pulse_at
from curvelib.params import FloatArray

Start = Literal["learned centre", "fixed centre", "fixed centre, no rest first"]
STARTS: tuple[Start, ...] = get_args(Start)

# Samples of the path after the restart, which costs time, and of the speed, which does not.
_STEPPED, _SHOWN = 16, 160
# A sample just before each sudden change, so that nothing seems to begin early.
_JUST_BEFORE = 1e-4


class _RestlessGate(Gate):
    """A gate without the first rule, to show what it prevents.  Nothing may drive with it."""

    def _rest(self, resting: bool, heard: float) -> None:
        self._driving = True


class _RestlessLive(Live):
    """A path that drives as soon as it hears pulses; only for the comparison in this module."""

    def restart(self) -> None:
        super().restart()
        self._gate = _RestlessGate(self._chain.timeout_s, self._chain.centred_first_s)


def path_after(chain: Chain, start: Start) -> Live:
    """Return the path at power-up with one way of starting, whatever the chain itself uses."""
    if start not in STARTS:
        raise ValueError(f"start = {start!r} is not known; give one of {', '.join(STARTS)}.")
    path = replace(chain, learned_centre=start == "learned centre")
    return _RestlessLive(path) if start == "fixed centre, no rest first" else path.live()


@dataclass(frozen=True)
class StickScript:
    """Sticks held from the end of a restart on, then let go, and when to look at them.

    Parameters
    ----------
    time : ndarray, shape (n,)
        s, ascending: a few even samples, and those at which commands turn.
    pulses : (ndarray, ndarray)
        us, shape (n,).
    shown : ndarray, shape (m,)
        s: denser, for the speed; holds `time`.
    """

    time: FloatArray
    pulses: tuple[FloatArray, FloatArray]
    shown: FloatArray

    @classmethod
    def of(
        cls, chain: Chain, *, held: float, back: float, lets_go: float, end: float
    ) -> StickScript:
        """Write the script for sticks held at a share of their travel, straight ahead."""
        places = held_sticks(chain, held)
        held_us, centre_us = (
            [pulse_at(chain.sticks[k], share * places[k], chain.reversed[k]) for k in (0, 1)]
            for share in (1.0, 0.0)
        )
        after = Learned(chain, (held_us[0], held_us[1])).released()
        size = max(abs(place) for place in (*chain.steady(*places), *after))
        time = _grid(chain, back, lets_go, end, size)
        holds = time < lets_go
        first, second = (np.where(holds, held_us[k], centre_us[k]) for k in (0, 1))
        return cls(time, (first, second), np.union1d(time, np.linspace(back, end, _SHOWN)))

    def commanded(self, path: Live) -> FloatArray:
        """Mean command of both sides at `shown`: straight between the corners of its ramps."""
        run = path.feed(*self.pulses, np.diff(self.time, prepend=self.time[0]))
        return np.interp(self.shown, self.time, (run.left + run.right) / 2.0)


def _grid(chain: Chain, back: float, lets_go: float, end: float, size: float) -> FloatArray:
    """Sample times: a few even ones, and those around each moment at which a command turns."""
    rests = [begin + chain.centred_first_s for begin in (back, lets_go)]
    ramps = (0.0, size * chain.slew.to_stop, size * chain.slew.to_full)
    corners = [moment + ramp for moment in (back, lets_go, *rests) for ramp in ramps]
    sudden = [moment - _JUST_BEFORE for moment in (lets_go, *rests)]
    times = np.unique([*np.linspace(back, end, _STEPPED), *corners, *sudden])
    kept: FloatArray = times[(times >= back) & (times <= end)]
    return kept
