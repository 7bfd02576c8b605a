"""A picture on paper as it is packed already: the rows of a PNG file are those of a PDF."""

from hashlib import sha256
from io import BytesIO
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
from reportlab.platypus import Image

from ..canvas.png import read_png


class PackedImage(Image):  # type: ignore[misc]  # reportlab has no types
    """A picture from `write_png`.

    Attributes
    ----------
    pixels : (int, int)
        Width and height.
    """

    def __init__(self, data: bytes) -> None:
        width, height, self._rows = read_png(data)
        self.pixels = (width, height)
        super().__init__(BytesIO(data), width=width, height=height)

    def draw(self) -> None:
        """Draw the picture; the file holds it once."""
        canvas = self.canv
        name = sha256(self._rows).hexdigest()[:32]
        if not canvas.hasForm(name):
            canvas._doc.addForm(name, self._stream())
        canvas.saveState()
        canvas.scale(self.drawWidth, self.drawHeight)
        canvas.doForm(name)
        canvas.restoreState()

    def _stream(self) -> Any:
        width, height = self.pixels
        rows = PDFDictionary(
            {"Predictor": 15, "Colors": 3, "BitsPerComponent": 8, "Columns": width}
        )
        entries = {
            "Type": PDFName("XObject"),
            "Subtype": PDFName("Image"),
            "Width": width,
            "Height": height,
            "BitsPerComponent": 8,
            "ColorSpace": PDFName("DeviceRGB"),
            "Filter": PDFName("FlateDecode"),
            "DecodeParms": rows,
        }
        return PDFStream(PDFDictionary(entries), self._rows)
