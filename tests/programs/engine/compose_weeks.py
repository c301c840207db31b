"""Made-up exercises and small weeks for the tests of composing, and hard limits checked a second way."""

from collections import Counter
from itertools import product
from random import Random

from programs.engine.compose import DayType, Slot, WeekRequest
from programs.engine.compose.evaluate import Rules, by_place
from programs.engine.minutes import session_seconds, timed
from programs.engine.terms import Exercise, JointStress, Limit, Pick, RegionShare
from programs.engine.vocabulary import AUDITED_GROUPS, GROUP_OF_REGION


def exercise(key, pattern="horizontal_push", role="isolation", regions="pec_stern", implement="dumbbell", **more):
    """``regions`` as "pec_stern delt_ant:0.5": what stands without a share is primary."""
    shares = []
    for entry in regions.split():
        region, _, share = entry.partition(":")
        shares.append(RegionShare(region, float(share or 1)))
    joints = tuple(JointStress(joint, severity) for joint, severity in more.pop("joints", {}).items())
    more.setdefault("load_entry", "none" if implement == "bodyweight" else "total")
    more.setdefault("rep_low", 5)
    more.setdefault("rep_high", 15)
    return Exercise(key, key, pattern, role, tuple(shares), implement, joints=joints, **more)


def library(*exercises):
    return {entry.key: entry for entry in exercises}


PRESS = "pec_stern pec_clav:0.5 delt_ant:0.5 tri_latmed:0.5"
SQUAT = "vasti glute_max:0.5 erector:0.25"
ROW = "trap_mid rhomb lat:0.5 biceps:0.5"
GYM = library(
    exercise("bar-press", "horizontal_push", "main", PRESS, "barbell", needs_all=("flat_bench",), angle="flat",
             skill="intermediate", joints={"shoulder_extension": 2, "elbow": 1}),
    exercise("bell-press", "horizontal_push", "main", PRESS, "dumbbell", needs_one=(("flat_bench", "incline_bench"),),
             angle="flat", joints={"shoulder_extension": 1}),
    exercise("tilted-press", "incline_push", "main", "pec_clav pec_stern:0.5 delt_ant:0.5 tri_latmed:0.5",
             "dumbbell", needs_all=("incline_bench",), angle="incline"),
    exercise("push-up", "horizontal_push", "secondary", PRESS, "bodyweight", joints={"wrist_extension": 1}),
    exercise("chest-machine", "horizontal_push", "secondary", PRESS, "chest_press_machine", load_entry="stack"),
    exercise("chest-fly", "chest_fly", "isolation", "pec_stern pec_clav:0.5", "cable", load_entry="stack"),
    exercise("bar-squat", "squat", "main", SQUAT, "barbell", needs_all=("squat_stand",), skill="intermediate",
             joints={"lumbar_compression": 2, "knee_deep_flexion": 2}),
    exercise("front-squat", "squat", "main", SQUAT, "barbell", needs_all=("squat_stand",), skill="advanced",
             joints={"lumbar_compression": 1, "knee_deep_flexion": 2}),
    exercise("goblet-squat", "squat", "secondary", SQUAT, "dumbbell", joints={"knee_deep_flexion": 1}),
    exercise("leg-press", "squat", "secondary", "vasti glute_max:0.5", "leg_press", joints={"knee_deep_flexion": 2}),
    exercise("split-squat", "lunge", "secondary", SQUAT, "dumbbell", limbs="one"),
    exercise("leg-extension", "knee_extension", "isolation", "rect_fem vasti", "leg_extension_machine",
             load_entry="stack"),
    exercise("bar-hinge", "hinge", "main", "hams glute_max erector:0.5", "barbell", skill="intermediate",
             joints={"lumbar_shear": 2, "grip": 2}),
    exercise("bell-hinge", "hinge", "secondary", "hams glute_max erector:0.5", "dumbbell",
             joints={"lumbar_shear": 1, "grip": 1}),
    exercise("leg-curl", "knee_flexion", "isolation", "hams", "seated_leg_curl", load_entry="stack"),
    exercise("ball-curl", "knee_flexion", "isolation", "hams", "bodyweight", needs_all=("stability_ball",)),
    exercise("chin-up", "vertical_pull", "main", "lat biceps:0.5 brachialis:0.5", "bodyweight",
             needs_all=("pull_up_bar",), skill="intermediate", joints={"elbow": 2, "grip": 1}),
    exercise("pulldown", "vertical_pull", "secondary", "lat biceps:0.5 brachialis:0.5", "cable", load_entry="stack"),
    exercise("bell-row", "horizontal_pull", "secondary", "lat trap_mid:0.5 rhomb:0.5 biceps:0.5", "dumbbell",
             limbs="one", joints={"grip": 1}),
    exercise("cable-row", "horizontal_pull", "secondary", ROW, "cable", load_entry="stack"),
    exercise("bar-row", "horizontal_pull", "main", ROW + " erector:0.5", "barbell", skill="intermediate",
             joints={"lumbar_shear": 2, "grip": 1}),
    exercise("bell-curl", "elbow_flexion", "isolation", "biceps brachialis:0.5", "dumbbell", joints={"elbow": 1}),
    exercise("cable-curl", "elbow_flexion", "isolation", "biceps brachialis:0.5", "cable", load_entry="stack"),
    exercise("pushdown", "elbow_extension", "isolation", "tri_long tri_latmed", "cable", load_entry="stack",
             joints={"elbow": 1}),
    exercise("bell-extension", "elbow_extension", "isolation", "tri_long tri_latmed", "dumbbell",
             joints={"elbow": 2}),
    exercise("side-raise", "shoulder_abduction", "isolation", "delt_lat", "dumbbell"),
    exercise("cable-raise", "shoulder_abduction", "isolation", "delt_lat", "cable", limbs="one",
             load_entry="stack"),
    exercise("plank", "trunk_anti_extension", "trunk", "abs obliques:0.5", "bodyweight", rep_unit="seconds",
             rep_low=20, rep_high=60),
    exercise("crunch", "trunk_flexion", "trunk", "abs", "bodyweight"),
)  # fmt: skip
FULL_GYM = frozenset(
    [
        "barbell",
        "dumbbell",
        "cable",
        "chest_press_machine",
        "leg_press",
        "leg_extension_machine",
        "seated_leg_curl",
        "flat_bench",
        "incline_bench",
        "squat_stand",
        "stability_ball",
        "pull_up_bar",
    ]
)
HOME = frozenset(("dumbbell", "incline_bench"))


