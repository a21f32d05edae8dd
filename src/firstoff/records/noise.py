"""How wrong a reading at the bench may be: slips of the pen, and the noise of each simple test."""

from __future__ import annotations

import math
from typing import Final

from ..checks.si import metres

#: one reading in twenty is a slip (a wrong line, a wrong sign): then it may be anything
SLIP: Final = 0.05
#: standard uncertainty of a plug-in watt meter's reading, and of reading it while it flickers [W]; judged
WATTMETER: Final = 8.0
#: standard uncertainty of an indicator on a part that is being tightened [mm]; judged
LIFT_READ: Final = 0.003

#: All of the nine tests' are judged, one standard deviation; no published figure tells such tests by hand.
#: scale read while it is pulled, cord not quite along the axis; of a machine that is no plain spring with a play
FORCE_READ: Final = 0.04
NOT_A_SPRING: Final = 0.08
#: lost motion differs along the screw, and what drags holds some of the spring back
PLAY_VARIES: Final = 0.10
#: runout differs from one clamping to the next, logarithm
RUNOUT_VARIES: Final = 0.25
#: a table is not flat: over the circle that is swung [m]
TABLE: Final = metres(0.008)
#: a bathroom scale's own error, and one stall against the next, logarithm
SCALE: Final = 0.05
STALL: Final = 0.10
#: an axis position is shown in steps [m]
SHOWN: Final = metres(0.003)
#: what push-off and a worn cutter leave on a square, either way, both walls together [m]
OVERSIZE: Final = metres(0.05)
#: scales of X and Y differ [1]
BETWEEN_AXES: Final = 0.0001
#: beam and seat against the real cutter: logarithm of frequency, and of damping
MODE_FREQUENCY: Final = 0.06
MODE_DAMPING: Final = 0.30

#: width over which a slip may fall: of a reading of an indicator [m], of a ratio in its logarithm [1], of a slope [1]
LENGTH_WIDE: Final = metres(2.0)
LOG_WIDE: Final = math.log(1000.0)
SLOPE_WIDE: Final = 0.1
