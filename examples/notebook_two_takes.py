"""Two takes of the demo shot: what the mouth does against what the phones ask for, and what the second take changed.

Runs as a script (the picture is written beside you as two_takes.png) or cell by cell in an editor that knows `# %%`. Wants matplotlib; the first run
measures for a minute or two, later ones remember.
"""

from __future__ import annotations

# %% Both takes, measured
from importlib.resources import files
from pathlib import Path

import matplotlib.pyplot as plot
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

import shotcrit

FILM = Path(str(files("shotcrit"))) / "demo_film"
PAPER, PENCIL, BLUE, RED, OCHRE = "#f7efe1", "#2b2622", "#2f5d8a", "#a8332a", "#b98a2e"
WHO = "Oona"
LINE = "Hold it up, higher."


def measured(take: str) -> shotcrit.Shot:
    """A take with all that is known about it."""
    stem = FILM / f"lantern_040_{take}"
    return shotcrit.measure(f"{stem}.mp4", lines=f"{stem}.lines.txt", cast=f"{stem}.cast.json", scene=f"{stem}.glb", first_frame=1001)


# %% The mouth as it is seen, as the phones ask for it, and the phones themselves
def frames_of(shot: shotcrit.Shot, words: str) -> tuple[int, int]:
    """First and last frame of the line that begins with these words."""
    line = next((i for i, line in enumerate(shot.lines) if line.text.startswith(words.rstrip("."))), 0)
    spoken = [word for word in shot.words if word.line == line and word.first is not None]
    return min(word.first or 0 for word in spoken), max(word.last or 0 for word in spoken)


def draw_mouth(axes: Axes, shot: shotcrit.Shot, who: str, first: int, last: int, title: str) -> None:
    """Opening against what is asked, each against its own widest, over first..last and half a second round them."""
    shown = (shot.frames >= first - 12) & (shot.frames <= last + 12)
    for name, style, words in (("opening", "-", "seen"), ("wanted", "--", "asked for by the phones")):
        series = shot.series[f"{who}.mouth.{name}"]
        axes.plot(
            series.frames[shown],
            series.values[shown] / np.nanmax(series.values[shown]),
            style,
            color=PENCIL if name == "opening" else OCHRE,
            label=words,
        )
    for place, phone in enumerate(shot.phones):
        if phone.first is not None and phone.last is not None and first <= phone.first <= last:
            middle = shot.first_frame + (phone.start_s + phone.end_s) / 2 * float(shot.rate)
            axes.text(middle, 1.06 + 0.07 * (place % 2), phone.phone, ha="center", fontsize=7, color=PENCIL)
    found = shot.findings.where(check="lipsync", who=who)
    late = next((f for f in found if f.kind == "offset" and f.first <= last and f.last >= first), None)
    axes.set_title(f"{title}: {late.says if late else 'the mouth is on its line'}", loc="left", fontsize=9, color=RED if late else BLUE)
    axes.set(xlim=(first - 12, last + 12), ylim=(0, 1.2), facecolor=PAPER, ylabel="of the widest")


def draw(takes: dict[str, shotcrit.Shot], who: str, words: str) -> Figure:
    """One strip a take, one under the other."""
    figure, strips = plot.subplots(len(takes), 1, figsize=(10, 2.6 * len(takes)), facecolor=PAPER, layout="constrained")
    for axes, (title, shot) in zip(np.atleast_1d(strips), takes.items(), strict=True):
        draw_mouth(axes, shot, who, *frames_of(shot, words), title)
    figure.legend(*np.atleast_1d(strips)[0].get_legend_handles_labels(), loc="outside lower right", ncols=2, fontsize=8, frameon=False)
    np.atleast_1d(strips)[-1].set_xlabel("frame")
    return figure


# %% What was found in each, and what the second take no longer has
def what_went(old: shotcrit.Shot, new: shotcrit.Shot) -> list[str]:
    """Findings of the old take whose like the new one lacks."""
    still = {(f.check, f.kind, f.who) for f in new.findings}
    return [f.says for f in old.findings if (f.check, f.kind, f.who) not in still]


if __name__ == "__main__":
    both = {"Take 1": measured("take1"), "Take 2": measured("take2")}
    for title, shot in both.items():
        print(title, shot)
    print("No longer there in take 2:", *what_went(*both.values()), sep="\n  ")
    draw(both, WHO, LINE).savefig("two_takes.png", dpi=110)
