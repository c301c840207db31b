"""A body's joints from the directions in which its segments point, seen from the side or from the front.

Unit: stature 100; y grows upward from the ground (0). From the side the person faces right: 0 degrees is
forward, 90 up, and a segment points from its near to its far joint. From the front x grows to the viewer's
right; directions are those of the right side, the left one is their mirror image.

Segment lengths are general shares of stature (Winter 2009).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from programs.drawings.svg import Point

HALF_TRUNK = 14.4
HEAD = 11.6
UPPER_ARM, FOREARM = 17.4, 19.0
THIGH, SHIN = 24.5, 24.6
ANKLE_HEIGHT = 4.0
TOE, HEEL = (9.9, -2.9), (-2.8, -2.8)
"""Centres of the foot's rounded ends from the ankle: the sole lies 4.0 under it, from 4 behind to 11 ahead."""
SOLE = (-4.0, 11.0)

HALF_HIPS, HALF_SHOULDERS, SHOULDER_DROP = 4.6, 10.2, 2.2

STANDING = {"trunk": 90.0, "thigh": -90.0, "shin": -90.0, "foot": 0.0, "arm": -90.0, "forearm": -88.0}
STANDING_FRONT = {"trunk": 90.0, "thigh": -88.0, "shin": -89.0, "arm": -82.0, "forearm": -84.0}


@dataclass(frozen=True)
class Pose:
    """Where one joint stands, how the segments point, and what hands and ankles reach for.

    `angles` in degrees by segment; a name ending in 2 is the far limb's (side view), in R or L one side's
    (front view). `seen` are shares of a segment's length left by foreshortening. `targets` by joint: the point,
    and whether it counts from the shoulder in the trunk's own directions.
    """

    anchor: str
    at: Point
    angles: Mapping[str, float] = field(default_factory=dict)
    seen: Mapping[str, float] = field(default_factory=dict)
    targets: Mapping[str, tuple[Point, bool]] = field(default_factory=dict)
    elbow: float = 1.0


@dataclass(frozen=True)
class Body:
    """Joints by name, the directions found, what a reach fell short by, and which far limbs are drawn."""

    joints: Mapping[str, Point]
    angles: Mapping[str, float]
    shortfall: float
    far: frozenset[str] = frozenset()


def along(start: Point, degrees: float, length: float) -> Point:
    """The point `length` away from start in a direction."""
    turn = math.radians(degrees)
    return (start[0] + length * math.cos(turn), start[1] + length * math.sin(turn))


def shifted(point: Point, forward: float, up: float, upward: float = 90.0) -> Point:
    """A point moved forward and up in a frame whose up points in the direction `upward`."""
    return along(along(point, upward, up), upward - 90, forward)


def two_bones(root: Point, target: Point, first: float, second: float, turn: int) -> tuple[float, float, float]:
    """Directions of two bones that bring the second one's end to a target, and by how much it falls short.

    `turn` is the way the joint between them bends: 1 anticlockwise (an elbow of a person facing right),
    -1 clockwise (a knee).
    """
    wanted = math.dist(root, target)
    reach = min(max(wanted, abs(first - second) + 0.02), first + second - 0.02)
    toward = math.atan2(target[1] - root[1], target[0] - root[0])
    at_root = math.acos((first**2 + reach**2 - second**2) / (2 * first * reach))
    at_end = math.acos((second**2 + reach**2 - first**2) / (2 * second * reach))
    return (
        math.degrees(toward - turn * at_root),
        math.degrees(toward + turn * at_end),
        abs(wanted - reach),
    )


def from_the_side(pose: Pose) -> Body:
    """Joints hip, mid, shoulder, head, knee, ankle, toe, heel, elbow, hand; with a 2 at the end for far limbs.

    Raises KeyError for an anchor that is not a joint.
    """
    angles = {**STANDING, **pose.angles}
    angles.setdefault("chest", angles["trunk"])
    angles.setdefault("head", angles["chest"])
    given = {*pose.angles, *pose.targets}
    far = {
        limb
        for limb, names in (("leg", ("thigh2", "shin2", "foot2", "ankle2")), ("arm", ("arm2", "forearm2", "hand2")))
        if given & set(names)
    }
    joints: dict[str, Point] = {"hip": (0.0, 0.0)}
    joints["mid"] = along(joints["hip"], angles["trunk"], HALF_TRUNK)
    joints["shoulder"] = along(joints["mid"], angles["chest"], HALF_TRUNK)
    joints["head"] = along(joints["shoulder"], angles["head"], HEAD)
    arm = pose.seen.get("arm", 1.0)
    _side_leg(joints, angles, "")
    _side_arm(joints, angles, "", arm)
    moved = (pose.at[0] - joints[pose.anchor][0], pose.at[1] - joints[pose.anchor][1])
    joints = {name: (x + moved[0], y + moved[1]) for name, (x, y) in joints.items()}
    shortfall = 0.0
    for name, (point, in_trunk) in pose.targets.items():
        side = "2" if name.endswith("2") else ""
        if name.startswith("ankle"):
            found = two_bones(joints["hip"], point, THIGH, SHIN, -1)
            angles[f"thigh{side}"], angles[f"shin{side}"] = found[:2]
        else:
            if in_trunk:
                point = shifted(joints["shoulder"], *point, angles["chest"])
            found = two_bones(joints["shoulder"], point, UPPER_ARM * arm, FOREARM * arm, 1)
            angles[f"arm{side}"], angles[f"forearm{side}"] = found[:2]
        shortfall = max(shortfall, found[2])
    for side in ("", "2") if far else ("",):
        for name in ("thigh", "shin", "foot", "arm", "forearm"):
            angles.setdefault(f"{name}{side}", angles[name])
        if not side or "leg" in far:
            _side_leg(joints, angles, side)
        if not side or "arm" in far:
            _side_arm(joints, angles, side, arm)
    return Body(joints, angles, shortfall, frozenset(far))