def slot(key, region, role="isolation", sets=(2, 4), day="day", **more):
    candidates = more.pop("candidates", ())
    if candidates and isinstance(candidates[0], str):
        candidates = (candidates,)
    regions = (region,) if isinstance(region, str) else region
    return Slot(key, day, regions, role, *sets, candidates=tuple(map(tuple, candidates)), **more)


def day_type(*slots, occurrences=1, key="day", **more):
    return DayType(key, key, occurrences, tuple(slots), **more)


def upper_lower(occurrences=2):
    """A week of two day types that the full gym fills without any empty slot or repeat."""
    upper = day_type(
        slot("press", "pec_stern", "main", (3, 4), "upper", patterns=("horizontal_push",), priority=1,
             candidates=[("bar-press", "bell-press"), ("bell-press", "chest-machine")]),
        slot("pull", "lat", "secondary", (3, 4), "upper", priority=1, candidates=("chin-up", "pulldown")),
        slot("row", ("trap_mid", "rhomb"), "secondary", (3, 4), "upper", candidates=("bar-row", "cable-row")),
        slot("side", "delt_lat", "isolation", (2, 4), "upper", priority=3),
        slot("curl", "biceps", "isolation", (2, 4), "upper", superset="a", priority=3,
             candidates=("cable-curl", "bell-curl")),
        slot("extend", ("tri_long", "tri_latmed"), "isolation", (2, 4), "upper", superset="a", priority=3),
        key="upper", occurrences=occurrences,
    )  # fmt: skip
    lower = day_type(
        slot("squat", "vasti", "main", (3, 4), "lower", patterns=("squat",), priority=1,
             candidates=("bar-squat", "leg-press")),
        slot("hinge", "hams", "main", (3, 4), "lower", patterns=("hinge",), priority=1,
             candidates=("bar-hinge", "bell-hinge")),
        slot("knee", ("rect_fem", "vasti"), "isolation", (2, 3), "lower"),
        slot("curl-legs", "hams", "isolation", (2, 3), "lower"),
        slot("trunk", "abs", "trunk", (2, 3), "lower", priority=3),
        key="lower", occurrences=occurrences,
    )  # fmt: skip
    return upper, lower


def gym_week(**more):
    more.setdefault("stations", FULL_GYM)
    return WeekRequest(upper_lower(), GYM, more.pop("experience", "intermediate"), **more)


