"""Why a drive fails: causes ranked by the evidence, the next check worth most per minute, and what each cure brings.

What the trade knows stands in `causes.toml`, one file a mechanic can review. Chances are exact over several causes at
once (`mechanics.noisy_or`); how strongly a sign speaks for a cause is judgement, marked so, with its reason. No disk,
no clock, no page here. Names of causes, signs, answers and verdicts are those of `plant.trouble`.

knowledge.py  knowledge() -> Knowledge(causes, signs: by name; links)
    Cause(name, title, means, base, why, cure: Cure)      base: share of troubles it has a part in
    Cure(do, proof, reading, work [s], parts, hands_on)   reading: kind that proves it, "" for a look
    Sign(name, ask, group, hands_on, time [s], tools, leak, why, reading)
                                                          group: heard, running, happened, at rest, as read,
                                                          by the card, dead belt; reading: kinds to take instead of
                                                          an answer ("" where a person answers)
evidence.py   Evidence(sign, present, absent, origin, words, readings, at)
                                                          present, absent: likelihood of what was noted if the sign is
                                                          there, if it is not; origin: answered, seen, as read, ...
rates.py      Rate(cause, trade, plant, drive, plant_seen: (found, troubles), drive_seen)   three base rates, kept apart
ranking.py    Ranked(cause: Cause, chance, rate: Rate, signs_for, signs_against, decided, worth: Worth)
                                                          signs_*: Speaks(evidence, times, words), strongest first;
                                                          decided: "", confirmed, ruled out; .chance_words
checks.py     Check(sign: Sign, gain [bit], per_minute, likely, if_present, if_absent, speaks_for: Lead(cause, chance),
                    changes, lock_out)                    speaks_for: what the sign, if there, would raise most;
                                                          changes: whether an answer may change what is done
cures.py      Worth(work [s], belts, costs, saves)        costs, saves: Said lines; empty where nothing is on record
inquiry.py    inquire(record, *, now, choices, prices, plant: Counts, locked_out) -> Inquiry
    Inquiry(make_up, since, evidence, causes: Ranked in order, check: Check | None, others: Check in order, stop: why
            there is no further check, questions: Sign not answered yet, decided: Decided, proofs_due: ProofDue,
            failures: Reading)

The desk's face, `desk/causes.py`, all plain functions over a book:
    inquiry(book, tag, *, now, locked_out=False) -> Inquiry
    answer(book, tag, sign, answer, *, by, at, words="", reading_id=None) -> Reading
    decide(book, tag, cause, verdict, *, by, at, proof="", reading_id=None) -> Reading   cause "" only with "closed"
    failed(book, tag, answers, *, by, at, system=None, words="", reading_id=None) -> Reading
                                                          answers: typed count, hours, look, look_too, cause
"""
