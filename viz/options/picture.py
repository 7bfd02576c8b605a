"""The picture of options: what each costs, and what it takes of the limits where."""

from typing import Any

from ...solver.results.options import Options
from ..canvas.figures import Target, figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of, fitted
from ..cautions import FOR_ENGINEERS
from ..wording import short
from .words import TITLE, condition_name, found_text, option_name, share_of

_row, _above, _names, _gap, _key = 0.75, 0.15, 3.4, 0.7, 1.2  # [inch]
_type = 14  # [point]
_markers = "osD^vPX<>*hp"


def draw_options(options: Options, *, title: str, path: Target) -> Target:
    """Draw the price of each option and what it takes of the limits, .png or .svg."""
    import matplotlib as mpl  # loads matplotlib

    with mpl.rc_context(figure_style):
        save_figure(options_figure(options, title=title), path, ending=path.suffix[1:])
    return path


def options_figure(options: Options, *, title: str = "") -> Any:
    """Figure of options; without a title there is no heading, which a page has."""
    note = found_text(options).plain(units="SI", vocabulary="earth")
    heading = Heading(title, TITLE, note, FOR_ENGINEERS)
    return figure_of([options_strip(options)], heading=heading if title else None)


def options_strip(options: Options) -> Strip:
    """Rows of options: price, and the largest share of a limit in each condition."""
    rows, count = options.options, len(options.conditions)
    tall = _row * len(rows)
    key = _key + 0.3 * -(-count // 3)

    def draw(part: Any) -> None:
        across = (page_width - _names - _gap - 0.5) / 2
        left = axes_in(
            part, above=_above, tall=tall, left=_names, right=page_width - _names - across
        )
        right = axes_in(part, above=_above, tall=tall, left=_names + across + _gap, right=0.5)
        _draw_prices(left, options)
        _draw_shares(right, options)
        for axes in (left, right):
            axes.set_ylim(len(rows) - 0.5, -0.5)
            axes.grid(True, axis="x", color="0.85", linewidth=1.0)
            axes.set_axisbelow(True)
            axes.tick_params(axis="y", length=0)
        handles, labels = right.get_legend_handles_labels()
        part.legend(
            handles, labels, loc="lower left", bbox_to_anchor=(0.02, 0.02), ncols=3,
            frameon=False, fontsize=_type,
        )  # fmt: skip

    return Strip(_above + tall + key, draw)


def _draw_prices(axes: Any, options: Options) -> None:
    """Bars of the price, written beside them."""
    prices = [option.price for option in options.options]
    heights = range(len(prices))
    axes.barh(heights, prices, height=0.45, color="0.75", edgecolor="black")
    for height, option in zip(heights, options.options, strict=True):
        best = option is options.cheapest
        axes.annotate(
            f"{option.price:,.0f}", (option.price, height), xytext=(6, 0), va="center",
            textcoords="offset points", fontsize=_type, weight="bold" if best else "normal",
        )  # fmt: skip
    axes.set_xlim(0, 1.25 * max(prices, default=0.0) or 1.0)
    names = []
    for option in options.options:
        name = fitted(option_name(option), size=_type, room=_names - 0.4)
        names.append(f"{name}\n★ cheapest that passes" if option is options.cheapest else name)
    axes.set_yticks(heights, names, fontsize=_type)
    for label, option in zip(axes.get_yticklabels(), options.options, strict=True):
        label.set_weight("bold" if option is options.cheapest else "normal")
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.locator_params(axis="x", nbins=4)
    axes.set_xlabel(f"Price [{options.currency}]")


def _draw_shares(axes: Any, options: Options) -> None:
    """Largest share of a limit in each condition, black where the verdict does not pass."""
    known = [
        share
        for option in options.options
        for held in option.held
        if (share := share_of(held)) == share
    ]
    judged = bool(known)
    for number, condition in enumerate(options.conditions):
        marker = _markers[number % len(_markers)]
        # Those of one option stand a little apart, so that equal ones can be seen.
        shift = 0.16 * (number - (len(options.conditions) - 1) / 2)
        shift *= min(1.0, 4 / len(options.conditions))
        for height, option in enumerate(options.options):
            held = option.held[number]
            if held is None:
                continue
            value = 100 * share_of(held) if judged else held.resistance
            axes.plot(
                [value], [height + shift], marker=marker, markersize=11, color="black",
                markerfacecolor="white" if held.passes else "black", markeredgewidth=2,
                linestyle="none", zorder=3,
            )  # fmt: skip
        axes.plot(
            [], [], marker=marker, markersize=11, color="black", markerfacecolor="white",
            markeredgewidth=2, linestyle="none", label=condition_name(condition),
        )  # fmt: skip
    axes.set_yticks(range(len(options.options)), ["" for _ in options.options])
    if not judged:
        axes.locator_params(axis="x", nbins=5)
        axes.set_xlim(left=0)
        axes.set_xlabel("Resistance [Ω]")
        return
    axes.plot(
        [], [], marker="o", markersize=11, color="black", linestyle="none",
        label="black: does not pass",
    )  # fmt: skip
    axes.axvline(100, color="black", linewidth=1.8, linestyle=(0, (6, 3)), zorder=2)
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter(lambda value, _: short(value))
    axes.set_xlim(min(50.0, 80 * min(known)), max(200.0, 125 * max(known)))
    axes.xaxis.set_minor_formatter(
        lambda value, _: short(value) if f"{value:e}"[0] in "25" else ""
    )
    axes.tick_params(axis="x", which="both", labelsize=13)
    axes.set_xlabel("Largest share of a limit [%]")
