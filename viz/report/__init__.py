"""The report of a result: one HTML page that opens offline, and the same on paper."""

from .page import write_page

__all__ = ["write_page"]
