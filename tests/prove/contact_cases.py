"""The cases behind profiles/tube_contact.toml: sizes the rules can draw, at random but repeatable.

A case is a tube as it may come, a barb as it may be printed, one friction. Rubber scales with
its modulus, so it has one; a wall that yields has two numbers more.
"""

from __future__ import annotations

import json
import time

import numpy as np

from barbwright.prove.contact.drive import NotConvergedError
from barbwright.prove.contact.materials import Plastic, Rubber
from barbwright.prove.contact.outline import DrawnBarb
from barbwright.prove.contact.seat import FOR_RUBBER, FOR_YIELDING, TubeFit, seat

MODULUS = {"rubber": 10.0, "plastic": 100.0}
SEED = {"rubber": 11, "plastic": 12}
VARIABLES = 11
# Numbers from here on are pushed dry or warm, and held wet: the frictions the checks ask for.
HOLD_FROM, PUSH_FROM = 1024, 2048
# And from here on with the yield strains and hardenings that tube records have.
HOLD_KNOWN_FROM, PUSH_KNOWN_FROM = 3072, 4096
FRICTION = {
    0: (0.15, 1.05), HOLD_FROM: (0.15, 0.30), PUSH_FROM: (0.40, 1.05),
    HOLD_KNOWN_FROM: (0.17, 0.24), PUSH_KNOWN_FROM: (0.45, 1.05),
}  # fmt: skip


def case_of(kind: str, number: int) -> dict[str, float | str | int]:
    """Return one case: sizes [mm], friction, yield and hardening over the modulus."""
    # One stratum a variable and case, shuffled: a Latin square of blocks of 64.
    block, place = divmod(number, 64)
    dice = np.random.default_rng([SEED[kind], block])
    strata = np.stack([dice.permutation(64) for _ in range(VARIABLES)], 1)
    share = ((strata + dice.random(strata.shape)) / 64.0)[place]
    inner = 3.7 + 6.1 * share[0]
    outer = inner * 1.22 * (2.0 / 1.22) ** share[1]
    expansion = 0.02 + (0.20 + 0.6 / inner) * share[2]
    crest = inner * (1.0 + expansion)
    step = 0.6 + (max(0.4, 0.2 * inner - 0.3)) * share[3]
    root = crest - step
    land = 0.7 + 0.25 * share[4]
    nose = min(inner - 0.2 - 0.3 * share[5], root)
    slope = np.tan(np.radians(13.5))
    pitch = max(3.0, max(2.5 * inner, 9.0) / 3.5, (crest - nose) / 2.0 / slope + land)
    pitch *= 0.95 + 0.15 * share[6]
    pitch = max(pitch, (crest - nose) / 2.0 / slope + land)
    least, most = FRICTION[max(first for first in FRICTION if first <= number)]
    known = number >= HOLD_KNOWN_FROM
    return {
        "kind": kind,
        "number": number,
        "inner": inner,
        "outer": outer,
        "crest": crest,
        "root": root,
        "nose": nose,
        "land": land,
        "pitch": pitch,
        "insertion": max(2.5 * inner, 9.0, 3.5 * pitch),
        "friction": least * (most / least) ** share[7],
        "yield": 0.03 + 0.04 * share[8] if known else 0.02 * 5.0 ** share[8],
        "hardening": 0.6 * 3.0 ** share[9] if known else 0.3 * 10.0 ** share[9],
    }


def fit_of(case: dict) -> TubeFit:
    """Return a case as the model takes it."""
    modulus = MODULUS[case["kind"]]
    stress = case["yield"] * modulus
    wall = Rubber(modulus) if case["kind"] == "rubber" else Plastic(
        modulus, stress, case["hardening"] * stress
    )  # fmt: skip
    barb = DrawnBarb(
        nose_mm=case["nose"],
        root_mm=case["root"],
        crest_mm=case["crest"],
        land_mm=case["land"],
        pitch_mm=case["pitch"],
        insertion_mm=case["insertion"],
    )
    return TubeFit(
        inner_mm=case["inner"], outer_mm=case["outer"], barb=barb, wall=wall,
        modulus_mpa=modulus, friction=case["friction"],
    )  # fmt: skip


def run(case: dict, *, pull: bool = False, fine: bool = False) -> dict:
    """Return a case with what the model finds, stresses and forces over the modulus."""
    case = {**case, "fine": fine}
    fineness = FOR_YIELDING if fine else FOR_RUBBER
    start, modulus = time.monotonic(), MODULUS[case["kind"]]
    try:
        found = seat(fit_of(case), fineness, pull=pull)
    except NotConvergedError:
        return {**case, "failed": True}
    return {
        **case,
        "peak": found.peak_n / modulus,
        "normal": found.released.normal_n / modulus,
        "normal_pushed": found.pushed.normal_n / modulus,
        "lands": (found.released.lands_mpa / modulus).tolist(),
        "lands_pushed": (found.pushed.lands_mpa / modulus).tolist(),
        "squeeze": max(found.pushed.squeeze_mpa, found.released.squeeze_mpa) / modulus,
        "pull_off": found.pull_off_n / modulus if pull else None,
        "shortening": found.shortening_mm,
        "balance": found.balance,
        "steps": found.steps,
        "cuts": found.cuts,
        "snaps": found.snaps,
        "iterations": found.iterations,
        "seconds": round(time.monotonic() - start, 2),
    }


def done(path) -> dict[tuple[str, int, bool], dict]:
    """Return the cases a file already holds."""
    if not path.exists():
        return {}
    rows = [json.loads(line) for line in path.read_text().splitlines() if line.strip()]
    return {(row["kind"], row["number"], row["fine"]): row for row in rows}


# Cases of each kind: over all frictions, held, pushed, and with known yields held and pushed.
WANTED = {"rubber": (73, 68, 54, 0, 0), "plastic": (85, 70, 31, 78, 58)}
# A wall that yields again as finely as `prove` works it, these of each.
FINE = (range(0, 10, 2), range(0, 10, 2), range(0, 6, 2), range(9), range(10))


def wanted() -> list[tuple[str, int, bool]]:
    """Return which cases to run, all kinds and uses side by side, and which finely."""
    found = []
    for kind, counts in WANTED.items():
        for first, count in zip(FRICTION, counts, strict=True):
            found += [(place / count, kind, first + place, False) for place in range(count)]
    for first, places in zip(FRICTION, FINE, strict=True):
        found += [(place / 100.0, "plastic", first + place, True) for place in places]
    return [(kind, number, fine) for _, kind, number, fine in sorted(found)]


def fill(path, share: int = 0, shares: int = 1, pull_every: int = 4) -> None:
    """Run what a file lacks, a line a case as it comes; or one share of several."""
    known = done(path)
    for kind, number, fine in wanted()[share::shares]:
        if (kind, number, fine) not in known:
            row = run(case_of(kind, number), pull=number % pull_every == 0, fine=fine)
            with path.open("a") as file:
                file.write(json.dumps(row) + "\n")
