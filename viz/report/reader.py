"""For whom a report is set: units, words and paper, each chosen on its own."""

from dataclasses import dataclass
from typing import Literal

from ..words.text import Units, Vocabulary

Paper = Literal["A4", "Letter"]


@dataclass(frozen=True)
class Reader:
    """What a paper is set in, and what a page shows first.

    Attributes
    ----------
    units : {"SI", "US"}
    vocabulary : {"earth", "ground"}
        Words of IEC and the United Kingdom, or of the United States.
    paper : {"A4", "Letter"}
        Size of the paper.
    """

    units: Units = "SI"
    vocabulary: Vocabulary = "earth"
    paper: Paper = "A4"

    @classmethod
    def of(
        cls,
        case_units: str,
        *,
        units: Units | None = None,
        vocabulary: Vocabulary | None = None,
        paper: Paper | None = None,
    ) -> "Reader":
        """The reader of a case, by its units where nothing else is asked for.

        Parameters
        ----------
        case_units : str
            SI or US.
        """
        usual = cls("US", "ground", "Letter") if case_units == "US" else cls()
        return cls(units or usual.units, vocabulary or usual.vocabulary, paper or usual.paper)
