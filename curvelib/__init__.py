"""How stick movement becomes wheel speed, for two-motor, skid-steer machines.

The signal path runs one way::

    pulse -> stick position -> shape -> mix -> slew -> side map -> output units

with the slew limit before the mix where it acts on the sticks.  SI units
inside; x forward, y left, yaw positive counter-clockwise; stick right means
turn right.  Importing this package loads numpy alone.
"""

from curvelib.chain import Chain
from curvelib.curves import CubicBlend, Deadband, Expo, Limit, Linear, TwoZone
from curvelib.files import TuneError, load_tune, save_tune
from curvelib.mixing import Independent, TankMix
from curvelib.points import Points
from curvelib.resolution import slow_end
from curvelib.shape import Shape
from curvelib.slew import SlewLimit
from curvelib.tables import Table
from curvelib.tune import Tune

__all__ = [
    "Chain",
    "CubicBlend",
    "Deadband",
    "Expo",
    "Independent",
    "Limit",
    "Linear",
    "Points",
    "Shape",
    "SlewLimit",
    "Table",
    "TankMix",
    "Tune",
    "TuneError",
    "TwoZone",
    "load_tune",
    "save_tune",
    "slow_end",
]
