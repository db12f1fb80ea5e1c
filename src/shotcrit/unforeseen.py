"""What is told of an error that nobody foresaw: a sentence for people, and a report for those who mend it.

A report holds versions, where in the code it happened, and how large things were there. It never holds what was worked on: no pictures, no words,
no names of files, people or shots. So it is written from what is allowed, not by taking out what is known to be private.
"""

from __future__ import annotations

import os
import platform
import re
import sys
import tempfile
import traceback
from collections.abc import Iterator, Mapping, Sized
from contextlib import suppress
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import FrameType, TracebackType

from platformdirs import user_log_path

from shotcrit.errors import Unforeseen

FOLDER_SETTING = "SHOTCRIT_LOGS"
"""Environment: the folder of reports."""
MOST_KEPT = 40
"""Reports; the oldest go first."""
MOST_FRAMES = 60
"""Steps of a traceback that are written, the innermost."""
LIBRARIES = (
    "shotcrit",
    "av",
    "numpy",
    "opencv-python-headless",
    "pocketsphinx",
    "pydantic",
    "fastapi",
    "sqlalchemy",
    "usd-core",
)
OURS = "shotcrit"
_PLAIN = """
a an and are argument arguments array assignment at attribute attributes axis be been bool both bound bounds bytes broadcast broadcasted by can cannot
complex convert could data decode dict dimension dimensional dimensions division do does domain dtype element elements empty encode error expected
exceeds failed file finite float for found from function got greater had has have immutable in index indices infinity input int integer invalid is
item iterable key length less list match math maximum memory mismatch missing mode must nan negative no nonetype not null number object of on one only
operand operands or out overflow positional positive possible range recursion required result reshape row same sequence set shape shapes should size
slice small string str than that the there this to together too tuple type types unable unexpected unpack unpackable unsupported value values was were
when with within without yield zero
"""
PLAIN_WORDS = frozenset(_PLAIN.split())
"""Words of Python's and numpy's own messages. Any other word of a message may be somebody's, and is written as a dash."""
_TOKEN = re.compile(r"[^\W\d]\w*|\d[\w.]*|\w+")
_NUMBER = re.compile(r"\d{1,12}(\.\d{1,12})?")


def unforeseen(problem: BaseException, doing: str = "") -> Unforeseen:
    """The error to tell people, after a report was written; one that was told already is itself. doing : what was being done, such as 'the check hold'"""
    if isinstance(problem, Unforeseen):
        return problem
    return Unforeseen(f"something went wrong that should not have{f' in {doing}' if doing else ''}; {written(report_of(problem))}")


def lacking(problem: BaseException) -> str:
    """What a part needs that broke off with this error, after a report was written: half a sentence for the list of what was not measured."""
    return f"mending, since it broke off here; {str(problem) if isinstance(problem, Unforeseen) else written(report_of(problem))}"


def written(report: str) -> str:
    """Half a sentence on where the report lies, or on why it could not be kept."""
    try:
        return f"{_keep(report)} tells where and holds nothing of the shot, please send it to those who make Shotcrit"
    except OSError as problem:
        return f"no report of it could be kept in {reports_folder()} ({problem.strerror or problem})"


def reports_folder() -> Path:
    """Where reports lie."""
    return Path(os.environ.get(FOLDER_SETTING) or user_log_path(OURS))


def _keep(report: str) -> Path:
    folder = reports_folder()
    folder.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f"report-{datetime.now(UTC):%Y%m%d-%H%M%S}-", suffix=".txt", dir=folder)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(report)
    for old in sorted(folder.glob("report-*.txt"))[:-MOST_KEPT]:
        with suppress(OSError):
            old.unlink()
    return Path(name)


def report_of(problem: BaseException, sizes: Mapping[str, float] | None = None) -> str:
    """The report of an error, as text. sizes : how large what was worked on is, by names of ours"""
    lines = [*_versions(), *(f"{name}: {value:g}" for name, value in (sizes or {}).items())]
    for one in _chain(problem):
        kind = type(one)
        name = f"{kind.__module__}.{kind.__qualname__}" if _public(kind.__module__) else "an error from elsewhere"
        lines += ["", f"{name}: {scrubbed(str(one))}", *_steps(one.__traceback__)]
    return "\n".join(lines) + "\n"


