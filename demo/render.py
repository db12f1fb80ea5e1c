"""Renders the demo film. `python demo/render.py` makes everything that the package ships; see README.md."""

from __future__ import annotations

import argparse
import hashlib
import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
from scipy.io import wavfile

import acting
import browser
import handover
import pack
import puppets
import story
import takes
import textures
import voices
from rig import Pose

HERE = Path(__file__).parent
SHIPPED = HERE.parent / "src" / "shotcrit" / "demo_film"
CRF = 27


def fov_y(k: int) -> float:
    """Degrees, from focal length and film back."""
    return float(2 * np.degrees(np.arctan(story.FILM_BACK_MM[1] / 2 / story.FOCAL_MM[k])))


def cameras() -> list[dict]:
    return [{"node": node, "fov_y": fov_y(k)} for k, node in enumerate(puppets.CAMERAS)]


def speech(build: Path) -> tuple[dict[int, voices.Phrase], dict[int, list[voices.Phone]]]:
    """Every phrase by its place in the story, and each line's phones on the story's clock."""
    spoken, lines = {}, {}
    for k, phrase in enumerate(story.PHRASES):
        voice, stretch, setup = story.VOICES[phrase.who]
        made = voices.speak(phrase.said or phrase.text, voice=voice, stretch=stretch, setup=setup, work=build / "voice")
        spoken[k] = made
        phones = [voices.Phone(p.name, p.start_s + phrase.start, p.end_s + phrase.start) for p in made.phones]
        before = lines.setdefault(phrase.line, [])
        if before:
            before.append(voices.Phone("pau", before[-1].end_s, phones[0].start_s))
        before.extend(phones)
    return spoken, lines


def track(take: takes.Take, spoken: dict[int, voices.Phrase]) -> np.ndarray:
    pieces = [(take.seconds(story.PHRASES[k].start), p.sound) for k, p in spoken.items()]
    pieces += [(take.seconds(b.start), voices.breath(b.length, level_db=b.level_db, seed=100 + k)) for k, b in enumerate(story.BREATHS)]
    return voices.mixed(pieces, take.n / story.FPS, seed=9)


def held(values: np.ndarray, tail: int) -> np.ndarray:
    return np.concatenate([values, np.repeat(values[-1:], tail, axis=0)])


def held_pose(pose: Pose, tail: int) -> Pose:
    kinds = [{k: held(v, tail) for k, v in getattr(pose, kind).items()} for kind in ("move", "turn", "scale")]
    return Pose(pose.n + tail, *kinds, {who: {k: held(v, tail) for k, v in m.items()} for who, m in pose.morphs.items()})


def shots(take: takes.Take) -> list[dict]:
    starts = [0, *(take.shown(c) - story.FIRST_SHOWN for c in story.CUTS), take.n]
    return [
        {"first": a, "last": b - 1, "camera": c, "blur_px": story.BLUR_PX[k], "light": story.LIGHT_AT[k]}
        for k, (a, b, c) in enumerate(zip(starts, starts[1:], puppets.CAMERAS, strict=False))
    ]


def performed(take: takes.Take, lines: dict[int, list[voices.Phone]]) -> tuple[acting.Performance, dict]:
    """The acting with its dead tail, and the dictionary that the page draws."""
    live = acting.perform(take.u, lines, take.faults)
    act = acting.Performance(
        held_pose(live.pose, take.tail), {k: held(v, take.tail) for k, v in live.lifts.items()},
        {w: {k: held(v, take.tail) for k, v in m.items()} for w, m in live.mouths.items()},
        {k: held(v, take.tail) for k, v in live.aims.items()}, held(live.flame, take.tail),
    )  # fmt: skip
    time = held(take.u / story.FPS, take.tail)
    boat = held(acting.eased(story.BOAT_LIGHT, take.u), take.tail)
    cut = shots(take)
    hidden = [{"who": "Oona", "first": cut[1]["first"], "last": cut[1]["last"]}]
    return act, pack.take_dict(act.pose, shots=cut, hidden=hidden, time=time, flame=act.flame, boat_light=boat)


def fingerprints(build: Path, data: dict, width: int) -> list[str]:
    """One a frame: equal when the picture must be equal, so that a frame is drawn once."""
    base = hashlib.sha256(str(width).encode())
    for path in (build / "scene.json", build / "scene.bin", *sorted((HERE / "web").iterdir())):
        base.update(path.read_bytes())
    sizes = {"move": 3, "turn": 4, "scale": 3}
    columns = [np.reshape(v, (data["n"], sizes[kind])) for track in data["tracks"].values() for kind, v in track.items()]
    columns += [np.reshape(v, (-1, 1)) for m in data["morphs"].values() for v in m.values()]
    columns += [np.reshape(data[k], (-1, 1)) for k in ("time", "flame", "boat_light")]
    rows = np.round(np.hstack(columns), 7) + 0.0
    out = []
    for i, row in enumerate(rows):
        shot = next(s for s in data["shots"] if s["first"] <= i <= s["last"])
        one = base.copy()
        one.update(row.tobytes() + json.dumps([shot["camera"], shot["blur_px"], shot["light"]]).encode())
        out.append(one.hexdigest()[:24])
    return out


