"""`bring`: notes from another program into a crit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from shotcrit.deliver.exchange.formats import SOURCES
from shotcrit.measuring.bring import bring
from shotcrit.store.person import login_name

KINDS = "; ".join(f"{', '.join(source.endings)}: {source.help}" for source in SOURCES)


def bring_command(
    source: Annotated[Path, typer.Argument(metavar="FILE", help=f"Notes or drawings. {KINDS}.")],
    crit: Annotated[Path, typer.Argument(metavar="CRIT", help="The crit that they go into; it may be open in a room.")],
    take: Annotated[int | None, typer.Option("--take", min=1, help="Which take of the crit; the newest if not said.")] = None,
) -> None:
    """Bring notes that were written elsewhere into a crit, behind those that are there. A file that cannot be read whole changes nothing."""
    typer.echo(bring(source, crit, number=take, who=login_name()))
