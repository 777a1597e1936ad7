"""What the trade knows, as TOML rows with their sources: materials, items, hatches, layers, sheets, cautions, widths.

>>> from detailgen import catalogue
>>> catalogue.load().material("xps").form
'board'
"""

from detailgen.catalogue.book import Catalogue
from detailgen.catalogue.loading import SPECIAL_HATCHES, load
from detailgen.catalogue.rows import Caution, Item, LayerRow, Linetype, Material, Pattern, Scale, SheetSize
from detailgen.catalogue.widths import text_width

__all__ = [
    "SPECIAL_HATCHES",
    "Catalogue",
    "Caution",
    "Item",
    "LayerRow",
    "Linetype",
    "Material",
    "Pattern",
    "Scale",
    "SheetSize",
    "load",
    "text_width",
]
