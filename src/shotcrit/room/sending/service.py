"""Sending from the room: deliveries are written in the background, into a folder or to be downloaded."""

from __future__ import annotations

import io
import tempfile
import threading
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

from shotcrit.checks.measured import Measured
from shotcrit.counted import counted
from shotcrit.crit.review import Review, review_of
from shotcrit.crit.view import NotHere
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import InputError
from shotcrit.measuring.review import Sent
from shotcrit.progress import Progress
from shotcrit.room.jobs.behind import BEHIND
from shotcrit.room.jobs.service import Ended, Jobs
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.judging.service import Judging
from shotcrit.room.sending.making import send_take
from shotcrit.room.sending.shapes import Delivery, SendOrder
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.room.worker import Worker
from shotcrit.store.crit_file import CritFile

CRIT = "crit"
"""The delivery that the room makes itself."""


class Sending:
    """folders_free: whether any folder of this computer may be sent to, or only those that this room may read."""

    def __init__(self, crit: CritFile, judging: Judging, media: MediaPlaces, worker: Worker, jobs: Jobs, *, folders_free: bool) -> None:
        self._crit = crit
        self._judging = judging
        self._media = media
        self._worker = worker
        self._jobs = jobs
        self._folders_free = folders_free
        self._lock = threading.Lock()
        self._outbox: tempfile.TemporaryDirectory[str] | None = None

    def close(self) -> None:
        """Throw away what was kept for download."""
        if self._outbox is not None:
            self._outbox.cleanup()

    def deliveries(self) -> list[Delivery]:
        """Those for an animator first, then those for colleagues and for other programs."""
        help = "For colleagues: the crit itself, with decisions, crosses of the first look and the whole history, to go on with elsewhere."
        own = Delivery(kind=CRIT, name="crit", help=help, reader="colleague")
        made = [Delivery(kind=d.kind, name=d.name, help=d.help, reader=d.reader) for d in self._worker.deliveries()]
        return sorted([*made, own], key=lambda d: d.reader)

    def send(self, body: SendOrder, who: str) -> Job:
        """Raises InputError for a kind that is none, and for a folder that may not be sent to."""
        kinds = self._kinds(body)
        with self._crit.view() as view:
            review = review_of(view, body.take, crit_id=self._crit.crit_id(), reviewer=who)
        measured = self._judging.judgement(body.take).measured
        folder = self._folder(body.folder)

        def work(watch: Progress, stop: threading.Event) -> Ended:
            sent = self._write(review, measured, kinds, folder, watch, stop)
            where = f" in {folder}" if body.folder else ", ready to download"
            return " ".join((f"{counted(len(sent.files), 'file')}{where}.", *sent.lost)), tuple(str(path) for path in sent.files)

        return self._jobs.start("send", body.take, work, alone=False)

    def zipped(self, job_id: str) -> tuple[str, bytes]:
        """A name for the zip, percent-encoded, and the zip itself. Raises NotHere before sending is done."""
        job = self._jobs.get(job_id)
        if job.kind != "send" or job.state != "done":
            raise NotHere("there is nothing to download yet; wait until sending is done")
        return quote(f"{Path(self._crit.name).stem}.zip"), _zip([Path(f) for f in job.files])

    def _kinds(self, body: SendOrder) -> tuple[str, ...]:
        """Those asked for, or where none is, all that go to an animator."""
        known = {d.kind: d for d in self.deliveries()}
        for kind in body.kinds:
            if kind not in known:
                raise InputError(f"'{kind}' is no way of sending; there are {', '.join(sorted(known))}")
        return body.kinds or tuple(d.kind for d in known.values() if d.reader == "animator")

    def _write(
        self, review: Review, measured: Measured | None, kinds: Sequence[str], folder: Path, watch: Progress, stop: threading.Event
    ) -> Sent:
        wanted = tuple(kind for kind in kinds if kind != CRIT)
        sent = Sent()
        if wanted:
            sent = run_elsewhere(send_take, self._worker, review, measured, wanted, folder, progress=watch, stop=stop, bounds=BEHIND)
        return replace(sent, files=(*sent.files, self._copy_crit(folder))) if CRIT in kinds else sent

    def _copy_crit(self, folder: Path) -> Path:
        """A copy of the crit; one that was sent before gets a number beside it."""
        name, n = Path(self._crit.name), 1
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise InputError(f"{folder} cannot be made ({problem.strerror}); name a folder that you may write to") from problem
        path = folder / name
        while path.exists():
            n += 1
            path = folder / f"{name.stem} {n}{name.suffix}"
        self._crit.copy_to(path)
        return path

    def _folder(self, asked: str | None) -> Path:
        if asked is None:
            with self._lock:
                if self._outbox is None:
                    self._outbox = tempfile.TemporaryDirectory(prefix="shotcrit-")
                return Path(tempfile.mkdtemp(dir=self._outbox.name))
        folder = Path(asked).expanduser()
        if not folder.is_absolute():
            raise InputError("give the folder with its whole path, from the root of the disk")
        if not self._folders_free:
            self._media.allowed(str(folder))
        return folder


def _zip(files: list[Path]) -> bytes:
    """The files under their own names; a name that stands twice gets a number."""
    out = io.BytesIO()
    names: set[str] = set()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in files:
            name, n = path.name, 1
            while name in names:
                n += 1
                name = f"{path.stem} {n}{path.suffix}"
            names.add(name)
            archive.write(path, name)
    return out.getvalue()
