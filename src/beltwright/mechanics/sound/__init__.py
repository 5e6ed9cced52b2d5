"""From the sound of a plucked span to the frequency of its first mode: sample arrays in, a judged frequency out.

Imported only when a clip is to be heard; `beltwright.mechanics` does not import it. Inside: `clean` makes the clip
ready, `comb` and `votes` say what each first mode would explain, `judge` weighs it, `refine` measures, `refusal` says
why not, `hear` is the one call made from outside.
"""

from beltwright.mechanics.sound.comb import ratios
from beltwright.mechanics.sound.hear import METHOD, Heard, Rival, hear, seen

__all__ = ["METHOD", "Heard", "Rival", "hear", "ratios", "seen"]
