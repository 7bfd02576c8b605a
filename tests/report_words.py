"""All text of a report, for tests that look for words in it."""

from ohmscape.viz.report.contents import Bullets, Listing, Paragraph, Table
from ohmscape.viz.words.text import plain


def words_of(sections, *, units="SI", vocabulary="earth"):
    """All text of some sections for one reader, a line for each row and item."""
    reader = {"units": units, "vocabulary": vocabulary}
    lines = []
    for section in sections:
        lines.append(plain(section.title, **reader))
        for block in section.blocks:
            if isinstance(block, Paragraph):
                lines.append(plain(block.text, **reader))
            elif isinstance(block, Bullets):
                lines += [plain(item, **reader) for item in block.items]
            elif isinstance(block, Table):
                rows = (block.header, *block.rows, (block.caption,))
                lines += [" | ".join(plain(cell, **reader) for cell in row) for row in rows]
            elif isinstance(block, Listing) and section.key != "provenance":  # not the case
                lines += [plain(block.summary, **reader), block.text]
    return "\n".join(lines)
