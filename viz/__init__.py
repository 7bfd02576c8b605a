"""Pictures, tables and volumes of a result.

Nothing that draws is imported before something is drawn.
"""

from .drawing import draw
from .tables.volumes import write_volumes
from .writing import write_tables

__all__ = ["draw", "write_tables", "write_volumes"]
