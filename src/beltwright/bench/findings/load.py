"""How the load of a set shares out over belts of unlike lengths in grooves unlike worn, at the one centre they share.

For the findings on sets and grooves. The stretch of such belts is the usual one, so shares are an order of size.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from beltwright.bench.figure import Put
from beltwright.bench.findings.noted import Case
from beltwright.errors import BeltwrightError
from beltwright.mechanics import load_share
from beltwright.mechanics.stretch import usual_rigidity

Array = npt.NDArray[np.float64]


def shares(case: Case, lengths: Array, sunk: Mapping[str, Array]) -> dict[str, Put]:
    """Tightest and slackest belt over the mean; nothing where the drive is not known well enough.

    lengths: of the belts [m], on whichever line: what counts is how they differ
    sunk:    how far each belt has sunk into its groove, by sheave [m]; none for sound grooves
    """
    targets = case.targets
    driver, driven = targets.fact("driver_geometry"), targets.fact("driven_geometry")
    if targets.set_to is None or targets.mass is None or targets.length is None or driver is None or driven is None:
        return {}
    rigidity = usual_rigidity(targets.mass).middle
    on_line = targets.length * lengths / float(np.mean(lengths))
    sizes = [size - 2 * sunk[which] if which in sunk else np.full(len(lengths), size)
             for which, size in (("driver", driver), ("driven", driven))]
    total = targets.set_to.run_in[0] * len(lengths)
    try:
        tension = load_share.share_tension(on_line, sizes[0], sizes[1], rigidity, total).tension
    except BeltwrightError:   # sheaves that touch before the belts let go, grooves worn away: a number was misread
        return {}
    mean = total / len(lengths)
    return {"greatest_share": Put("T/T̄", "tightest belt over the mean, by the usual stretch of such belts",
                                  float(np.max(tension)) / mean, "share"),
            "least_share": Put("T/T̄", "slackest belt over the mean", float(np.min(tension)) / mean, "share")}
