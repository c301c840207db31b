"""What a drawing must keep to: reach, range of joints, the ground, its box, balance, and a hand on what moves."""

from __future__ import annotations

from programs.drawings.figures.entries import Entry, Picture
from programs.drawings.figures.skeleton import ANKLE_HEIGHT, SOLE, Body
from programs.drawings.svg import Point

MOST_SHORTFALL = 0.4
LOWEST_JOINT = 0.3
SOLE_TOLERANCE = 0.5
RESTING_BELOW = 10.0
"""Hips or shoulders this low lie on the ground."""
RANGES = {
    "hip": (-30.0, 140.0),
    "knee": (-3.0, 155.0),
    "ankle": (-62.0, 45.0),
    "elbow": (-5.0, 152.0),
    "shoulder": (-75.0, 190.0),
}
"""Degrees from standing straight; past 20 an ankle bends so only on a raised heel."""
FREE_LOADS = {
    "disc": 0.6,
    "barbell": 0.6,
    "dumbbell": 0.2,
    "dumbbell_end": 0.2,
    "kettlebell": 0.2,
    "trap_bar": 0.6,
    "bag": 0.3,
}
"""What is carried, as a share of body mass: it must stay over the feet."""
MASSES = {
    "head": 0.081,
    "trunk": 0.497,
    "upper arm": 0.028,
    "forearm": 0.022,
    "thigh": 0.1,
    "shank": 0.0465,
    "foot": 0.0145,
}
"""Shares of body mass, one limb each (Winter 2009)."""


def faults(known: Entry) -> list[str]:
    """What is wrong with a drawing's poses, in words; empty when all is well."""
    found = []
    for number, picture in enumerate(known.pictures, start=1):
        body = picture.body
        if body.shortfall > MOST_SHORTFALL:
            found.append(f"{number}: a reach falls {body.shortfall:.1f} short")
        found += [
            f"{number}: {name} at {y:.1f} is under the ground"
            for name, (_, y) in body.joints.items()
            if y < LOWEST_JOINT
        ]
        if known.view == "side":
            found += [f"{number}: {words}" for words in _out_of_range(body)]
            if (lean := overbalance(picture)) > 0:
                found.append(f"{number}: topples by {lean:.1f}")
    if len(known.pictures) == 2:
        first, second = (picture.body.joints for picture in known.pictures)
        moved = max(abs(x - second[name][0]) + abs(y - second[name][1]) for name, (x, y) in first.items())
        if moved < 4:
            found.append("the pictures hardly differ")
    return found


def ranges(body: Body) -> dict[str, float]:
    """Angles of the joints seen from the side, 0 in standing, bending counted upward; far limbs with a 2."""
    a = body.angles
    found = {}
    for side in ("", "2"):
        if not side or "leg" in body.far:
            found[f"hip{side}"] = _turn(a[f"thigh{side}"] - a["trunk"] + 180)
            found[f"knee{side}"] = _turn(a[f"thigh{side}"] - a[f"shin{side}"])
            found[f"ankle{side}"] = _turn(a[f"foot{side}"] - a[f"shin{side}"] - 90)
        if side and "arm" not in body.far:
            continue
        found[f"elbow{side}"] = _turn(a[f"forearm{side}"] - a[f"arm{side}"])
        shoulder = _turn(a[f"arm{side}"] - a["chest"] + 180)
        found[f"shoulder{side}"] = shoulder + 360 if shoulder < -90 else shoulder
    return found


def _out_of_range(body: Body) -> list[str]:
    foreshortened = _arm_share(body) < 0.99
    found = []
    for name, angle in ranges(body).items():
        joint = name.removesuffix("2")
        low, high = RANGES[joint]
        if foreshortened and joint in ("elbow", "shoulder"):
            continue
        if not low - 0.01 <= angle <= high + 0.01:
            found.append(f"{name} at {angle:.0f} degrees")
    return found


def _arm_share(body: Body) -> float:
    (x1, y1), (x2, y2) = body.joints["shoulder"], body.joints["elbow"]
    return ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 / 17.4


def on_its_own_feet(picture: Picture) -> bool:
    """Whether nothing but the soles of both feet, flat on the ground, holds the figure up."""
    body = picture.body
    joints = body.joints
    flat = abs(joints["ankle"][1] - ANKLE_HEIGHT) <= SOLE_TOLERANCE and abs(body.angles["foot"]) < 1
    seated = min(joints["hip"][1], joints["shoulder"][1]) < RESTING_BELOW
    return flat and not seated and not body.far and all(prop.kind in FREE_LOADS for prop in picture.props)


def overbalance(picture: Picture) -> float:
    """How far the centre of mass lies outside the soles; 0 inside, or where more than the feet carries."""
    if not on_its_own_feet(picture):
        return 0.0
    ankle = picture.body.joints["ankle"][0]
    x = centre_of_mass(picture)[0]
    return max(ankle + SOLE[0] - x, x - ankle - SOLE[1], 0.0)


def centre_of_mass(picture: Picture) -> Point:
    """Of body and load together, seen from the side."""
    joints = picture.body.joints
    parts = [(joints["head"], MASSES["head"]), (joints["mid"], MASSES["trunk"])]
    for name, first, second in (
        ("upper arm", "shoulder", "elbow"),
        ("forearm", "elbow", "hand"),
        ("thigh", "hip", "knee"),
        ("shank", "knee", "ankle"),
        ("foot", "heel", "toe"),
    ):
        (x1, y1), (x2, y2) = joints[first], joints[second]
        parts.append((((x1 + x2) / 2, (y1 + y2) / 2), 2 * MASSES[name]))
    parts += [(joints["hand"], FREE_LOADS[prop.kind]) for prop in picture.props]
    whole = sum(mass for _, mass in parts)
    return (sum(x * mass for (x, _), mass in parts) / whole, sum(y * mass for (_, y), mass in parts) / whole)


def _turn(degrees: float) -> float:
    return (degrees + 180) % 360 - 180
