"""The body's closed shapes around its joints: tapered capsules, wide where flesh is, narrow at the joints."""

from __future__ import annotations

from dataclasses import dataclass

from programs.drawings.figures.outlines import Closed, capsule, rounded
from programs.drawings.figures.skeleton import HALF_TRUNK, Body, along, shifted
from programs.drawings.svg import Point

FIST = 1.9


@dataclass(frozen=True)
class Group:
    """Shapes painted as one silhouette; those of a far limb are shaded."""

    shapes: tuple[Closed, ...]
    far: bool = False


def side_groups(body: Body) -> list[Group]:
    """From the back to the front: far limbs, head, trunk with the near leg, near arm."""
    joints, angles = body.joints, body.angles
    groups = []
    if "leg" in body.far:
        groups.append(Group(_side_leg(body, "2"), far=True))
    if "arm" in body.far:
        groups.append(Group(_side_arm(body, "2"), far=True))
    groups.append(Group(_side_head(joints["head"], angles["head"])))
    groups.append(Group((*_side_trunk(body), *_side_leg(body, ""))))
    groups.append(Group(_side_arm(body, "")))
    return groups


def front_groups(body: Body, *, arms_behind: bool) -> list[Group]:
    """From the back to the front: head, trunk and legs, arms; arms first where they hang from above."""
    joints, angles = body.joints, body.angles
    trunk = angles["trunk"]
    length = 2 * HALF_TRUNK * _trunk_share(body)
    neck = capsule(joints["neck"], along(joints["neck"], angles["head"], 6.4), 2.9, 2.5)
    outline = [
        shifted(joints["pelvis"], side * across, up * length, trunk)
        for side, levels in ((1, _TRUNK), (-1, _TRUNK[::-1]))
        for across, up in levels
    ]
    shoulders = capsule(
        shifted(joints["shoulderL"], 2.2, 0.2, trunk), shifted(joints["shoulderR"], -2.2, 0.2, trunk), 3.0
    )
    head = Group(
        (
            capsule(
                along(joints["head"], angles["head"], 1.2), along(joints["head"], angles["head"] + 180, 1.8), 5.1, 4.2
            ),
        )
    )
    legs = [shape for side in "RL" for shape in _front_leg(body, side)]
    middle = Group((neck, rounded(outline), shoulders, *legs))
    arms = [Group(_arm(body, side)) for side in "RL"]
    return [*arms, head, middle] if arms_behind else [head, middle, *arms]


_TRUNK = ((4.0, -0.17), (8.0, -0.06), (8.4, 0.04), (6.9, 0.38), (8.6, 0.72), (8.8, 0.9), (7.0, 0.99))
"""Half widths of the trunk from the front, and where along it."""


def _trunk_share(body: Body) -> float:
    (x1, y1), (x2, y2) = body.joints["pelvis"], body.joints["neck"]
    return ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 / (2 * HALF_TRUNK)


def _side_head(centre: Point, upward: float) -> tuple[Closed, ...]:
    crown, jaw = shifted(centre, 0, 1.2, upward), shifted(centre, 0.9, -1.6, upward)
    nose = capsule(shifted(centre, 4.0, -0.2, upward), shifted(centre, 5.6, -0.7, upward), 1.3, 0.7)
    return (capsule(crown, jaw, 5.2, 4.2), nose)


def _side_trunk(body: Body) -> tuple[Closed, ...]:
    joints = body.joints
    waist = along(joints["hip"], body.angles["trunk"], 0.75 * HALF_TRUNK)
    ribs = along(joints["mid"], body.angles["chest"], 0.55 * HALF_TRUNK)
    neck = along(joints["shoulder"], body.angles["head"], 7.0)
    return (
        capsule(joints["hip"], waist, 4.8, 4.0),
        capsule(ribs, waist, 5.2, 4.0),
        capsule(ribs, joints["shoulder"], 5.2, 3.4),
        capsule(joints["shoulder"], neck, 2.6, 2.2),
    )


def _side_leg(body: Body, side: str) -> tuple[Closed, ...]:
    hip, knee, ankle, toe, heel = (
        body.joints["hip"],
        *(body.joints[f"{name}{side}"] for name in ("knee", "ankle", "toe", "heel")),
    )
    return (
        capsule(hip, knee, 4.4, 3.0),
        capsule(knee, ankle, 3.0, 1.9),
        capsule(ankle, heel, 1.9, 1.2),
        capsule(ankle, toe, 1.9, 1.1),
        capsule(heel, toe, 1.2, 1.1),
    )


def _side_arm(body: Body, side: str) -> tuple[Closed, ...]:
    elbow, hand = body.joints[f"elbow{side}"], body.joints[f"hand{side}"]
    return (
        capsule(body.joints["shoulder"], elbow, 2.8, 2.1),
        capsule(elbow, hand, 2.1, 1.5),
        capsule(hand, hand, FIST),
    )


def _front_leg(body: Body, side: str) -> tuple[Closed, ...]:
    hip, knee, ankle, toe = (body.joints[f"{name}{side}"] for name in ("hip", "knee", "ankle", "toe"))
    return (capsule(hip, knee, 4.3, 3.0), capsule(knee, ankle, 3.0, 1.9), capsule(ankle, toe, 1.9, 1.8))


def _arm(body: Body, side: str) -> tuple[Closed, ...]:
    shoulder, elbow, hand = (body.joints[f"{name}{side}"] for name in ("shoulder", "elbow", "hand"))
    return (capsule(shoulder, elbow, 2.8, 2.1), capsule(elbow, hand, 2.1, 1.5), capsule(hand, hand, FIST))
