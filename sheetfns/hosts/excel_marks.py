"""What the Python and the VBA of Excel's functions agree on; it needs neither of them."""

from __future__ import annotations

from typing import Final

ERROR_MARK: Final = "#ERR "
"""How a text begins that stands for an error: `#ERR NAME: #CODE message`."""
UDF_MODULE: Final = "sheetfns.hosts.excel"
MENU_MODULE: Final = "sheetfns.programs.excel.menu_screen"