def may_do(request, found, pinned=False):
    """Whether the client may do an exercise at the place, worked out without the code under test.

    A coach who pins an exercise vouches for the client's skill, but for nothing else.
    """
    there = set(request.stations) | {"bodyweight"}
    allowed = (
        "advanced"
        if pinned
        else request.skill_allowed or ("basic" if request.experience == "novice" else "intermediate")
    )
    order = ["basic", "intermediate", "advanced"]
    return (
        found.key not in request.excluded
        and {found.implement, *found.needs_all} <= there
        and all(there & set(kinds) for kinds in found.needs_one)
        and not {entry.joint for entry in found.joints} & {limit.joint for limit in request.limits if limit.strict}
        and order.index(found.skill) <= order.index(allowed)
    )


def session_minutes(request, day, picks):
    """A session's minutes from ``minutes`` itself; ``picks`` map slot keys to picks."""
    blocks, label = [], ""
    for line in day.slots:
        if line.key not in picks:
            label = line.superset if line.superset == label else ""
            continue
        pick = picks[line.key]
        found = request.library[pick.exercise]
        low, high = line.reps[pick.occurrence % len(line.reps)]
        if found.rep_unit != "reps" or found.rep_high < low or found.rep_low > high:
            low, high = found.rep_low, found.rep_high
        ramp = ()
        if found.load_entry in ("total", "per_hand", "stack") and found.rep_unit == "reps" and high <= 12:
            heavy = (5, 4, 3, 1) if high <= 5 else (8, 4)
            ramp = {"main": heavy, "secondary": (6,)}.get(found.role, ())
        entry = timed(
            pick.sets, (low + high) / 2, line.rest_s or found.rest_s,
            tempo=(line.tempo or found.tempo) if found.rep_unit == "reps" else "",
            implement=found.implement, unilateral=found.limbs == "one", rep_unit=found.rep_unit, warm_ups=ramp,
        )  # fmt: skip
        if blocks and line.superset and line.superset == label:
            blocks[-1].append(entry)
        else:
            blocks.append([entry])
        label = line.superset
    return session_seconds(blocks, extra_s=day.extra_minutes * 60) / 60


def ceiling(request, group):
    if request.session_ceilings is not None:
        return request.session_ceilings.get(group)
    stop = {"novice": 8, "intermediate": 11, "advanced": 12}[request.experience]
    return (stop / 2 if group in ("trunk", "low_back") else stop) if group in AUDITED_GROUPS else None


def session_dose(request, picks):
    dose = Counter()
    for pick in picks:
        shares = {}
        for entry in request.library[pick.exercise].regions:
            group = GROUP_OF_REGION[entry.region]
            shares[group] = max(shares.get(group, 0), entry.share)
        for group, share in shares.items():
            dose[group] += share * pick.sets
    return dose


def _pin_kept(request, pin, pick):
    if pick is None:
        return not pin.exercise or not may_do(request, request.library[pin.exercise], pinned=True)
    return pick.exercise == pin.exercise and pin.sets in (0, pick.sets)


def broken_limits(request, picks):
    """Every hard limit that the picks break, in words; the second opinion on what composing promises."""
    found = []
    pins = {(pin.slot, pin.occurrence): pin for pin in request.pins}
    at = {(pick.slot, pick.occurrence): pick for pick in picks}
    assert len(at) == len(picks)
    for day in request.day_types:
        for occurrence in range(day.occurrences):
            session = {s.key: at[s.key, occurrence] for s in day.slots if (s.key, occurrence) in at}
            for line in day.slots:
                pin = pins.get((line.key, occurrence))
                pick = session.get(line.key)
                if pin is not None and not _pin_kept(request, pin, pick):
                    found.append(f"pin of {line.key} {occurrence} not kept")
                if pick is None:
                    continue
                entry = request.library[pick.exercise]
                if not may_do(request, entry, pinned=pin is not None):
                    found.append(f"{entry.key} is not for this client")
                primary = {share.region for share in entry.regions if share.share == 1}
                if pin is None and not primary & set(line.regions):
                    found.append(f"{entry.key} does not aim at {line.key}")
                if pin is None and not line.sets_low <= pick.sets <= line.sets_high:
                    found.append(f"{pick.sets} sets in {line.key}")
            keys = [pick.exercise for pick in session.values()]
            if len(set(keys)) < len(keys):
                found.append("an exercise twice in a session")
            pinned = {key: pick for key, pick in session.items() if (key, occurrence) in pins}
            if request.minutes_cap is not None:
                most = max(request.minutes_cap, session_minutes(request, day, pinned))
                if session_minutes(request, day, session) > most + 1e-9:
                    found.append("too long")
            held = session_dose(request, pinned.values())
            for group, dose in session_dose(request, session.values()).items():
                top = ceiling(request, group)
                if top is not None and dose > max(top, held[group]) + 1e-9:
                    found.append(f"{group} over its ceiling")
    return found


