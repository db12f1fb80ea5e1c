"""Sending from the room, and reading answers back."""

from __future__ import annotations

import io
import tempfile
import threading
import zipfile
from pathlib import Path
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool

from shotcrit.counted import counted
from shotcrit.crit.answers import MOST_ANSWERS, answer_notes, parse_answers
from shotcrit.crit.edits import Edit
from shotcrit.crit.review import review_of
from shotcrit.crit.things import Note
from shotcrit.crit.view import NotHere, View, need
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import InputError
from shotcrit.progress import Progress
from shotcrit.room.casting import Casting
from shotcrit.room.jobs import Ended
from shotcrit.room.shapes.common import Job
from shotcrit.room.shapes.review import AnswersRead, Delivery, SendOrder
from shotcrit.room.work import BEHIND, send_take

CRIT = "crit"
"""The delivery that the room makes itself."""


class Sending(Casting):
    MOST_ANSWERS = MOST_ANSWERS

    def deliveries(self) -> list[Delivery]:
        own = Delivery(kind=CRIT, name="Crit", help="The crit itself, with all notes, drawings and history, to go on with elsewhere.")
        return [*(Delivery(kind=d.kind, name=d.name, help=d.help) for d in self.desk.deliveries()), own]

    def send(self, body: SendOrder, who: str) -> Job:
        known = {d.kind for d in self.deliveries()}
        for kind in body.kinds:
            if kind not in known:
                raise InputError(f"'{kind}' is no way of sending; there are {', '.join(sorted(known)) or 'none'}")
        with self.crit.view() as view:
            review = review_of(view, body.take, crit_id=self.crit.crit_id(), reviewer=who)
        measured = self.judgement(body.take).measured
        folder = self._send_folder(body.folder)

        wanted = tuple(kind for kind in body.kinds or sorted(known) if kind != CRIT)

        def work(watch: Progress, stop: threading.Event) -> Ended:
            made = (
                list(run_elsewhere(send_take, self.desk, review, measured, wanted, folder, progress=watch, stop=stop, bounds=BEHIND))
                if wanted
                else []
            )
            if CRIT in (body.kinds or known):
                made.append(self._send_crit(folder))
            where = f" in {folder}" if body.folder else ", ready to download"
            return f"{len(made)} files{where}", tuple(str(path) for path in made)

        return self.jobs.start("send", body.take, work, alone=False)

    def _send_crit(self, folder: Path) -> Path:
        """A copy of the crit; one that was sent before gets a number beside it."""
        name, n = Path(self.crit.name), 1
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise InputError(f"{folder} cannot be made ({problem.strerror}); name a folder that you may write to") from problem
        path = folder / name
        while path.exists():
            n += 1
            path = folder / f"{name.stem} {n}{name.suffix}"
        self.crit.copy_to(path)
        return path

    def _send_folder(self, asked: str | None) -> Path:
        if asked is None:
            with self._memory:
                if self._outbox is None:
                    self._outbox = tempfile.TemporaryDirectory(prefix="shotcrit-")
                return Path(tempfile.mkdtemp(dir=self._outbox.name))
        folder = Path(asked).expanduser()
        if not folder.is_absolute():
            raise InputError("give the folder with its whole path, from the root of the disk")
        if not self.folders_free:
            self._allowed(str(folder))
        return folder

    _outbox: tempfile.TemporaryDirectory[str] | None = None

    def close(self) -> None:
        super().close()
        if self._outbox is not None:
            self._outbox.cleanup()

    def sent_zip(self, job_id: str) -> tuple[str, bytes]:
        """A name for the zip, percent-encoded, and the zip itself."""
        job = self.jobs.get(job_id)
        if job.kind != "send" or job.state != "done":
            raise NotHere("there is nothing to download yet; wait until sending is done")
        return quote(f"{Path(self.crit.name).stem}.zip"), _zipped([Path(f) for f in job.files])

    async def read_answers(self, data: bytes, who: str) -> AnswersRead:
        return await run_in_threadpool(self._read_answers, data, who)

    def _read_answers(self, data: bytes, who: str) -> AnswersRead:
        answers, crit_id = parse_answers(data), self.crit.crit_id()
        told: list[tuple[tuple[str, ...], int]] = []

        def act(view: View) -> Edit:
            edit, known, unknown = answer_notes(view, crit_id, answers)
            told[:] = [(known, unknown)]
            return edit

        self.store(who, act)
        known, unknown = told[0]
        with self.crit.view() as view:
            notes = [need(view, Note, name) for name in known]
        ticked = sum(1 for note in notes if note.answer and note.answer.done)
        return AnswersRead(notes=notes, unknown=unknown, says=f"{counted(len(notes), 'note')} answered, {ticked} of them ticked as done")


def _zipped(files: list[Path]) -> bytes:
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