def report_of_death(cause: str, traces: str) -> str:
    """The report of a process that died. traces : what Python's fault handler wrote of its threads, of which only steps in code are kept"""
    return "\n".join([*_versions(), "", f"another process ended: {cause}", *fault_steps(traces)]) + "\n"


def _versions() -> Iterator[str]:
    yield f"Shotcrit report of {datetime.now(UTC):%Y-%m-%d %H:%M} UTC"
    yield f"Python {platform.python_version()} on {platform.system()} {platform.machine()}"
    for name in LIBRARIES:
        with suppress(PackageNotFoundError):
            yield f"{name} {version(name)}"


def _chain(problem: BaseException) -> Iterator[BaseException]:
    """The error, then those that led to it."""
    seen: set[int] = set()
    at: BaseException | None = problem
    while at is not None and id(at) not in seen:
        seen.add(id(at))
        yield at
        at = at.__cause__ or (None if at.__suppress_context__ else at.__context__)


def _steps(trace: TracebackType | None) -> Iterator[str]:
    steps = list(traceback.walk_tb(trace))
    if len(steps) > MOST_FRAMES:
        yield f"  {len(steps) - MOST_FRAMES} steps left out"
    for frame, line in steps[-MOST_FRAMES:]:
        module = str(frame.f_globals.get("__name__", "?"))
        yield f"  {module}:{line} in {frame.f_code.co_name}" if _public(module) else f"  elsewhere:{line}"
        if module.partition(".")[0] == OURS:
            yield from _sizes(frame)


def _public(module: str) -> bool:
    """Whether a module is known to the world: ours, Python's, or installed. A script of somebody's may be called as the shot is."""
    top = module.partition(".")[0]
    home = getattr(sys.modules.get(top), "__file__", None) or ""
    return top == OURS or top in sys.stdlib_module_names - {"__main__"} or "site-packages" in home or "dist-packages" in home


def _sizes(frame: FrameType) -> Iterator[str]:
    """How large the things were that one step of ours worked with: names from our code, never what was in them."""
    found = {name: _size(value) for name, value in frame.f_locals.items()}
    told = [f"{name} {size}" for name, size in found.items() if size]
    if told:
        yield f"      {', '.join(told)}"


def _size(value: object) -> str:
    shape, kind = getattr(value, "shape", None), getattr(value, "dtype", None)
    with suppress(Exception):  # somebody else's types may do anything when they are asked
        if isinstance(shape, tuple) and kind is not None:
            return f"{kind}{list(shape)}"
        if isinstance(value, Sized):
            return f"{type(value).__name__}({len(value)})"
    return ""


def scrubbed(message: str) -> str:
    """A message with every word left out that is not one of Python's own; numbers stay."""
    return _TOKEN.sub(lambda m: m[0] if m[0].lower() in PLAIN_WORDS or _NUMBER.fullmatch(m[0]) else "-", message[:500])


def fault_steps(traces: str) -> Iterator[str]:
    """Steps in code from the fault handler's words, without the folders that the code lies in."""
    for line in traces.splitlines():
        step = re.match(r'\s+File "([^"]*)", line (\d+) in (\w+|<\w+>)', line)
        if step:
            yield f"  {_code_name(step[1])}:{step[2]} in {step[3]}"
        elif re.match(r"(Fatal Python error: |Current thread|Thread 0x)", line):
            yield re.sub(r"0x[0-9a-f]+ ?", "", line[:80])


def _code_name(path: str) -> str:
    """A file of code by its place within its package."""
    parts = re.split(r"[\\/]", path)
    for home in ("site-packages", "src", f"python{sys.version_info.major}.{sys.version_info.minor}"):
        if home in parts:
            return "/".join(parts[len(parts) - parts[::-1].index(home) :])
    return "elsewhere"
