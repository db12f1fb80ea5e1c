"""A bare environment with a wheel of ours: no repository, no Node, no library but those that the wheel says it requires.

The third parties' packages are not installed anew (that takes two minutes): each file of those that the wheel requires is linked from this environment, and
nothing else is. What that does not show is whether the registry still has them; the table in docs/reference/installing.md was made by asking it.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import venv
from dataclasses import dataclass
from importlib.metadata import distribution
from pathlib import Path

from build_steps.notices import required

ROOT = Path(__file__).parents[2]


def copy_of_source(to: Path) -> Path:
    """The repository as a clone has it, with what set-up has fetched linked in; builds in it touch nothing of ours."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=ROOT, capture_output=True, check=True
    )
    for name in listed.stdout.decode().split("\0"):
        if name and (ROOT / name).is_file():
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, to / name)
    shutil.copytree(ROOT / "src/shotcrit/lent_files", to / "src/shotcrit/lent_files", dirs_exist_ok=True)
    (to / "web/node_modules").symlink_to(ROOT / "web/node_modules")
    return to


def build_wheel(source: Path, to: Path) -> subprocess.CompletedProcess[str]:
    """As an installer does it."""
    command = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "-q",
        "--no-deps",
        "--no-build-isolation",
        "--no-index",
        "--wheel-dir",
        str(to),
        str(source),
    ]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@dataclass(frozen=True)
class Bare:
    """home : a user's folder with nothing in it"""

    environment: Path
    home: Path

    @property
    def program(self) -> str:
        return str(self.environment / "bin" / "shotcrit")

    @property
    def variables(self) -> dict[str, str]:
        """No Node on the path, nothing of ours in the variables."""
        return {"HOME": str(self.home), "PATH": str(self.environment / "bin"), "NO_BROWSER": "1", "LANG": "C.UTF-8"}

    def run(self, *arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        """One command, to its end."""
        return subprocess.run(
            [self.program, *arguments],
            cwd=cwd or self.home,
            env=self.variables,
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )


def bare_environment(folder: Path, wheel: Path) -> Bare:
    """An environment of its own with the wheel and what it requires."""
    environment, home = folder / "bare", folder / "home"
    home.mkdir()
    venv.create(environment, with_pip=False, symlinks=True)
    (packages,) = environment.glob("lib/python*/site-packages")
    for name in required():
        _link(name, packages)
    install = [
        sys.executable,
        "-m",
        "pip",
        "--python",
        str(environment / "bin" / "python"),
        "install",
        "-q",
        "--no-deps",
        "--no-index",
        str(wheel),
    ]
    subprocess.run(install, check=True, capture_output=True)
    return Bare(environment, home)


def _link(name: str, packages: Path) -> None:
    """Everything of a package that lies at the top of where packages lie."""
    found = distribution(name)
    for top in {file.parts[0] for file in found.files or () if file.parts[0] != ".."}:
        here = Path(str(found.locate_file(top)))
        if here.name != "__pycache__" and not (packages / top).exists():
            (packages / top).symlink_to(here)
