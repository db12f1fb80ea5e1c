"""Files from public packages, fetched once into a cache folder and never committed.

SHOTCRIT_TEST_CACHE names the folder; without it ~/.cache/shotcrit-tests. What is there is used with no network.
"""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from collections.abc import Callable
from pathlib import Path


def cache_dir(*parts: str) -> Path:
    """A folder below the test cache, made when missing."""
    root = Path(os.environ.get("SHOTCRIT_TEST_CACHE") or Path.home() / ".cache" / "shotcrit-tests")
    folder = root.joinpath(*parts)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def made_once(done: Path, make: Callable[[], None]) -> None:
    """Have `make` make what is there once the file `done` is. Tests run in several processes at once, and one makes while the others wait."""
    if done.exists():
        return
    with (cache_dir() / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            make()


def _run(command: list[str], *, cwd: Path | None = None) -> None:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)} failed: {done.stderr[-2000:]}")


def _pip() -> list[str]:
    """A pip with what old source packages need to say their names (setuptools, wheel, cython, numpy)."""
    folder = cache_dir() / "pip"
    python = folder / "bin" / "python"
    if not (folder / "ready").exists():
        venv.create(folder, with_pip=True, clear=True)
        _run([str(python), "-m", "pip", "install", "-q", "setuptools", "wheel", "cython", "numpy"])
        (folder / "ready").touch()
    return [str(python), "-m", "pip"]


def pypi_sdist(name: str) -> Path:
    """The unpacked source package of a PyPI project: the folder that holds its files."""
    folder = cache_dir("pypi", name)

    def fetch() -> None:
        _run([*_pip(), "download", "-q", "--no-binary", ":all:", "--no-deps", "--no-build-isolation", "-d", str(folder), name])
        archive = next(folder.glob("*.tar.gz"))
        with tarfile.open(archive) as tar:
            tar.extractall(folder / "files", filter="data")
        (folder / "ready").touch()

    made_once(folder / "ready", fetch)
    return folder / "files"


def pypi_wheel(name: str) -> Path:
    """The unpacked wheel of a PyPI project."""
    folder = cache_dir("wheel", name)

    def fetch() -> None:
        _run([sys.executable, "-m", "pip", "download", "-q", "--only-binary", ":all:", "--no-deps", "-d", str(folder), name])
        with zipfile.ZipFile(next(folder.glob("*.whl"))) as wheel:
            wheel.extractall(folder / "files")
        (folder / "ready").touch()

    made_once(folder / "ready", fetch)
    return folder / "files"


def debian_package(name: str) -> Path:
    """The unpacked files of a Debian package, through apt; nothing is installed."""
    folder = cache_dir("debian", name)

    def fetch() -> None:
        _run(["apt-get", "download", "-q", name], cwd=folder)
        _run(["dpkg-deb", "-x", str(next(folder.glob("*.deb"))), str(folder / "files")])
        (folder / "ready").touch()

    made_once(folder / "ready", fetch)
    return folder / "files"
