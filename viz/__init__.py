"""Pictures, tables and volumes of a result.

Nothing that draws is imported before something is drawn.
"""

from .drawing import draw
from .tables import write_tables
from .volumes import write_volumes

__all__ = ["draw", "write_tables", "write_volumes"]
