"""Whether two exercises may be done in turns, and if not, why: the part that would tire in both."""

from programs.engine.compose.evaluate import SUPERSET_JOINTS, SUPERSET_SHARED, superset_clash
from programs.engine.terms import Because, Exercise, Params

LOW_BACK, GRIP = SUPERSET_JOINTS


def pair_clash(one: Exercise, other: Exercise, **where: str | int) -> Because | None:
    """What forbids taking turns; None where nothing does.

    ``where`` says on which ``day`` and ``occurrence`` they would meet.
    """
    if not superset_clash(one, other):
        return None
    found: Params = {"exercise": one.key, "other": other.key, **where}
    if one.role == other.role == "main":
        return Because("pair.two_mains", found)
    shared = {entry.region for entry in other.regions if entry.share >= SUPERSET_SHARED}
    both = [entry for entry in one.regions if entry.share >= SUPERSET_SHARED and entry.region in shared]
    if both:
        most = max(both, key=lambda entry: entry.share)
        return Because("pair.same_region", {**found, "region": most.region})
    if _in_both(one, other, LOW_BACK):
        return Because("pair.low_back", found)
    return Because("pair.grip", found)


def _in_both(one: Exercise, other: Exercise, kinds: tuple[str, ...]) -> bool:
    return all(any(entry.joint in kinds for entry in exercise.joints) for exercise in (one, other))
