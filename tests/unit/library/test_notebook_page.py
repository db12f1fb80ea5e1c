"""The page for notebooks: its code runs as it stands, in one process and without a guard, and it names all there is."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
from tests.make import films
from tests.make.reviews import beginning, note

import shotcrit
from shotcrit import library
from shotcrit.crit.notes import write_note
from shotcrit.media import open_movie
from shotcrit.store.crit_file import CritFile

PAGE = Path(__file__).parents[3] / "docs" / "do" / "in-a-notebook.md"
SECONDS = 5


def _shot(folder: Path) -> None:
    """The demo's first line, small; what is said; a crit with a note."""
    film = open_movie(Path(str(files("shotcrit"))) / "demo_film" / "lantern_040_take1.mp4")
    sound = film.sound()
    assert sound is not None
    size = (192, 108)
    films.make_film(
        folder / "lantern.mov",
        films.numbered(24 * SECONDS, size=size),
        sound=np.asarray(sound.samples[: SECONDS * sound.rate]),
        sound_rate=sound.rate,
    )
    (folder / "lantern.txt").write_text("Oona: Bram, the lamp is out.\n", encoding="utf-8")
    with CritFile.create(folder / "lantern.crit") as crit:
        crit.edit("", lambda _view: beginning())
        crit.edit("", lambda view: write_note(view, note("a")))


def test_its_code_runs_as_a_script_without_a_guard(tmp_path: Path) -> None:
    _shot(tmp_path)
    blocks = re.findall(r"```python\n(.+?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) > 6
    script = tmp_path / "page.py"
    script.write_text("\n".join(blocks), encoding="utf-8")
    environment = {**os.environ, "SHOTCRIT_CACHE": str(tmp_path / "cache"), "MPLBACKEND": "agg", "MPLCONFIGDIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-W", "error", str(script)], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "lamp Oona" in done.stdout
    assert "nowhere.mov" in done.stdout
    assert {path.name for path in (tmp_path / "sent").iterdir()} == {"lantern-measure.json", "lantern-page.html", "lantern-sheet.pdf"}
    assert not list((tmp_path / "cache").rglob("proxy*")), "no pictures for a room that nobody asked for"


def test_it_names_all_that_is_promised() -> None:
    page = PAGE.read_text(encoding="utf-8").partition("## All names")[2]
    assert {name for name in re.findall(r"`(\w+)`", page) if name[0].isupper() or name in ("measure", "read")} == set(library.__all__)


def test_importing_is_quick_and_loads_nothing() -> None:
    loaded = "import shotcrit, sys; print(shotcrit.__version__, [m for m in ('numpy', 'av', 'cv2', 'pydantic', 'shotcrit.library') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == f"{shotcrit.__version__} []"


def test_the_package_gives_the_librarys_names_and_no_others() -> None:
    assert all(getattr(shotcrit, name) is getattr(library, name) for name in library.__all__)
    assert not hasattr(shotcrit, "measured")
    assert set(library.__all__) <= set(dir(shotcrit))
    names: dict[str, object] = {}
    exec("from shotcrit import *", names)
    assert set(library.__all__) <= set(names)
