"""The report on paper: the same sections as the page, as a PDF for filing.

It is set by reportlab from the sections themselves, not printed from the page: that needs no
browser where the report is made, and gives the same bytes from the same sections.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import PageBreak, SimpleDocTemplate, Spacer
from reportlab.platypus import Paragraph as SetParagraph
from reportlab.platypus import Table as SetTable

from ...solver.results.result import Result
from ...solver.wording import FOR_ENGINEERS_IN_SHORT
from ..canvas.lettering import font_file
from ..job import job_rows
from ..words.text import Units, Vocabulary, plain
from .contents import (
    Block,
    Bullets,
    Cell,
    Listing,
    Live,
    Origin,
    Paragraph,
    Picture,
    Section,
    Table,
)
from .paper_columns import bold_font, column_widths, plain_font, small_type
from .paper_flow import with_pictures_fitted
from .paper_image import PackedImage
from .paper_pictures import paper_pictures
from .pictures import dots
from .reader import Reader

_size = 9.0
_sheet_size = 7.6  # on sheets, which are mostly room to write
_margin = 45.0
_tallest = 640.0  # of pictures, so that caption and heading have room on Letter too [point]
_smallest_type = 6.5  # in pictures [point]
_pencil = 20.0  # height of a row that is written in, at least [point]
_few_rows = 12  # a table of so many stays on one page with its caption
_fills = {"fail": "#fdf1ef", "pass": "#eff8f2", "warning": "#fff8e3"}
_inks = {"fail": "#8f1d14", "pass": "#1c5c36", "warning": "#5c4400"}


def set_paper(
    origin: Origin,
    chapters: Sequence[Section],
    path: str | Path,
    *,
    made: datetime,
    live: Result | None = None,
    reader: Reader | None = None,
) -> Path:
    """Write some sections as one PDF file; arguments as for `paper_bytes`."""
    target = Path(path)
    target.write_bytes(paper_bytes(origin, chapters, made=made, live=live, reader=reader))
    return target


def paper_bytes(
    origin: Origin,
    chapters: Sequence[Section],
    *,
    made: datetime,
    live: Result | None = None,
    reader: Reader | None = None,
    apart: str = "",
) -> bytes:
    """Some sections as one PDF file.

    Parameters
    ----------
    live : Result, optional
        For what answers the pointer on a page; left out where there is nothing of the kind.
    reader : Reader, optional
        By the units of the case when left out: A4, metres and earth terms, or Letter, feet and
        ground terms.
    apart : str
        What they are, if each is a sheet of its own with the title of the case; empty for a
        report.
    """
    reader = reader or Reader.of(origin.units)
    press = _Press(origin, live, reader.units, reader.vocabulary)
    file = BytesIO()
    document = SimpleDocTemplate(
        file,
        pagesize=LETTER if reader.paper == "Letter" else A4,
        leftMargin=_margin,
        rightMargin=_margin,
        topMargin=_margin,
        bottomMargin=_margin + 12,
        title=origin.title,
        author=dict(origin.job).get("prepared_by", ""),
        subject=f"Case SHA-256 {origin.case_hash}",
        creator="ohmscape",
        invariant=1,
    )
    press.width = document.width
    if apart:
        press.size = _sheet_size
    story: list[Any] = []
    if not apart:
        story += press.headed(f"ohmscape report · {made:%Y-%m-%d}", size=18.0)
        if origin.job:
            story += press.block(Table(("", ""), tuple(job_rows(origin.job))))
    for number, section in enumerate(chapters, start=1):
        if apart:
            story += [PageBreak()] * (number > 1)
            of = f"ohmscape {apart} · {made:%Y-%m-%d} · {number} of {len(chapters)}"
            story += press.headed(of, size=11.0)
        title = f"{number}  {press.read(section.title)}"
        set_section = [press.heading(title, key=section.key)]
        for block in section.blocks:
            set_section += press.block(block)
        story += with_pictures_fitted(set_section)
    with _binary_streams():
        document.build(story, onFirstPage=press.foot, onLaterPages=press.foot)
    return file.getvalue()


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Streams as they are: as letters they are a quarter larger and take longer."""
    from reportlab import rl_config

    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before


