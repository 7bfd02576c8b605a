"""Cautions: each where it holds, none where it does not, the same to every reader."""

from dataclasses import replace
from itertools import product
from types import SimpleNamespace

import pytest

from ohmscape.viz.cautions import caution_texts
from ohmscape.viz.variants import write_comparison

JUDGED, UNJUDGED = "Limits protect only", "no limit has been applied"
DIVIDED, UNDIVIDED = "Current divides as the circuit", "All of the current given enters"


def under(result, *, judged, divided):
    """The result with or without a verdict, with or without a circuit that divides."""
    circuit = SimpleNamespace(all_current_in_soil=False)
    return replace(
        result,
        verdict=result.verdict if judged else None,
        operation=SimpleNamespace(circuit=circuit) if divided else None,
    )


@pytest.mark.parametrize("first", list(product([True, False], repeat=2)))
@pytest.mark.parametrize("second", list(product([True, False], repeat=2)))
def test_all_that_holds_is_said_and_nothing_else(result, first, second, tmp_path):
    pair = [
        under(result, judged=judged, divided=divided) for judged, divided in (first, second)
    ]
    path = write_comparison(pair, path=tmp_path / "comparison.csv")
    texts = (" ".join(caution_texts(pair)), path.read_text(encoding="utf-8"))
    for text in texts:
        assert (JUDGED in text) == (first[0] or second[0])
        assert (UNJUDGED in text) == (not (first[0] and second[0]))
        assert (DIVIDED in text) == (first[1] or second[1])
        assert (UNDIVIDED in text) == (not (first[1] and second[1]))


def test_a_circuit_that_sends_all_into_the_soil_says_so(result):
    circuit = SimpleNamespace(all_current_in_soil=True)
    whole = replace(result, operation=SimpleNamespace(circuit=circuit))
    assert caution_texts([whole]) == caution_texts([replace(result, operation=None)])
