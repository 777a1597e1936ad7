"""A check as one HTML page: nothing is fetched, nothing needs a script to be read."""

from detailgen.report.page.document import Leaf, page

__all__ = ["Leaf", "page"]