class _Press:
    """Sets blocks for one reader.

    Parameters
    ----------
    origin : Origin
        For the foot of each page.
    live : Result or None
        For pictures that answer the pointer on a page.
    """

    def __init__(
        self,
        origin: Origin,
        live: Result | None,
        units: Units,
        vocabulary: Vocabulary,
    ) -> None:
        for name, bold in ((plain_font, False), (bold_font, True)):
            pdfmetrics.registerFont(TTFont(name, str(font_file(bold=bold))))
        self._origin = origin
        self._live = live
        self._units = units
        self._vocabulary = vocabulary
        self.width = 0.0
        self.size = _size

    def read(self, text: Cell) -> str:
        """The words that this reader sees."""
        return plain(text, units=self._units, vocabulary=self._vocabulary)

    def text(self, text: Cell, *, size: float = _size, bold: bool = False, **more: Any) -> Any:
        """A paragraph; whatever is in the text is text, not markup."""
        style = ParagraphStyle(
            "text",
            fontName=bold_font if bold else plain_font,
            fontSize=size,
            leading=1.35 * size,
            textColor=more.get("ink", "black"),
            backColor=more.get("fill"),
            borderPadding=5 if more.get("fill") else 0,
            spaceBefore=8 if more.get("fill") else 0,
            spaceAfter=more.get("after", 4) + (6 if more.get("fill") else 0),
            splitLongWords=1,
        )
        return SetParagraph(escape(self.read(text)), style, bulletText=more.get("bullet"))

    def headed(self, line: str, *, size: float) -> list[Any]:
        """What stands on top: what it is, and the title of the case."""
        return [
            self.text(line, size=small_type, ink="#565d66"),
            self.text(self._origin.title, size=size, bold=True, after=0.45 * size),
        ]

    def heading(self, title: str, *, key: str) -> Any:
        """Heading of a section, which a reader of the PDF can jump to."""
        style = ParagraphStyle(
            "heading", fontName=bold_font, fontSize=13, leading=17, spaceBefore=12, spaceAfter=5
        )
        style.keepWithNext = 1
        return SetParagraph(f'<a name="{escape(key)}"/>{escape(title)}', style)

    def block(self, block: Block) -> Iterator[Any]:
        """What a block is on paper."""
        if isinstance(block, Paragraph):
            tone = block.tone
            loud = tone in _fills
            yield self.text(
                block.text,
                size=self.size,
                bold=loud and self.size == _size,
                fill=_fills.get(tone),
                ink=_inks.get(tone, "black"),
            )
        elif isinstance(block, Bullets):
            for item in block.items:
                yield self.text(say_bullet(self.read(item)), size=self.size, after=2)
        elif isinstance(block, Table):
            yield from self._table(block)
        elif isinstance(block, Picture):
            yield from self._picture(block)
        elif isinstance(block, Live):
            assert self._live is not None
            for picture in paper_pictures(block, result=self._live):
                yield from self._picture(picture)
        else:
            yield from self._listing(block)

    def _table(self, table: Table) -> Iterator[Any]:
        rows = [[self.read(cell) for cell in row] for row in table.rows]
        head = [self.read(cell) for cell in table.header]
        # Rows to be filled in by hand have nothing but a name.
        to_fill = [
            number
            for number, row in enumerate(rows)
            if table.to_write or (row[1:] and not any(row[1:]))
        ]
        widths = column_widths([head, *rows], room=self.width, to_fill=bool(to_fill))
        cells = [[self.text(cell, size=small_type, after=0) for cell in row] for row in rows]
        ruled: list[Any] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, "#c9ced4"),
        ]
        titled = any(head)
        if titled:
            cells.insert(
                0, [self.text(cell, size=small_type, bold=True, after=0) for cell in head]
            )
            ruled.append(("LINEBELOW", (0, 0), (-1, 0), 0.9, "black"))
        for number, tone in enumerate(table.tones):
            if tone == "fail":
                row = number + titled
                ruled.append(("BACKGROUND", (0, row), (-1, row), _fills["fail"]))
        made = SetTable(
            cells, colWidths=widths, repeatRows=int(titled), spaceBefore=4, hAlign="LEFT"
        )
        for row in to_fill:
            room = 16.0
            if table.to_write:
                pairs = zip(cells[row + titled], widths, strict=True)
                written = max(cell.wrap(wide - 6, _tallest)[1] for cell, wide in pairs)
                room = max(3.0, _pencil - written)
            ruled.append(("BOTTOMPADDING", (0, row + titled), (-1, row + titled), room))
        if table.to_write:
            ruled.append(("GRID", (0, 0), (-1, -1), 0.4, "#8b929a"))
        made.setStyle(ruled)
        below = Spacer(1, 8)
        if table.caption:
            below = self.text(table.caption, size=small_type, ink="#565d66", after=8)
        # With the heading above it too; what is kept together cannot be nested.
        made.keepWithNext = len(rows) <= _few_rows and not table.to_write
        yield from (made, below)

    def _picture(self, picture: Picture) -> Iterator[Any]:
        data = picture.draw(self._units, "png")
        image = PackedImage(data)
        width, height = image.pixels
        drawn = width * 72 / dots
        # As large as it was drawn, where the page has room for that.
        shown = min(self.width, drawn, _tallest * width / height)
        image.drawWidth, image.drawHeight = shown, shown * height / width
        image.least = min(1.0, _smallest_type / (picture.type_size * shown / drawn))
        image.keepWithNext = 1
        yield image
        yield self.text(picture.caption, size=small_type, ink="#565d66", after=8)

    def _listing(self, listing: Listing) -> Iterator[Any]:
        yield self.text(listing.summary, bold=True)
        for line in listing.text.splitlines():
            indent = len(line) - len(line.lstrip(" "))
            # A paragraph joins spaces; no-break spaces keep what YAML means by them.
            yield self.text("\u00a0" * indent + line.strip(" "), size=6.5, after=0)

    def foot(self, canvas: Any, document: Any) -> None:
        """Number of the page, and which case and version it belongs to."""
        canvas.saveState()
        canvas.setFont(plain_font, 6.5)
        canvas.setFillGray(0.35)
        origin = self._origin
        version = origin.versions.get("ohmscape", "")
        case = f"Case {origin.case_hash[:12]}, ohmscape {version}."
        left = f"{case} {FOR_ENGINEERS_IN_SHORT}"
        canvas.drawString(_margin, _margin - 8, left)
        right = document.pagesize[0] - _margin
        canvas.drawRightString(right, _margin - 8, f"page {document.page}")
        canvas.restoreState()


def say_bullet(text: str) -> str:
    """Line of a list."""
    return f"•  {text}"
