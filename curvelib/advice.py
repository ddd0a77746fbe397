"""What a machine file leaves open or sets in an unusual way, said in words."""

from __future__ import annotations

from curvelib.tune import CHANNELS, Tune


def remarks(tune: Tune) -> list[str]:
    """List what the owner of a machine file should know before wheels turn."""
    return [*_safety(tune), *_shapes(tune), *_unknown(tune)]


def _safety(tune: Tune) -> list[str]:
    found = []
    if tune.stick.centre == "learned":
        found.append(
            "The centre is learned at power-up: after a restart with a stick held forward, "
            "letting go means reverse. A fixed centre is the usual advice."
        )
    if tune.signal_loss.timeout_s == 0.0:
        found.append(
            "The signal timeout is 0 s: any pulse that is not brand new stops the machine."
        )
    if tune.signal_loss.centred_first_s == 0.0:
        found.append(
            "The sticks need not rest before driving: one sample at centre is enough to start."
        )
    if tune.slew.to_full_s == 0.0 or tune.slew.to_stop_s == 0.0:
        found.append("A ramp of 0 s is no ramp: the command jumps.")
    return found


def _shapes(tune: Tune) -> list[str]:
    return [
        f"The {channel} shape never moves: its dead zone swallows the whole stick."
        for channel in CHANNELS
        if tune.shape(channel).starts_at >= 1.0
    ]


def _unknown(tune: Tune) -> list[str]:
    found = []
    if tune.machine.top_speed_m_s is None:
        found.append(
            "No top speed is given ([machine] top_speed_m_s): no command can be told as a speed."
        )
    if tune.machine.track_m is None:
        found.append("No track is given ([machine] track_m): nothing about turning can be told.")
    return found
