"""Every reason that the code can give has words, and the words ask only for what the reason carries."""

import ast
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.template import engines
from django.utils import translation

from programs.engine.compose import alternatives, compose, explain
from programs.engine.compose.candidates import PIN_SETS_ASIDE
from programs.engine.compose.explain import FAMILY
from programs.engine.compose.freeing import NAMES
from programs.engine.progress import REASONS
from programs.engine.terms import Because
from programs.reasons import SENTENCES, sentence, sentence_of
from programs.reasons.logged import BARE
from tests.programs.engine.compose_weeks import gym_week

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("programs/engine", "programs/services", "clients")
PLACEHOLDER = re.compile(r"%\((\w+)\)s")
UNKNOWN = sentence("no.such.code", {}).replace("no.such.code", "{}")

TERMS = {
    *("rank", "outside_ranking", "disliked", "liked", "skill", "joint_stress", "go_easy", "stand_in", "off_pattern"),
    *("off_reps", "stalled", "due", "changed", "sets", "unfilled", "repeat", "same_implement", "same_angle"),
    *("elsewhere", "pattern_again", "second_main", "implement_change", "superset_at_one_station", "superset_clash"),
    *("under", "far_under", "over", "kind_missing", "never_stretched", "out_of_balance"),
}
SCREENED = (
    "sign_reported",
    "hold_reported",
    "not_answered",
    "condition_and_not_active",
    "limits_needed",
    "answers_too_old",
)
# Codes that are put together where they are given: what stands there, and what it can become.
PUT_TOGETHER = {
    "f'choice.{key[0]}'": {f"choice.{FAMILY.get(term, term)}" for term in TERMS},
    "f'pinned.{why.code}'": {f"pinned.{code}" for code in PIN_SETS_ASIDE},
    "why.code": {"exercise.excluded", "exercise.spared_joint", "exercise.station_missing", "exercise.skill"},
    "f'health.{reason.code}'": {f"health.{code}" for code in SCREENED},
    "f'dose_rise_{verdict}'": {f"dose_rise_{verdict}" for verdict in ("fine", "warn", "ask", "refuse")},
    "f'dose_far_{self.verdict}'": {"dose_far_under", "dose_far_over"},
    "f'dose_{self.verdict}'": {"dose_under", "dose_over", "dose_in_range", "dose_watched"},
    "reason['code']": set(),  # read back from the database
}
# Names whose values come from a loop or a caller.
GIVEN_BY = {
    ("freeing.py", "code"): set(NAMES),
    ("reasons/__init__.py", "code"): set(),
    ("sheets.py", "code"): {"health.client_paused", "health.client_left"},
}


class Site:
    """One place in the code that gives a reason."""

    def __init__(self, path: Path, call: ast.Call, function: ast.AST, tree: ast.Module) -> None:
        self.path, self.call, self.function, self.tree = path, call, function, tree

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.call.lineno} {ast.unparse(self.call)}"

    def codes(self) -> set[str]:
        return self._values(self.call.args[0])

    def keys(self) -> set[str] | None:
        """Names of the parameters where they are written out; None where they come from elsewhere."""
        if len(self.call.args) < 2:
            return set()
        given = self.call.args[1]
        if not isinstance(given, ast.Dict) or not all(isinstance(key, ast.Constant) for key in given.keys):
            return None
        return {str(key.value) for key in given.keys}

    def _values(self, node: ast.AST) -> set[str]:
        if isinstance(node, ast.Constant):
            return {node.value}
        if isinstance(node, ast.IfExp):
            return self._values(node.body) | self._values(node.orelse)
        if ast.unparse(node) in PUT_TOGETHER:
            return PUT_TOGETHER[ast.unparse(node)]
        if isinstance(node, ast.Name):
            known = GIVEN_BY.get((self.path.name, node.id))
            if known is not None:
                return known
            module = importlib.import_module(".".join(self.path.relative_to(ROOT).with_suffix("").parts))
            held = getattr(module, node.id, None)
            if isinstance(held, str):
                return {held}
            return self._assigned(node.id) or self._passed(node.id)
        raise AssertionError(f"what can this become? {self}")

    def _assigned(self, name: str) -> set[str]:
        found: set[str] = set()
        for node in ast.walk(self.function):
            if isinstance(node, ast.Assign) and any(ast.unparse(target) == name for target in node.targets):
                found |= self._values(node.value)
        return found

    def _passed(self, name: str) -> set[str]:
        """What the callers of the enclosing function pass as its first argument."""
        own = getattr(self.function, "name", "")
        found: set[str] = set()
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == own and node.args:
                found |= self._values(node.args[0])
        assert found, f"where does {name} come from? {self}"
        return found


