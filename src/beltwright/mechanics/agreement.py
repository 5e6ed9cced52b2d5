"""Whether readings of one thing agree with each other: how far apart is too far.

For least squares by any module of `mechanics`. The standard library only: SciPy knows the same, but takes longer to
load than a page may take to answer.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Final

from beltwright.errors import OutOfRange

# halvings of the bracket of a limit: past the last digit of a double
_HALVINGS: Final = 200


@cache
def chi_square_limit(freedom: int, chance: float) -> float:
    """How large the weighted sum of squared residuals may grow before readings are said to contradict each other.

    Q(ν/2, limit/2) = chance

    freedom: readings beyond those needed for the answers [-], whole number, one or more
    chance:  chance that sound readings are called contradictory [-], between 0 and 1
    returns: limit of the sum of squared residuals over their uncertainties [-], scalar

    Holds for normal errors; errors of rounding are shorter-tailed, so sound readings are called wrong less often.
    Errors: `OutOfRange` for no reading to spare or a chance that is none.
    Source: gum, 4.3.7

    >>> round(chi_square_limit(1, 0.05), 4), round(chi_square_limit(4, 0.01), 4)
    (3.8415, 13.2767)
    """
    if freedom < 1:
        raise OutOfRange(f"{freedom} readings to spare: at least 1 beyond those needed shows whether readings agree.")
    if not 0.0 < chance < 1.0:
        raise OutOfRange(f"A chance of {chance:g} is none: it must lie between 0 and 1.")
    low, high = 0.0, 1.0
    while _above(freedom, high) > chance:
        low, high = high, 2 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if _above(freedom, middle) > chance else (low, middle)
    return high


def _above(freedom: int, value: float) -> float:
    """Chance of a chi-square above `value`: Q(a + 1, x) = Q(a, x) + x^a e^-x/Γ(a + 1), from Q(1, x) or Q(1/2, x)."""
    x = value / 2
    odd = freedom % 2 == 1
    a = 0.5 if odd else 1.0
    chance = math.erfc(math.sqrt(x)) if odd else math.exp(-x)
    while a < freedom / 2:
        chance += math.exp(a * math.log(x) - x - math.lgamma(a + 1)) if x > 0 else 0.0
        a += 1.0
    return chance
