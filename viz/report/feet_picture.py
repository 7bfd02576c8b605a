"""What of a prospective voltage is across the body, its shoes, and the ground under them."""

from collections.abc import Sequence
from typing import Any

from ...solver.results.result import Result
from ...solver.verdict import PersonThere
from ..wording import short, with_unit
from ..words.text import Units
from .contents import Picture
from .pictures import drawing

_bar, _least_named = 0.62, 0.07  # of a row; of the width, to have its share written in it
_most = 12  # bars


def feet_picture(people: Sequence[tuple[Result, PersonThere]]) -> Picture:
    """Bars of shares of the prospective voltage, one for each person."""
    shown = people[:_most]

    def draw(figure: Any, units: Units) -> None:
        axes = figure.add_subplot()
        left = [0.0] * len(shown)
        rows = range(len(shown))
        parts = {
            "body": ("0.25", "white", [_shares(person)[0] for _, person in shown]),
            "shoes": ("0.62", "black", [_shares(person)[1] for _, person in shown]),
            "ground under the feet": (
                "0.9",
                "black",
                [_shares(person)[2] for _, person in shown],
            ),
        }
        for name, (face, ink, shares) in parts.items():
            if not any(shares):
                continue
            axes.barh(rows, shares, _bar, left=left, color=face, edgecolor="black", label=name)
            for row, share in enumerate(shares):
                if share >= _least_named:
                    text = f"{short(round(100 * share))} %"
                    middle = left[row] + 0.5 * share
                    axes.text(middle, row, text, color=ink, ha="center", va="center", size=9)
            left = [a + b for a, b in zip(left, shares, strict=True)]
        axes.set_yticks(list(rows), [_label(*one, several=len(people)) for one in shown])
        axes.invert_yaxis()
        axes.set_xlim(0, 1)
        axes.set_xticks([])
        axes.tick_params(axis="y", length=0)
        for side in ("top", "right", "bottom", "left"):
            axes.spines[side].set_visible(False)
        figure.legend(loc="outside lower center", ncols=3, fontsize=9, frameon=False)

    more = len(people) - len(shown)
    caption = "Where the prospective voltage goes once somebody is there: across the body, " + (
        "shoes, and the ground under the feet."
    )
    if more:
        caption += f" {more} more are in the table."
    size = (7.0, 0.7 + 0.42 * len(shown))
    return Picture(drawing(draw, size=size), caption, type_size=9.0)


def _shares(person: PersonThere) -> tuple[float, float, float]:
    """Of the body, shoes, and ground."""
    assert person.effect is not None
    if person.voltage == 0:
        return 0.0, 0.0, 0.0
    body = person.effect.loaded_voltage / person.voltage
    shoes = person.effect.body_current * person.shoes / person.voltage
    return body, shoes, max(0.0, 1.0 - body - shoes)


def _label(result: Result, person: PersonThere, *, several: int) -> str:
    whose = f"{person.exposure}, {result.variant}" if result.variant else person.exposure
    assert person.effect is not None
    return f"{whose}\n{with_unit(person.effect.body_current, symbol='A')}"
