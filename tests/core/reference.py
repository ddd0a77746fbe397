"""Slow, plain models, written apart from the library, that the tests compare it with."""

from fractions import Fraction

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, TwoZone


def steepest(curve):
    """Bound of the slope of a stage or shape over -1..1, from the formulas in the design."""
    if isinstance(curve, Shape):
        bound = 1.0
        for stage in curve.stages:
            bound *= steepest(stage)
        return bound
    return _STEEPEST[type(curve)](curve)


def _steepest_expo(stage):
    from mpmath import mp

    with mp.workdps(30):
        gain = mp.mpf(stage.gain)
        return 1.0 if gain == 0 else float(gain * mp.exp(gain) / mp.expm1(gain))


def _steepest_two_zone(stage):
    slow = stage.knee_y / stage.knee_x
    return max(slow, slow + 2.0 * (1.0 - slow) / (1.0 - stage.knee_x))


def _steepest_points(stage):
    # A monotone cubic piece between slopes of at most three secants stays below that.
    xs, ys = (0.0, *stage.x, 1.0), (0.0, *stage.y, 1.0)
    return 3.0 * max((ys[k + 1] - ys[k]) / (xs[k + 1] - xs[k]) for k in range(len(xs) - 1))


_STEEPEST = {
    Linear: lambda stage: 1.0,
    CubicBlend: lambda stage: 1.0 + 2.0 * stage.blend,
    Expo: _steepest_expo,
    Deadband: lambda stage: 1.0 / (1.0 - stage.width),
    Limit: lambda stage: stage.top,
    TwoZone: _steepest_two_zone,
    Points: _steepest_points,
}


# What remains of a command within this is nothing, so that rounding decides no jump.
GRAIN = Fraction(1e-8)


def slewed(command, target, dt, to_full, to_stop):
    """Where one sample takes a command, in exact fractions, rule by rule of the design."""
    c, t, left, full, stop = map(Fraction, (command, target, dt, to_full, to_stop))
    t = min(max(t, Fraction(-1)), Fraction(1))
    if c != 0 and (t == 0 or (t > 0) != (c > 0) or abs(t) < abs(c)):
        # It shrinks, at most to 0 or to a target on the same side.
        goal = t if (t > 0) == (c > 0) and t != 0 else Fraction(0)
        needed = (abs(c) - abs(goal)) * stop
        if needed > left and abs(c) * stop > left + GRAIN * stop:
            return c + (left / stop if c < 0 else -left / stop)
        c, left = goal, max(left - needed, Fraction(0))
    if c == t:
        return c
    # It grows, from 0 or on its own side.
    room = abs(t) - abs(c)
    grown = room if full == 0 else min(room, left / full)
    return c + grown if t > 0 else c - grown


def farthest_commands(chain):
    """Largest |left| and |right| that held sticks can lead to."""
    first, second = (float(shape(1.0)) for shape in chain.shapes)
    if chain.mix.kind == "independent":
        return first, second
    most = min(1.0, first + chain.mix.steer_share * second)
    return most, most


def obeyed(chain, trace):
    """Say, sample by sample, whether the sticks may be obeyed: the three rules, told anew.

    Times are whole microseconds, so nothing is lost by adding them up.  Also
    returned: the stick positions that count at each sample.
    """
    timeout, rest_needed = round(chain.timeout_s * 1e6), round(chain.centred_first_s * 1e6)
    zones = [shape.starts_at if shape.starts_at > 0.0 else 0.03 for shape in chain.shapes]
    sticks, heard = list(chain.sticks), [None, None]
    age, rested_since, now, drives = None, None, 0, False
    allowed, counted = [], []
    for first, second, dt, told in zip(
        trace.first, trace.second, trace.dt_us, trace.age_us, strict=True
    ):
        now += dt
        good = [
            _possible(stick, pulse) for stick, pulse in zip(sticks, (first, second), strict=True)
        ]
        for k, pulse in enumerate((first, second)):
            if good[k]:
                if heard[k] is None and chain.learned_centre:
                    sticks[k] = sticks[k].relearned(pulse)
                heard[k] = pulse
        place = [0.0 if p is None else s.position(p) for s, p in zip(sticks, heard, strict=True)]
        place = [-p if turned else p for p, turned in zip(place, chain.reversed, strict=True)]
        at_rest = all(abs(p) <= zone for p, zone in zip(place, zones, strict=True))
        if all(good):
            age = told
        elif age is not None and age >= 0:
            age = told if told < 0 else max(age + dt, told)
        if age is None or age < 0 or age > timeout:
            drives, rested_since = False, None
        elif not drives:
            if not (all(good) and at_rest):
                rested_since = None
            else:
                # A pulse tells of the moment it was sent, not of now.
                sent = now - told
                rested_since = sent if rested_since is None else min(rested_since, sent)
                drives = sent - rested_since >= rest_needed
        allowed.append(drives)
        counted.append(place)
    return allowed, counted


def _possible(stick, pulse):
    """Within low..high as first set, widened by the margin."""
    low = stick.low if stick.judged_low is None else stick.judged_low
    high = stick.high if stick.judged_high is None else stick.judged_high
    room = stick.margin * (high - low)
    return low - room <= pulse <= high + room


def driven(chain, trace):
    """Left and right command after each sample, from the rules of the design in plain Python."""
    allowed, counted = obeyed(chain, trace)
    on_sticks = chain.acts_on == "sticks"
    state, commands = (0.0, 0.0), []
    for may, place, dt in zip(allowed, counted, trace.dt_us, strict=True):
        goal = tuple(may * shape(p) for shape, p in zip(chain.shapes, place, strict=True))
        goal = goal if on_sticks else chain.mix(*goal)
        state = _moved(chain, state, goal, dt)
        commands.append(chain.mix(*state) if on_sticks else state)
    return commands


def _moved(chain, state, goal, dt_us):
    """Both sides after one sample, each alone or by one common share."""
    dt = Fraction(dt_us, 10**6)
    ramps = [0.0 if s <= 1e-9 else s for s in (chain.slew.to_full, chain.slew.to_stop)]
    alone = [slewed(c, t, dt, *ramps) for c, t in zip(state, goal, strict=True)]
    if chain.acts_on != "together":
        return tuple(map(float, alone))
    here, there = map(Fraction, state), map(Fraction, goal)
    ways = [(c, t - c) for c, t in zip(here, there, strict=True)]
    moving = [(a - c) / r for a, (c, r) in zip(alone, ways, strict=True) if abs(r) > GRAIN]
    share = min(moving, default=1)
    return tuple(float(c + share * r) for c, r in ways)


def sent(chain, side, command):
    """Output units of one motor, and whether the command is too near half a step to be sure."""
    low, high = chain.output.spans
    flow = -1 if side.reversed else 1
    steps = abs(command) * (low if command * flow < 0 else high)
    if abs(steps - 0.5) < 1e-5:
        return chain.output.zero, False
    needed = flow * abs(side.command(command)) if steps > 0.5 else 0.0
    needed = needed if command >= 0 else -needed
    scaled = abs(needed) * (low if needed < 0 else high)
    whole = int(scaled + 0.5)
    sure = abs(scaled - whole) < 0.5 - 1e-9
    return chain.output.zero + (whole if needed >= 0 else -whole), sure
