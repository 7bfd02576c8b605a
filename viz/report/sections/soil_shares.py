"""Soil of a report that decides: what each layer has in the resistances."""

from collections.abc import Sequence

from ....solver.results.result import Result
from ...wording import share_text
from ...words.amounts import length, length_range, ohms, resistivity, tiny
from ...words.layers import made_of_layer
from ...words.text import Text, say
from ..contents import Block, Cell, Paragraph, Section, Table
from ..pictures import deciding_picture


def soil_shares_section(results: Sequence[Result]) -> Section | None:
    """Which soil the resistances come from; None where the case does not ask."""
    result = results[0]
    if result.soil_shares is None:
        return None
    what = say(
        "A layer with 40 % of a {resistance} makes it 4 % larger where its own resistivity is "
        "10 % larger: this is the soil to know well, to measure again, or to better."
    )
    blocks: list[Block] = [Paragraph(what), _table(result), deciding_picture(result)]
    return Section("soil-shares", say("Which soil the {resistance} comes from"), tuple(blocks))


def _table(result: Result) -> Table:
    shares = result.soil_shares
    assert shares is not None
    soil, covered = result.solution.soil, bool(shares.coverings.max() > 1e-4)
    edges = [0.0, *soil.interface_depth.tolist()]
    layers: list[Text] = []
    for number in range(len(soil.resistivity)):
        last = number == len(edges) - 1
        depths = (
            say("below {}", length(edges[-1]))
            if last and number
            else length_range(edges[number], edges[number + 1])
            if not last
            else say("all soil")
        )
        layers.append(say("{}, {}", depths, made_of_layer(soil, number)))
    bodies = [(k, body) for k, body in enumerate(soil.bodies) if not body.void]
    layers += [say("{}, {}", body.name, resistivity(body.resistivity)) for _, body in bodies]
    rows: list[tuple[Cell, ...]] = []
    for row, of_layers in enumerate(shares.layers):
        own = [*of_layers, *(shares.bodies[row, k] for k, _ in bodies)]
        members = [
            name
            for name, its in zip(result.group_names, shares.electrode_set, strict=True)
            if its == row
        ]
        cells: list[Cell] = [" + ".join(members), ohms(result.resistance(members[0]))]
        cells += [share_text(float(share)) for share in own]
        rows.append((*cells, *[share_text(float(shares.coverings[row]))] * covered))
    beside: tuple[Cell, ...] = ("Contact, fill and coating",) * covered
    caption = (
        f"Shares of the layers{' and bodies' * bool(bodies)} in the resistance of each "
        "electrode and all bonded to it, by the "
        f"adjoint of the solved field; they add up to it but for {tiny(shares.miss)} of it."
    )
    header = (say("{Electrode}"), say("{Resistance}"), *layers, *beside)
    return Table(header, tuple(rows), caption)
