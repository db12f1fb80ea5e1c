"""What a wheel needs beside our Python: the room's page, built, and the files that others' packages lend. Without them there is no wheel."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).parent))
import lent
import node

EDITABLE = "editable"


class Steps(BuildHookInterface[Any]):
    """Run before files are gathered. An editable install takes the lent files only: its page is built by make."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """pip takes the lent files; node builds the page where this machine has none."""
        pinned = [line.split(" ")[0] for line in node.LOCK.read_text(encoding="utf-8").splitlines() if "==" in line]
        return ["pip", *([] if node.found() else pinned)]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Raises SystemExit, which ends the build, for a step that fails."""
        lent.bring()
        if version != EDITABLE:
            build_page(Path(self.root))


def build_page(root: Path) -> None:
    """npm ci and npm run build, in web/; the page is then in src/shotcrit/room/static."""
    web, page = root / "web", root / "src" / "shotcrit" / "room" / "static" / "index.html"
    if not (web / "package-lock.json").is_file():
        raise SystemExit("web/ is not there, so the room's page cannot be built; build from a whole copy of the source.")
    page.unlink(missing_ok=True)
    if not (web / "node_modules" / ".ready").exists() and node.run(["npm", "ci", "--no-fund", "--no-audit", "--loglevel=error"], cwd=web):
        raise SystemExit("npm could not install what the room's page is built with; there is no wheel without the page.")
    if node.run(["npm", "run", "--silent", "build"], cwd=web) or not page.is_file():
        raise SystemExit("the room's page could not be built; there is no wheel without it.")
