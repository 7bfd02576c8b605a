"""What is drawn of a case and its variants, in parts that two processes can share."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cached_property, partial
from typing import Any

from ...solver.progress import Progress, headed, parts, unwatched
from ...solver.results.options import options_of
from ...solver.results.result import Result
from ...solver.results.variants import comparison
from ..canvas.figures import Picture as PictureOf
from ..canvas.figures import PictureFile, figures_in_both_kinds
from ..drawing import judged, pictures_of
from ..report.contents import Cell, Live, Picture, Section
from ..report.drawn import on_paper, stills
from ..report.reader import Reader
from ..words.text import UNITS

Part = tuple[str, int]
"""Kind of a part, and the number of the result, or of the picture of the report."""
Files = dict[str, bytes]
"""Files by their path from the folder of the result."""

# What each part costs. [s, on a plain machine]
costs = {
    "maps": 0.7, "margins": 0.7, "scene": 0.3, "profiles": 0.25, "section": 0.6,
    "comparison": 0.25, "still": 0.4, "maps_on_paper": 2.7, "live": 0.25, "paper": 0.3,
    "page": 0.1,
}  # fmt: skip


class Studio:
    """Draws parts of the pictures and of the report.

    Parameters
    ----------
    made : datetime
        When the report is made.
    """

    def __init__(self, made: datetime) -> None:
        self.made = made
        self.results: list[Result] = []
        self._places: list[str] = []
        self._alike: dict[int, int] = {}

    def add(self, result: Result, *, place: str, alike: int | None = None) -> None:
        """Take one more result.

        Parameters
        ----------
        place : str
            Where its files go in the folder: empty, or with / at its end.
        alike : int, optional
            Number of an earlier result that it looks like, as `look_alike` says.
        """
        if alike is not None:
            from ..maps.surface_maps import share_seen  # pictures take time to load

            share_seen(result, self.results[alike])
            self._alike[len(self.results)] = alike
        self.results.append(result)
        self._places.append(place)

    def parts_of(self, number: int) -> tuple[Part, ...]:
        """What is to be drawn of a result; what it shares with an earlier one is not."""
        kinds = judged if number in self._alike else pictures_of
        return tuple((kind, number) for kind in kinds)

    def files(self, drawn: Mapping[Part, Files]) -> Files:
        """All files, of what was drawn of each part; what looks alike is in each place."""
        found = {name: data for part in drawn.values() for name, data in part.items()}
        for number, other in self._alike.items():
            here, there = self._places[number], self._places[other]
            for kind in (kind for kind in pictures_of if kind not in judged):
                for name, data in drawn[kind, other].items():
                    found[here + name.removeprefix(there)] = data
        return found

    def draw(self, part: Part, *, progress: Progress = unwatched) -> Files:
        """Files of a part of the folder."""
        kind, number = part
        if kind == "comparison":
            return self._comparison(progress)
        result, place = self.results[number], self._places[number]
        pictures = pictures_of[kind](result)
        return _drawn(pictures, place=place, progress=headed(progress, result.variant))

    def _comparison(self, progress: Progress) -> Files:
        """What is drawn once of all results."""
        from ..options.picture import options_figure  # pictures take time to load
        from ..variants import comparison_figure

        compared, title = comparison(self.results), self.results[0].title
        figures = [("comparison", partial(comparison_figure, compared, title=title))]
        if (options := options_of(self.results)) is not None:
            figures.append(("options", partial(options_figure, options, title=title)))
        return _drawn(figures_in_both_kinds(figures), place="", progress=progress)

    @cached_property
    def chapters(self) -> tuple[Section, ...]:
        """Sections of the report, once all results are there."""
        from ..report.assembly import sections  # takes time to load

        return sections(self.results, made=self.made)

    @cached_property
    def stills(self) -> tuple[Picture, ...]:
        """Pictures of the report that do not answer to the pointer."""
        return stills(self.chapters)

    @cached_property
    def _reader(self) -> Reader:
        return Reader.of(self.results[0].units)

    def still(self, number: int) -> dict[str, bytes]:
        """A still picture for the page, by its units, and for paper."""
        picture = self.stills[number]
        last = self._reader.units  # so that its figure serves the paper too
        found: dict[str, bytes] = {
            units: picture.draw(units, "svg")
            for units in sorted(UNITS, key=lambda units: units == last)
        }
        return {**found, "paper": picture.draw(last, "png")}

    def maps_on_paper(self) -> dict[str, list[tuple[bytes, Cell]]]:
        """What stands on paper for pictures that answer to the pointer, with its captions."""
        from ..report.paper_pictures import paper_pictures  # loads matplotlib

        return {
            name: [
                (picture.draw(self._reader.units, "png"), picture.caption)
                for picture in paper_pictures(Live(name, ""), result=self.results[0])
            ]
            for name in ("map", "scene")
        }

    def live(self) -> dict[str, Any]:
        """What the pictures that answer to the pointer need."""
        from ..report.page import live_data  # takes time to load

        return live_data(self.results)

    def paper(
        self, pictures: Sequence[bytes], *, live: Mapping[str, Sequence[tuple[bytes, Cell]]]
    ) -> bytes:
        """The report on paper, from its still pictures and those of `maps_on_paper`."""
        from ..report.paper import paper_bytes  # takes time to load

        chapters = on_paper(self.chapters, stills=pictures, live=live)
        return paper_bytes(self.results[0], chapters, made=self.made, reader=self._reader)


def _drawn(pictures: Sequence[PictureOf], *, place: str, progress: Progress) -> Files:
    """Files of pictures in a place of the folder."""
    found = {}
    for (name, draw), each in zip(
        pictures, parts(progress, [1.0] * len(pictures)), strict=True
    ):
        each(name, 0.0)
        file = PictureFile(name)
        draw(path=file)
        found[place + name] = file.getvalue()
    return found