def sites() -> Iterator[Site]:
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*.py")):
            tree = ast.parse(path.read_text())
            yield from _sites_in(path, tree, tree, tree)


def _sites_in(path: Path, node: ast.AST, function: ast.AST, tree: ast.Module) -> Iterator[Site]:
    for child in ast.iter_child_nodes(node):
        inside = child if isinstance(child, ast.FunctionDef) else function
        if isinstance(child, ast.Call) and ast.unparse(child.func).split(".")[-1] == "Because":
            yield Site(path, child, inside, tree)
        yield from _sites_in(path, child, inside, tree)


SITES = [site for site in sites() if site.call.args and not isinstance(site.call.args[0], ast.Starred)]


def names_asked(code: str) -> set[str]:
    """The parameters that a sentence's placeholders come down to."""
    special = {
        "session": {"day", "occurrence"},
        "letter": {"occurrence"},
        **{name: {"exercise", "other"} for name in ("better", "worse", "better_rank", "worse_rank")},
        **{name: set() for name in ("efforts", "done", "time")},
        "load_entry": {"load_entry"},
    }
    asked: set[str] = set()
    for placeholder in PLACEHOLDER.findall(str(SENTENCES[code])):
        if placeholder in special:
            asked |= special[placeholder]
        else:
            way, _line, name = placeholder.partition("_")
            asked.add(
                name if way in ("n", "load", "percent", "sets", "days", "text", "share") and name else placeholder
            )
    return asked


@pytest.mark.parametrize("site", SITES, ids=str)
def test_every_reason_has_words(site):
    for code in site.codes():
        assert code in SENTENCES or sentence(code, _anything(code)) != UNKNOWN.format(code), f"no words for {code}"


def _anything(code):
    """Parameters for what the health words take, which know more than we do here."""
    return {
        "count": 2,
        "answered_on": "2026-03-02",
        "returned_on": "2026-03-02",
        "question": "pregnant",
        "rir": 3.0,
        "share": 0.7,
        "rest_s": 90,
        "age": 70,
        "weeks": 3,
    }


@pytest.mark.parametrize("site", SITES, ids=str)
def test_words_ask_only_for_what_the_reason_carries(site):
    keys = site.keys()
    # A verdict without a range is only ever "watched", whose words ask for nothing.
    if keys is None or (site.path.name == "dose.py" and not keys):
        return
    for code in site.codes():
        if code in SENTENCES:
            asked = names_asked(code)
            bare = f"{code}{BARE}"
            assert asked <= keys or (bare in SENTENCES and names_asked(bare) <= keys), (code, asked - keys)


@pytest.mark.parametrize("code", sorted(REASONS))
def test_words_for_the_next_step_ask_only_for_its_parameters(code):
    assert names_asked(code) <= set(REASONS[code])


def test_no_sentence_is_left_over():
    """A sentence for a code that nothing gives would never be read, nor mended."""
    given = {code for site in SITES for code in site.codes()} | written_out()
    assert {code for code in SENTENCES if not code.endswith(BARE)} - given == set()


