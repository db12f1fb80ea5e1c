"""The sheet of a crit as PDF: what was read, with the notes beside their rows."""

from __future__ import annotations

from shotcrit.deliver.crit_input import CritForDelivery, crit_sheet
from shotcrit.deliver.sheet_pdf import Paper, Still, sheet_pages, shot_stills
from shotcrit.deliver.typeset import compile_pdf


def crit_sheet_pdf(crit: CritForDelivery, *, still: Still | None = None, paper: Paper = "a3") -> bytes:
    """Raises InputError for notes that do not lie in the take."""
    crit.require_sound()
    sheet = crit_sheet(crit)
    data, files = sheet_pages(crit.measured, sheet, shot_stills(sheet, still), paper)
    return compile_pdf("sheet.typ", {**data, "unreleased": crit.unreleased}, files)
