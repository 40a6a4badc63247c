"""Constants of free space, in SI units.

The magnetic constant is taken as exactly 4 pi 1e-7 H/m, its value in the SI until 2019 and the one in which
the published tables were computed. The measured value of today, 1.256 637 061 27(20)e-6 H/m (CODATA 2022,
from memory), is lower by 1.3e-10 of it; the CODATA 2018 value is higher by 5.5e-10. Neither matters here.
"""

import math
from typing import Final

#: Magnetic constant [H/m], exactly 4 pi 1e-7 (see the module's docstring).
MU_0: Final = 4e-7 * math.pi

#: Speed of light in vacuum [m/s], exact in the SI.
SPEED_OF_LIGHT: Final = 299_792_458.0

#: Electric constant [F/m], 1 / (mu_0 c^2).
EPSILON_0: Final = 1.0 / (MU_0 * SPEED_OF_LIGHT**2)

#: Wave resistance of free space [ohm], mu_0 c.
ETA_0: Final = MU_0 * SPEED_OF_LIGHT
