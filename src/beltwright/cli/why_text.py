"""An inquiry into why a drive fails, as text."""

from __future__ import annotations

from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, length, pad, table, wrapped
from beltwright.paper.why import JUDGEMENT, LEAST_SHOWN, CauseText, QuestionText, WhyText

_BAR = 20
# percent from which a cause is told in full
_TOLD_FROM = 20
# questions listed after the next one
_MORE = 3


def why_lines(made: WhyText, width: int, signs: Signs) -> list[str]:
    """Where the inquiry stands: causes, what speaks for and against, the next check, proofs due."""
    lines = [signs.heavy * width, f"{made.tag}  {made.name}: why it fails", signs.heavy * width]
    if made.since:
        lines.append(f"inquiry since {made.since}")
    lines += _ranking(made, signs)
    for place, each in enumerate(made.causes[:made.shown]):
        if place < LEAST_SHOWN or each.bar >= _TOLD_FROM or each.decided:
            lines += ["", *_cause(each, width, signs)]
    if made.decided:
        lines += ["", "SETTLED", *(line for each in made.decided for line in wrapped(each, width, rest="  "))]
    for proof in made.proofs:
        lines += ["", f"PROOF DUE: {proof.title}, confirmed {proof.since}"]
        for number, action in enumerate(proof.do, start=1):
            lines += wrapped(action, width, first=f"  {number}. ")
        lines += wrapped(f"Proof: {proof.proof}.", width, first="  ", rest="    ")
    if made.failures:
        lines += ["", "BELTS THAT FAILED"]
        lines += [line for each in made.failures for line in wrapped(each, width, rest="  ")]
    lines += ["", "NEXT CHECK", *question_lines(made.question, made.stop, width, signs)]
    if made.question is not None and made.others:
        lines += ["", "THEN"]
        for other in made.others[:_MORE]:
            lines += wrapped(f"{other.ask} ({other.takes})", width, first=f"{signs.box} ")
    return [*lines, signs.light * width, *wrapped(JUDGEMENT, width)]


def _ranking(made: WhyText, signs: Signs) -> list[str]:
    shown = made.causes[:made.shown]
    longest = max(length(each.title) for each in shown)
    lines = []
    for each in shown:
        bar = "█" if signs.box == "☐" else "#"
        filled = max(1, round(_BAR * each.bar / 100)) if each.bar else 0
        lines.append(f"{pad(each.title, longest)}  {pad(bar * filled, _BAR)}  {each.chance.rjust(8)}  "
                     f"{each.decided or each.words}")
    return lines


def _cause(each: CauseText, width: int, signs: Signs) -> list[str]:
    lines = [f"{each.title.upper()}  {each.chance}"]
    lines += wrapped(f"{each.means[:1].upper()}{each.means[1:]}.", width, first="  ")
    for words in each.speaks_for:
        lines += wrapped(words, width, first="  + ")
    for words in each.speaks_against:
        lines += wrapped(words, width, first="  − " if signs.box == "☐" else "  - ")
    lines += wrapped(f"Cure: {' '.join(each.do)}", width, first="  ", rest="    ")
    lines += wrapped(f"Proof: {each.proof}.", width, first="  ", rest="    ")
    lines += wrapped(f"Costs {'; '.join(each.costs)}.", width, first="  ", rest="    ")
    if each.saves:
        lines += wrapped(f"Saves {'; '.join(each.saves)}.", width, first="  ", rest="    ")
    return [*lines, *wrapped(f"Before the evidence: {each.rate}.", width, first="  ", rest="    ")]


def question_lines(question: QuestionText | None, stop: str, width: int, signs: Signs) -> list[str]:
    """The question to ask now, what it takes and what it would tell; or why asking has ended."""
    if question is None:
        return wrapped(f"{stop[:1].upper()}{stop[1:]}.", width)
    lines = wrapped(question.ask, width, first=f"{signs.box} ")
    lines += wrapped(f"{question.where}; {question.takes}", width, first="  ")
    if question.lock_out:
        lines += wrapped("Hands near the belts: stop, lock out, tag and try to start first.", width,
                         first=f"  {signs.caution} ")
    return [*lines, *wrapped(question.tells, width, first="  ")]


def noted_lines(made: WhyText, width: int, signs: Signs) -> list[str]:
    """All that is known, as a table."""
    rows = [(each.what, each.there, each.how, each.when) for each in made.noted]
    return table((Column("sign", least=14), Column(""), Column("how it is known", least=20), Column("when")), rows,
                 width=width, signs=signs) if rows else ["Nothing is known yet."]
