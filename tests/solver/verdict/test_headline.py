"""Which one sentence a verdict deserves: the first of a fixed order that applies."""

import math

import pytest

from ohmscape.solver.limits import Limit
from ohmscape.solver.verdict import JudgedPlace, Judgement, Verdict, headline
from ohmscape.viz.verdict_words import headline_text, variants_text


def judgement(voltage, *, error=0.0):
    """One exposure at a limit of 70 V; nobody meets it without a voltage."""
    limit = Limit(voltage=70.0, words="given", source="the owner")
    places = (
        ()
        if voltage is None
        else (JudgedPlace(("gate",), (1.0, 2.0), None, "native soil", voltage, limit, None),)
    )
    return Judgement(
        name="at the gate", kind="touch", metals=("gate",), limit_name="own",
        limit_source="the owner", caution="", instead="", duration=0.5, error=error,
        places=places, grounds=(), outline=None, pace=1.0, share=None,
    )  # fmt: skip


def verdict(*judgements, rules=(), longest=0.5):
    return Verdict(0.1, longest, "given", 1.0, 1.0, judgements, None, rules)


SAFE, FAILS = judgement(31.0), judgement(93.0)
CLOSE, UNMET = judgement(69.0, error=2.3), judgement(None)
GOOD, BAD = verdict(SAFE), verdict(SAFE, FAILS)


@pytest.mark.parametrize(
    ("base", "variants", "finding"),
    [
        (None, [], "not judged"),
        (None, [GOOD, BAD], "unsafe in variants"),
        (None, [GOOD], "not judged"),
        (verdict(SAFE, FAILS, rules=("ABOVE",)), [BAD], "unsafe"),
        (verdict(SAFE, CLOSE), [], "unsafe"),
        (verdict(SAFE, UNMET), [GOOD], "unsafe"),
        (verdict(SAFE, rules=("ABOVE",)), [BAD], "rule broken"),
        (GOOD, [GOOD, BAD], "unsafe in variants"),
        (GOOD, [verdict(SAFE, rules=("ABOVE",))], "unsafe in variants"),
        (GOOD, [None], "unsafe in variants"),
        (GOOD, [GOOD], "passes"),
        (GOOD, [], "passes"),
    ],
)
def test_the_first_finding_that_applies_is_the_headline(base, variants, finding):
    named = [(f"v{number}", each) for number, each in enumerate(variants)]
    found = headline(base, variants=named)
    assert found.finding == finding
    # Only what passes reads as if it did, whatever joins its words.
    for joined in (", ", ": "):
        told = headline_text(found, joined=joined)
        assert told.startswith("within") == (finding == "passes")
        assert told.startswith(("UNSAFE", "NOT ", "within"))


def test_counts_names_and_duration_are_in_the_words():
    found = headline(verdict(SAFE, FAILS, CLOSE, longest=math.inf))
    assert headline_text(found, joined=", ") == (
        "UNSAFE, 2 of 3 exposures do not pass (nothing is certain to clear the fault)"
    )
    assert variants_text(found) == ""
    found = headline(GOOD, variants=[("wet", GOOD), ("dry", BAD)])
    assert headline_text(found, joined=": ") == (
        "UNSAFE in 1 of 2 variants ('dry'); as it stands 1 of 1 exposures are within the "
        "limits declared (fault of at most 0.5 s)"
    )
    assert variants_text(found) == "Variants: UNSAFE, 1 of 2: 'dry'; see below"
