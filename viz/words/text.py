"""Text that holds both unit systems and both vocabularies, to be chosen when it is read."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from string import Formatter
from typing import Literal

from markupsafe import escape

from .vocabulary import terms

Units = Literal["SI", "US"]
Vocabulary = Literal["earth", "ground"]
UNITS: tuple[Units, Units] = ("SI", "US")
VOCABULARIES: tuple[Vocabulary, Vocabulary] = ("earth", "ground")


@dataclass(frozen=True)
class Choice:
    """Words of which the reader sees one.

    Attributes
    ----------
    axis : {"units", "vocabulary"}
        What decides.
    options : tuple of str, length 2
        In the order of `UNITS` or `VOCABULARIES`.
    """

    axis: Literal["units", "vocabulary"]
    options: tuple[str, str]


@dataclass(frozen=True)
class Text:
    """Text with choices in it; shows itself as HTML with everything escaped.

    Attributes
    ----------
    pieces : tuple of str or Choice
    """

    pieces: tuple[str | Choice, ...]

    def plain(self, *, units: Units, vocabulary: Vocabulary) -> str:
        """The text for one reader.

        Parameters
        ----------
        units : {"SI", "US"}
            Unit system.
        vocabulary : {"earth", "ground"}
            Words of IEC and the United Kingdom, or of the United States.
        """
        chosen = {"units": UNITS.index(units), "vocabulary": VOCABULARIES.index(vocabulary)}
        return "".join(
            piece if isinstance(piece, str) else piece.options[chosen[piece.axis]]
            for piece in self.pieces
        )

    def __html__(self) -> str:
        """All choices, each marked with what it is for; the page's style shows one."""
        return "".join(_html(piece) for piece in self.pieces)

    def __add__(self, other: "str | Text") -> "Text":
        """Both, one after the other."""
        return Text((*self.pieces, *(other.pieces if isinstance(other, Text) else (other,))))


def _html(piece: str | Choice) -> str:
    if isinstance(piece, str):
        return str(escape(piece))
    names = UNITS if piece.axis == "units" else VOCABULARIES
    return "".join(
        f'<span data-{piece.axis}="{name}">{escape(option)}</span>'
        for name, option in zip(names, piece.options, strict=True)
    )


def plain(text: "str | Text", *, units: Units, vocabulary: Vocabulary) -> str:
    """The text for one reader, whether it has choices or not."""
    return text if isinstance(text, str) else text.plain(units=units, vocabulary=vocabulary)


def in_units(words: Callable[[Units], str]) -> Text:
    """Text of a function of the unit system; one piece where both are the same."""
    metric, customary = words("SI"), words("US")
    if metric == customary:
        return Text((metric,))
    return Text((Choice("units", (metric, customary)),))


def say(template: str, *values: "str | int | Text") -> Text:
    """Sentence with values and terms put in.

    Parameters
    ----------
    template : str
        ``{}`` takes the next value; ``{rod}`` a term of `vocabulary.terms` by its key,
        ``{Rod}`` the same with a capital. Values are never read as templates.

    Examples
    --------
    >>> say("{Rod} {} of the {system}", "A1").plain(units="SI", vocabulary="ground")
    'Ground rod A1 of the grounding system'
    """
    rest: Iterator[str | int | Text] = iter(values)
    pieces: list[str | Choice] = []
    for literal, field, _, _ in Formatter().parse(template):
        if literal:
            pieces.append(literal)
        if field is None:
            continue
        if field:
            pieces.append(Choice("vocabulary", _term(field)))
            continue
        value = next(rest)
        pieces += value.pieces if isinstance(value, Text) else (str(value),)
    return Text(tuple(pieces))


def _term(field: str) -> tuple[str, str]:
    earth, ground = terms[field[0].lower() + field[1:]]
    if field[0].isupper():
        return earth[0].upper() + earth[1:], ground[0].upper() + ground[1:]
    return earth, ground