def _side_leg(joints: dict[str, Point], angles: Mapping[str, float], side: str) -> None:
    joints[f"knee{side}"] = along(joints["hip"], angles[f"thigh{side}"], THIGH)
    ankle = joints[f"ankle{side}"] = along(joints[f"knee{side}"], angles[f"shin{side}"], SHIN)
    joints[f"toe{side}"] = shifted(ankle, *TOE, angles[f"foot{side}"] + 90)
    joints[f"heel{side}"] = shifted(ankle, *HEEL, angles[f"foot{side}"] + 90)


def _side_arm(joints: dict[str, Point], angles: Mapping[str, float], side: str, arm: float) -> None:
    joints[f"elbow{side}"] = along(joints["shoulder"], angles[f"arm{side}"], UPPER_ARM * arm)
    joints[f"hand{side}"] = along(joints[f"elbow{side}"], angles[f"forearm{side}"], FOREARM * arm)


def from_the_front(pose: Pose) -> Body:
    """Joints pelvis, neck (the trunk's end), head, and hip, knee, ankle, toe, shoulder, elbow, hand with R or L;
    hands is the middle between both."""
    angles = {"trunk": pose.angles.get("trunk", STANDING_FRONT["trunk"])}
    angles["head"] = pose.angles.get("head", angles["trunk"])
    for name in ("thigh", "shin", "arm", "forearm"):
        both = pose.angles.get(name, STANDING_FRONT[name])
        angles[f"{name}R"] = pose.angles.get(f"{name}R", both)
        angles[f"{name}L"] = pose.angles.get(f"{name}L", 180 - both)
    joints: dict[str, Point] = {"pelvis": (0.0, 0.0)}
    joints["neck"] = along((0.0, 0.0), angles["trunk"], 2 * HALF_TRUNK * pose.seen.get("trunk", 1.0))
    joints["head"] = along(joints["neck"], angles["head"], HEAD)
    for side, sign in (("R", 1), ("L", -1)):
        joints[f"hip{side}"] = shifted(joints["pelvis"], sign * HALF_HIPS, 0.0, angles["trunk"])
        joints[f"shoulder{side}"] = shifted(joints["neck"], sign * HALF_SHOULDERS, -SHOULDER_DROP, angles["trunk"])
        _front_limbs(joints, angles, pose, side, sign)
    moved = (pose.at[0] - joints[pose.anchor][0], pose.at[1] - joints[pose.anchor][1])
    joints = {name: (x + moved[0], y + moved[1]) for name, (x, y) in joints.items()}
    shortfall = 0.0
    arm = pose.seen.get("arm", 1.0)
    thigh, shin = THIGH * pose.seen.get("thigh", 1.0), SHIN * pose.seen.get("shin", 1.0)
    for name, (point, _) in pose.targets.items():
        for side, sign in (("R", 1), ("L", -1)):
            if name[-1] in "RL" and name[-1] != side:
                continue
            aim = point if name[-1] in "RL" else (sign * point[0], point[1])
            if name.startswith("ankle"):
                found = two_bones(joints[f"hip{side}"], aim, thigh, shin, sign)
                angles[f"thigh{side}"], angles[f"shin{side}"] = found[:2]
            else:
                turn = sign if pose.elbow > 0 else -sign
                found = two_bones(joints[f"shoulder{side}"], aim, UPPER_ARM * arm, FOREARM * arm, turn)
                angles[f"arm{side}"], angles[f"forearm{side}"] = found[:2]
            shortfall = max(shortfall, found[2])
    for side, sign in (("R", 1), ("L", -1)):
        _front_limbs(joints, angles, pose, side, sign)
    right, left = joints["handR"], joints["handL"]
    joints["hands"] = ((right[0] + left[0]) / 2, (right[1] + left[1]) / 2)
    return Body(joints, angles, shortfall)


def _front_limbs(joints: dict[str, Point], angles: Mapping[str, float], pose: Pose, side: str, sign: int) -> None:
    arm = pose.seen.get("arm", 1.0)
    joints[f"knee{side}"] = along(
        joints[f"hip{side}"], angles[f"thigh{side}"], THIGH * pose.seen.get(f"thigh{side}", pose.seen.get("thigh", 1.0))
    )
    ankle = along(
        joints[f"knee{side}"], angles[f"shin{side}"], SHIN * pose.seen.get(f"shin{side}", pose.seen.get("shin", 1.0))
    )
    joints[f"ankle{side}"] = ankle
    joints[f"toe{side}"] = (ankle[0] + sign * 2.2, ankle[1] - 2.2)
    joints[f"elbow{side}"] = along(joints[f"shoulder{side}"], angles[f"arm{side}"], UPPER_ARM * arm)
    joints[f"hand{side}"] = along(joints[f"elbow{side}"], angles[f"forearm{side}"], FOREARM * arm)
