"""A table of the eyes of a day: sorted by any column, filtered by typing, walked and opened by keyboard."""

import json
from collections.abc import Sequence
from typing import Any

from tissue.screens.parts.component import component, text

HTML = """
<div class="tissue-day">
  <label for="day-filter">Show only rows with</label>
  <input type="text" id="day-filter" autocomplete="off" spellcheck="false">
  <span class="count" role="status"></span>
  <div class="scroll"><table><thead><tr></tr></thead><tbody></tbody></table></div>
</div>
"""


def day_table(heads: Sequence[str], rows: Sequence[dict[str, Any]], left: int) -> None:
    """Show the table.

    Args:
        heads: words of the columns.
        rows: dictionaries: plan and side of an eye, its cells as texts, and whether it is the one on the desk (`at`).
        left: how many rows are not worked out yet.
    """
    data = json.dumps({"heads": heads, "rows": rows, "left": left}).encode()
    script = "parts/day_table/day_table.js"
    component("day_table", HTML, script, css=text("parts/day_table/day_table.css"))(key="day_table", data=data)
