"""Long random traces of what a receiver may hand over, in whole microseconds and milliseconds."""

import numpy as np

# Time steps in ms: one machine's own, stuck clocks, slow loops, and clocks that saturate.
STEPS = (
    lambda draw, n: np.full(n, 20),
    lambda draw, n: np.full(n, draw.choice([1, 5, 10, 50, 100])),
    lambda draw, n: draw.integers(0, 3, n),
    lambda draw, n: draw.integers(1, 50, n),
    lambda draw, n: draw.integers(1, 1001, n),
    lambda draw, n: np.where(draw.random(n) < 0.1, 65535, draw.integers(0, 30, n)),
)


def _at_rest(draw, stick, n):
    return np.full(n, round(stick.centre)) + draw.integers(-1, 2, n) * (draw.random() < 0.3)


def _held(draw, stick, n):
    return np.full(n, draw.integers(int(stick.low) - 20, int(stick.high) + 21))


def _moved(draw, stick, n):
    return draw.integers(int(stick.low) - 50, int(stick.high) + 51, n)


def _thrown(draw, stick, n):
    ends = [int(stick.low), round(stick.centre), int(stick.high)]
    return draw.choice(ends, n)


def _drawn(draw, stick, n):
    """A slow stroke from end to end."""
    return np.linspace(stick.low, stick.high, n).round()[:: draw.choice([-1, 1])]


def _wild(draw, stick, n):
    return draw.integers(0, 65536, n)


_WAYS = (_at_rest, _held, _moved, _thrown, _drawn, _wild)
_OFTEN = (0.3, 0.25, 0.15, 0.15, 0.1, 0.05)


def _impossible(draw, stick, n):
    low, high = stick.possible_range
    return draw.choice([0, 1, 65535, max(int(low) - 1, 0), int(high) + 1], n)


def _stretch(draw, chain, n):
    """A stretch in which both sticks are used one way, now and then disturbed."""
    dt = STEPS[draw.integers(len(STEPS))](draw, n)
    pulses = []
    for stick in chain.sticks:
        way = _WAYS[draw.choice(len(_WAYS), p=_OFTEN)]
        bad = draw.random(n) < draw.choice([0.0, 0.02, 0.6], p=[0.6, 0.3, 0.1])
        pulses.append(np.where(bad, _impossible(draw, stick, n), way(draw, stick, n)))
    timeout = round(1000 * chain.timeout_s)
    odd_ages = [0, timeout, timeout + 1, 10000, 65535]
    stale = draw.random(n) < draw.choice([0.0, 0.03, 0.5], p=[0.7, 0.2, 0.1])
    fresh = draw.integers(0, min(20, timeout) + 1, n)
    return np.stack([*pulses, np.where(stale, draw.choice(odd_ages, n), fresh), dt], axis=1)


def _rest(chain):
    """Both sticks at rest just long enough."""
    step = 20
    n = int(1000 * chain.centred_first_s) // step + 2
    centres = [round(stick.centre) for stick in chain.sticks]
    return np.tile([*centres, 0, step], (n, 1))


def random_trace(chain, samples, seed):
    """Samples of (first us, second us, age ms, dt ms), beginning with sticks held.

    Returns
    -------
    ndarray of uint16, shape (samples, 4)
    """
    draw = np.random.default_rng(seed)
    parts = [np.tile([int(chain.sticks[0].high), int(chain.sticks[1].low), 0, 20], (60, 1))]
    while sum(map(len, parts)) < samples:
        if draw.random() < 0.35:
            parts.append(_rest(chain))
        parts.append(_stretch(draw, chain, int(draw.integers(5, 80))))
    whole = np.concatenate(parts)[:samples]
    return np.clip(whole, 0, 65535).astype(np.uint16)