def every_week(request):
    """All weeks that keep the hard limits, one by one."""
    pins = {(pin.slot, pin.occurrence): pin for pin in request.pins}
    options = []
    for day in request.day_types:
        for occurrence in range(day.occurrences):
            for line in day.slots:
                pin = pins.get((line.key, occurrence))
                if pin is not None:
                    possible = pin.exercise and may_do(request, request.library[pin.exercise], pinned=True)
                    options.append([Pick(*place_of(pin), pin.sets)] if possible else [None])
                    continue
                here = [None]
                for key in sorted(request.library):
                    entry = request.library[key]
                    aims = {share.region for share in entry.regions if share.share == 1} & set(line.regions)
                    ranked = any(key in keys for keys in line.candidates)
                    stands_in = {
                        "main": ("main", "secondary"),
                        "secondary": ("secondary", "main", "isolation"),
                        "isolation": ("isolation", "secondary", "trunk"),
                        "trunk": ("trunk", "carry"),
                    }[line.role]
                    if may_do(request, entry) and aims and (ranked or entry.role in stands_in):
                        here += [
                            Pick(line.key, occurrence, key, sets) for sets in range(line.sets_low, line.sets_high + 1)
                        ]
                options.append(here)
    for chosen in product(*options):
        picks = [pick for pick in chosen if pick is not None]
        if not broken_limits(request, picks):
            yield picks


def place_of(pin):
    return pin.slot, pin.occurrence, pin.exercise


def least_cost(request):
    """The cost of the best week there is, by trying them all."""
    rules = Rules.of(request)
    return min(rules.cost(by_place(request, picks)).total for picks in every_week(request))


def random_request(seed, fewest_ways=30, most_ways=2500):
    """A small week with random limits, small enough that all its ways to be filled can be tried."""
    random = Random(seed)
    while True:
        request = _random_request(random)
        if fewest_ways <= _ways(request) <= most_ways:
            return request


def _ways(request):
    ways = 1
    for day in request.day_types:
        for line in day.slots:
            fits = sum(
                any(s.share == 1 and s.region in line.regions for s in entry.regions) and may_do(request, entry)
                for entry in request.library.values()
            )
            ways *= (1 + fits * (line.sets_high - line.sets_low + 1)) ** day.occurrences
    return ways


def _random_request(random):
    keys = random.sample(sorted(GYM), random.randint(6, 16))
    regions = ["pec_stern", "vasti", "hams", "lat", "biceps", ("tri_long", "tri_latmed"), "delt_lat", "abs"]
    days = []
    for number in range(random.choice((1, 1, 2))):
        lines = []
        for index in range(random.randint(1, 3)):
            low = random.randint(1, 3)
            lines.append(
                slot(
                    f"slot-{number}-{index}",
                    random.choice(regions),
                    random.choice(("main", "secondary", "isolation", "trunk")),
                    (low, low + random.randint(0, 2)),
                    f"day-{number}",
                    patterns=random.choice(((), ("horizontal_push", "squat"))),
                    superset=random.choice(("", "", "a")),
                    priority=random.randint(1, 3),
                    candidates=random.choice(((), (tuple(random.sample(keys, 4)),))),
                )
            )
        key = f"day-{number}"
        days.append(day_type(*lines, occurrences=random.choice((1, 1, 2)), key=key))
    pins = ()
    if random.random() < 0.25:
        day = random.choice(days)
        pins = (Pick(random.choice(day.slots).key, 0, random.choice(keys), random.randint(1, 5), pinned=True),)
    return WeekRequest(
        tuple(days),
        {key: GYM[key] for key in keys},
        random.choice(("novice", "intermediate", "advanced")),
        priorities={random.choice(AUDITED_GROUPS): random.choice(("keep", "more"))},
        stations=frozenset(random.sample(sorted(FULL_GYM), random.randint(5, len(FULL_GYM)))),
        limits=random.choice(((), (Limit("elbow"),), (Limit("lumbar_shear", strict=False),))),
        excluded=frozenset(random.sample(keys, random.randint(0, 1))),
        skill_allowed=random.choice((None, None, "intermediate", "advanced")),
        minutes_cap=random.choice((None, 20, 30, 40)),
        session_ceilings=random.choice((None, {"chest": 4, "quads": 4, "hamstrings": 3})),
        likes=frozenset(random.sample(keys, 1)),
        dislikes=frozenset(random.sample(keys, 1)),
        previous=frozenset(random.sample(keys, 2)),
        pins=pins,
    )
