"""The words for what goes wrong with a drive: causes, and their signs. What they mean to each other is the bench's.

A record on disk holds these words, so a word once here stays; `bench/causes/causes.toml` says everything else of it.
"""

from __future__ import annotations

from typing import Final

CAUSES: Final[tuple[str, ...]] = (
    "tension too low", "tension too high", "sheaves offset", "shafts out of parallel", "sheave crooked on its shaft",
    "grooves worn", "grooves unlike", "groove rough or nicked", "foreign matter in groove",
    "wrong section in the groove", "set not matched", "too few belts", "small sheave too small", "wrap too small",
    "rim too fast", "shock or pulsating load", "start too hard", "overload by the process",
    "driven machine stuck or stiff", "long span whips", "span in resonance", "heat around the drive", "oil or grease",
    "dust or dirt", "chemicals", "ozone or sunlight", "too long or badly in store", "pried on when fitted",
    "belt dressing used", "base loose or weak", "no take-up left", "sheave loose on its shaft", "shaft bent",
    "sheave out of balance", "bearing worn", "sheave far from its bearing", "idler on the wrong side",
    "idler too small", "guard rubs", "belts wrong for the air", "left tight over a long stop",
    "belts at the end of a fair life",
)

# how a belt that has failed looks
DEAD_LOOKS: Final[tuple[str, ...]] = (
    "flanks glazed", "flanks worn all along", "flanks worn on one side", "flanks scored", "cracked across underneath",
    "chunks off underneath", "cover frayed or torn", "cord out at one edge", "top worn", "underside worn",
    "snapped, hardly worn", "burnt in one place", "swollen or soft", "hard and cracked all over",
    "fine cracks on the outside", "cover or plies parted", "bulge or soft place", "grown long", "turned over",
)

SIGNS: Final[tuple[str, ...]] = (
    # heard
    "squeal at start", "squeal at peak load", "chirps while it runs", "slaps", "bearing noisy", "thump every turn",
    # seen while it runs, from outside the guard
    "slack side bows", "slack side uneven", "whipping", "both spans stiff as a bar", "motor moves on its base",
    "sheave wobbles", "driven shaft slows under load", "drive shakes", "load swings", "smell of rubber",
    "sparks or shocks", "belts climb one flank",
    # what happened
    "jumped off", "missing belt", "failed within weeks", "not set again after run-in", "belts lay long in store",
    "centre not shortened to fit", "failed soon after a jam", "stood long with belts tight",
    # seen and felt after lock-out
    "grooves hot to the hand", "rubber dust under the drive", "bottom of the groove shiny", "groove rough or nicked",
    "foreign matter in groove", "caked dirt", "oil or grease on the belts", "belt dressing found",
    "belt stands high in its groove", "idler bends the belts backwards", "idler smaller than the small sheave",
    "base at the end of its travel", "hold-down bolts loose", "base or foot cracked", "guard rubbed bright",
    "hot surface or hot air near", "sunlight or ozone near", "chemicals near", "dust in the air", "markings differ",
    "old and new together", "sheave far out on its shaft", "sheave loose to the hand", "shaft has play",
    "machine hard to turn by hand", "belts not marked as conductive",
    # as read, judged by the bench
    "tension read low", "tension read high", "belts pull unevenly", "out of line as read", "sheave face reads crooked",
    "grooves dished as read", "grooves worn on one side as read", "grooves unlike as read", "belts ride low as read",
    "slip as read", "run-out as read", "belt hot as read", "groove hot as read", "bearing hot as read",
    "room hot as read", "motor overloaded as read", "lengths differ as read",
    # by the card
    "fewer belts than the load asks", "sheave below the smallest", "rim over its speed", "wrap below the guide",
    "span longer than the guide", "span near a shaft's turning", "start slips as worked out",
    *DEAD_LOOKS,
)

ANSWERS: Final[tuple[str, ...]] = ("present", "absent", "could not tell")
# cured: the proof reading is taken, the inquiry ends; closed: it ends without that
VERDICTS: Final[tuple[str, ...]] = ("confirmed", "ruled out", "cured", "closed")
