"""Pictures on paper where there is room: a little smaller, or after the tables that follow."""

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import Image, KeepTogether


class FittedPicture(KeepTogether):  # type: ignore[misc]  # reportlab has no types
    """A picture with what leads to it and its caption, which stay together.

    Where the page has too little room it is made smaller, as far as its type allows. Where that
    is not enough, tables and words that follow in the same section come first.

    Parameters
    ----------
    lead : sequence of flowables
        Heading, or nothing.
    image : Image
        With `least`, the share of its size at which its type is as small as it may be.
    caption : flowable
    after : sequence of flowables
        What follows up to the next picture.
    """

    def __init__(
        self, lead: Sequence[Any], *, image: Image, caption: Any, after: Sequence[Any]
    ) -> None:
        super().__init__([*lead, image, caption])
        self._lead, self._image, self._caption = list(lead), image, caption
        self._after = list(after)

    def split(self, width: float, height: float) -> list[Any]:
        """What comes next on this page and on those after it."""
        self.wrap(width, height)
        image = self._image
        share = 1 - (self._H - height) / image.drawHeight
        if image.least <= share < 1:
            image.drawWidth, image.drawHeight = (
                share * image.drawWidth,
                share * image.drawHeight,
            )
            self.wrap(width, height)
        elif share < 1 and self._after and self._fits(self._after_first(), width, height):
            rest = FittedPicture([], image=image, caption=self._caption, after=[])
            return [*self._lead, *self._after, rest]
        return [*super().split(width, height), *self._after]

    def _after_first(self) -> list[Any]:
        """What must stand together if the words come first: all of it up to a first whole."""
        count = 1
        while count < len(self._after) and self._after[count - 1].getKeepWithNext():
            count += 1
        return [*self._lead, *self._after[:count]]

    def _fits(self, flowables: list[Any], width: float, height: float) -> bool:
        together = KeepTogether(flowables)
        together.canv = self.canv
        together.wrap(width, height)
        return bool(height >= together._H)


def with_pictures_fitted(section: Sequence[Any]) -> list[Any]:
    """The flowables of one section, each picture as one that fits."""
    found: list[Any] = []
    at = 0
    while at < len(section):
        if not isinstance(section[at], Image):
            found.append(section[at])
            at += 1
            continue
        lead: list[Any] = []
        while found and found[-1].getKeepWithNext():
            lead.insert(0, found.pop())
        end = at + 2
        while end < len(section) and not isinstance(section[end], Image):
            end += 1
        # What leads to the next picture goes with that one.
        while end < len(section) and section[end - 1].getKeepWithNext():
            end -= 1
        image, caption, *after = section[at:end]
        found.append(FittedPicture(lead, image=image, caption=caption, after=after))
        at = end
    return found