def draw(build: Path, name: str, data: dict, frames: list[int], *, width: int) -> Path:
    """JPEG frames, numbered from 0, drawn once and kept in build/drawn."""
    folder, store = build / f"{name}_frames_{width}", build / "drawn"
    shutil.rmtree(folder, ignore_errors=True)
    for path in (folder, store):
        path.mkdir(parents=True, exist_ok=True)
    marks = fingerprints(build, data, width)
    with browser.opened(build, name, width=width, height=width * 9 // 16) as page:
        for i in frames:
            drawn = store / f"{marks[i]}.jpg"
            if not drawn.exists():
                drawn.write_bytes(browser.picture(page, i))
            shutil.copy(drawn, folder / f"{i:04d}.jpg")
            if i % 24 == 0:
                print(f"{name}: frame {i} of {data['n']}", flush=True)
    return folder


def encode(folder: Path, wave: Path | None, movie: Path) -> None:
    """H.264 and AAC, in colours that say what they are. Key frames lie far apart: one within a dead tail would stir what is meant to stand still."""
    sound = ["-i", str(wave), "-c:a", "aac", "-b:a", "128k"] if wave else []
    colour = ["-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709", "-color_range", "tv"]
    subprocess.run(
        ["ffmpeg", "-y", "-loglevel", "error", "-framerate", str(story.FPS), "-i", str(folder / "%04d.jpg"), *sound[:2],
         "-vf", "scale=out_color_matrix=bt709:out_range=tv", "-c:v", "libx264", "-preset", "slow",
         "-tune", "animation", "-crf", str(CRF), "-pix_fmt", "yuv420p",
         "-g", "120", "-bitexact", *colour, *sound[2:], "-movflags", "+faststart", str(movie)],
        check=True,
    )  # fmt: skip


def write_scene(build: Path) -> None:
    if not (build / "textures").exists():
        textures.write(build / "textures")
    names = sorted(p.stem for p in (build / "textures").glob("*.png"))
    pack.write_scene(build, "scene", puppets.rig(), puppets.drawables(), cameras(), names)
    pack.write_scene(build, "standins", puppets.rig(), puppets.standins(), cameras(), [])


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--build", type=Path, default=HERE / "build", help="folder for frames and other things in between")
    parser.add_argument("--out", type=Path, default=SHIPPED, help="folder for the films and what goes with them")
    parser.add_argument("--takes", nargs="+", default=["take1", "take2"], choices=["take1", "take2", "clean"])
    parser.add_argument("--width", type=int, default=1280)
    parser.add_argument("--only", nargs="+", type=int, help="draw only these frames (from 0), and nothing else")
    parser.add_argument("--drawn", action="store_true", help="take the frames that the last run drew")
    parser.add_argument("--no-frames", action="store_true", help="everything but the movie")
    return parser.parse_args()


def main() -> None:
    args = arguments()
    args.build.mkdir(parents=True, exist_ok=True)
    write_scene(args.build)
    spoken, lines = speech(args.build)
    makers = {"take1": takes.first, "take2": takes.second, "clean": lambda _: takes.clean()}
    for name in args.takes:
        take = makers[name](lines)
        act, data = performed(take, lines)
        (args.build / f"{name}.json").write_text(json.dumps(data))
        if args.only:
            draw(args.build, name, data, args.only, width=args.width)
            continue
        one(args, take, act, data, spoken, lines)


def one(args: argparse.Namespace, take: takes.Take, act: acting.Performance, data: dict, spoken: dict, lines: dict) -> None:
    """Movie, scene, cast, key and truth of one take."""
    args.out.mkdir(parents=True, exist_ok=True)
    wave = args.build / f"{take.name}.wav"
    wavfile.write(wave, voices.RATE, track(take, spoken))
    stem = f"lantern_040_{take.name}"
    if not args.no_frames:
        folder = args.build / f"{take.name}_frames_{args.width}"
        if not args.drawn:
            draw(args.build, take.name, data, list(range(take.n)), width=args.width)
        encode(folder, wave, args.out / f"{stem}.mp4")
    handover.write(args.out, HERE / "truth", stem, take, act, data, lines)
    with browser.opened(args.build, take.name, scene="standins", width=64, height=36) as page:
        (args.out / f"{stem}.glb").write_bytes(browser.glb(page))


if __name__ == "__main__":
    main()