def written_out() -> set[str]:
    """Every string in the code that could give a reason as it is stored: {"code": ..., "params": ...}."""
    return {
        node.value
        for folder in FOLDERS
        for path in (ROOT / folder).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_all_that_a_real_week_says_can_be_read():
    request = gym_week(minutes_cap=55)
    names = {key: exercise.name for key, exercise in request.library.items()}
    for day in request.day_types:
        names[day.key] = day.name
        names |= {slot.key: slot.title or slot.key for slot in day.slots}
    week = compose(request)
    reasons: list[Because] = list(week.warnings)
    for pick in week.picks:
        found = explain(request, week.picks, pick.slot, pick.occurrence)
        reasons += [*found.decided_by, *found.despite, *found.facts]
        others = alternatives(request, week.picks, pick.slot, pick.occurrence)
        reasons += [why for other in others.ranked for why in other.reasons]
        reasons += [why for left in others.left_out for why in left.reasons]
    for empty in week.unfilled:
        reasons += [*empty.reasons, *(step for way in empty.frees for step in way.steps)]
    assert len({why.code for why in reasons}) > 15
    for why in reasons:
        said = sentence_of(why, names)
        assert "%(" not in said and said != UNKNOWN.format(why.code), why
        assert "–" not in said.replace("–", "", 1) or "reps" in said, (why, said)


def test_a_comparison_names_the_exercise_it_speaks_for_first():
    params = {"exercise": "a", "other": "b", "rank": 2, "other_rank": 1, "speaks_for": "b", "points": 8}
    said = sentence("choice.rank", params, {"a": "Row", "b": "Pulldown"})
    assert said == "Your ranking for this slot has Pulldown at 1, Row at 2."
    params |= {"speaks_for": "a", "rank": 1, "other_rank": None}
    assert sentence("choice.rank", params, {"a": "Row", "b": "Pulldown"}).endswith("has Row at 1, Pulldown nowhere.")


def test_a_warning_names_its_session():
    params = {"day": "upper", "occurrence": 1, "group": "shoulders", "sets": 8.5, "warn_from": 8.0}
    said = sentence("session.group_high", params, {"upper": "Upper"})
    assert said.startswith("Upper B: 8.5\u00a0sets for shoulders; beyond 8 in one session")
    assert sentence("session.group_high", params, {"upper:1": "Friday"}).startswith("Friday: ")


def test_a_limit_reads_differently_of_a_candidate_and_of_a_pick_that_breaks_it():
    assert (
        sentence("exercise.spared_joint", {"joint": "elbow", "severity": 2}) == "It loads what is to be spared: elbow."
    )
    params = {"joint": "elbow", "severity": 2, "day": "upper", "occurrence": 0, "exercise": "x"}
    assert sentence("exercise.spared_joint", params, {"x": "Dip"}).startswith("upper A: Dip loads")


def test_loads_carry_the_unit_and_numbers_the_decimal_mark_of_the_language():
    params = {"load": 72.5, "unit": "kg", "reps": 8, "rir": 2, "days": 5}
    assert sentence("load.from_before", params).startswith("From 72.5\u00a0kg × 8 with 2 in reserve")
    assert "100\u00a0lb" in sentence("load_ceiling", {"load": 100.0}, unit="lb")
    with translation.override("de"):
        assert "72,5\u00a0kg" in sentence("load.from_before", params)


def test_sets_done_are_told_in_what_they_were_counted_in():
    assert sentence("sets_used", {"day": "2026-03-02", "load": 60.0, "reps": "8/8/7", "rir": "2/1/1"}, unit="kg") == (
        "2 Mar 2026: 60\u00a0kg × 8/8/7 with 2/1/1 in reserve."
    )
    assert "45/40\u00a0s" in sentence("sets_used", {"day": "2026-03-02", "seconds": "45/40"})


def test_one_of_something_is_told_in_the_singular():
    assert sentence("dose_rise_fine", {"now": 1, "mean": 1}).startswith("1\u00a0set after")
    assert sentence("dose_rise_fine", {"now": 1.5, "mean": 1}).startswith("1.5\u00a0sets after")
    assert "Taken at 85\u00a0% after 1\u00a0day away" in sentence("load.after_absence", {"share": 0.85, "days": 1})
    counted = r"%\(n_(now|counted|days|days_later)\)s (sets|days)"
    assert [code for code, said in SENTENCES.items() if re.search(counted, str(said))] == []


def test_a_stored_reason_reads_like_a_fresh_one():
    fresh = Because("pick.counts", {"group": "lats", "share": 0.5})
    assert sentence_of(fresh) == sentence_of({"code": fresh.code, "params": dict(fresh.params)})
    assert sentence_of(fresh) == "Counts ½ for lats."


def test_what_has_no_words_is_shown_not_hidden():
    assert "brand.new" in sentence("brand.new", {})


def test_the_tag_escapes_what_a_coach_named():
    template = engines["django"].from_string("{% load reasons %}{% sentence reason names=names %}")
    reason = Because("session.twice", {"day": "upper", "occurrence": 0, "exercise": "x"})
    assert "&lt;b&gt;" in template.render({"reason": reason, "names": {"x": "<b>"}})


def test_terms_of_the_cost_are_all_known_here():
    """The list above is what ``evaluate`` can charge; a new term must come with its sentence."""
    source = (ROOT / "programs/engine/compose/evaluate.py").read_text()
    charged = {
        str(node.args[0].value)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and ast.unparse(node.func) in ("Term", "add")
        and node.args
        and isinstance(node.args[0], ast.Constant)
    }
    assert charged == TERMS
