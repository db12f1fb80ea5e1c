"""eyeline: where eyes point against where they should. Levels 2 and 3, with looks."""

from __future__ import annotations

from collections.abc import Mapping

from shotcrit.checks.about import Column, Kind, Needs
from shotcrit.checks.eyeline.beside import wrong_side
from shotcrit.checks.eyeline.darts import DART_BASIS, dart_findings
from shotcrit.checks.eyeline.eyes import VERGENCE_BASIS
from shotcrit.checks.eyeline.judge import TARGET_BASIS, look_findings, undecided
from shotcrit.checks.eyeline.pair import HEIGHTS_BASIS, of_one_of_a_pair, pair_findings
from shotcrit.checks.finding import COMMON, Finding, Limit, NotMeasured, Result
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import EYE_MARKS, HEAD_MARKS
from shotcrit.readings.looks.wanted import JudgedLook, judged_looks

ID = "eyeline"
TITLE = "Eye lines"
HELP = (
    "For each look the angle between where the eyes point and should point, as the audience sees it; whether two who look at each other meet; "
    "whether both eyes agree and hold; darts that float."
)
NAME = "eye line"
VERSION = 3
COLUMN: Column = "eyes"
KINDS = (
    Kind("off_target", "off target", "miss"),
    Kind("drift", "drift", "miss"),
    Kind("do_not_meet", "do not meet", "miss"),
    Kind("heights", "heights", "miss"),
    Kind("not_converged", "not converged"),
    Kind("eyes_disagree", "eyes disagree"),
    Kind("dart", "dart"),
)
NEEDS = Needs(("pictures", "cast"), marks=(*EYE_MARKS, *HEAD_MARKS), theirs=("eye_left", *HEAD_MARKS))
LIMITS = (
    Limit("off_deg", 2.0, "degrees", TARGET_BASIS, "How far a look may miss its target."),
    Limit("must_deg", 5.0, "degrees", TARGET_BASIS, "From here on a miss holds the shot back."),
    Limit("heights_deg", 3.0, "degrees", HEIGHTS_BASIS, "How far one may look up more than the other looks down."),
    Limit(
        "disagree_deg", 3.0, "degrees", "guess: well above the 1 to 2 degrees that are seen", "Height that one eye may have over the other."
    ),
    Limit("vergence_deg", 7.0, "degrees", VERGENCE_BASIS, "Crossing too near or too far, both eyes together."),
    Limit("drift_deg", 3.0, "degrees", COMMON, "How far a held look may slide off."),
    Limit(
        "drift_frames", 16, "frames", "guess: two thirds of a second, a shorter look has no time to slide", "Shortest look that can drift."
    ),
    Limit(
        "dart_deg",
        1.0,
        "degrees a frame",
        "guess: 24 degrees a second, far below any saccade",
        "Turn from which on eyes are darting, not resting.",
    ),
    Limit(
        "lids_open",
        0.35,
        "of the open eye",
        "guess: the lids then cover the pupil's middle",
        "Lids below this are a blink, in which no gaze is read.",
    ),
    Limit("fewest_frames", 3, "frames", "guess: of two frames that differ neither is the odd one", "Resting frames that a look needs."),
    Limit(
        "dart_least_deg",
        5.0,
        "degrees",
        "half of natural saccades are above this (Malinov et al. 2000, Vision Res. 40:2083-2090)",
        "Smallest dart that is judged.",
    ),
    Limit("dart_spare_frames", 2.0, "frames", DART_BASIS, "Frames that a dart may take beyond the main sequence."),
)


def run(readings: Readings, limits: Mapping[str, float]) -> Result:
    """Judge every look that the cast names; ask for what the others need."""
    findings: list[Finding] = []
    missing: dict[tuple[str | None, str], NotMeasured] = {}
    judged: list[JudgedLook] = []
    for look in judged_looks(readings):
        if isinstance(look, JudgedLook):
            judged.append(look)
            findings += look_findings(readings, look, limits)
            findings += wrong_side(readings, look, limits)
            doubt = undecided(readings, look, limits)
            if doubt:
                missing[look.who, doubt] = NotMeasured(ID, look.who, doubt)
        else:
            missing[look.who, look.needs] = NotMeasured(ID, look.who, look.needs)
    findings = [*of_one_of_a_pair(readings, judged, limits, findings), *pair_findings(readings, judged, limits)]
    findings += dart_findings(readings, limits)
    if readings.cast is None or not readings.cast.looks:
        missing[None, ""] = NotMeasured(ID, None, "looks in the cast: who looks at whom, at what, or at the camera")
    return Result(tuple(findings), tuple(missing.values()))
