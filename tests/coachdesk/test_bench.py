"""The shape of what a benchmark reports, and how goals are judged."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from coachdesk import benches
from coachdesk.benches import Result, Run


@pytest.fixture
def sample(monkeypatch, tmp_path):
    """One benchmark that measures two values, and its goals file."""

    def measure(run: Run):
        yield Result("load", 1.5, "x")
        if run.full:
            yield Result("sweep", 20.0, "s")

    goals = tmp_path / "goals.toml"
    goals.write_text('[sample]\n"load" = "<= 2"\n[sample.full]\n"sweep" = "<= 10"\n')
    monkeypatch.setattr(benches, "GOALS_FILE", goals)
    monkeypatch.setattr(benches, "all_benches", lambda: {"sample": benches.Benchmark("sample", "a sample", measure)})
    return goals


def report(*arguments: str) -> str:
    output = StringIO()
    call_command("bench", *arguments, stdout=output)
    return output.getvalue()


def test_without_a_name_they_are_listed(sample):
    assert report() == "sample  a sample\n"


def test_the_last_line_is_one_object_of_the_agreed_shape(sample):
    last = json.loads(report("sample", "--json").splitlines()[-1])
    assert set(last) == {"name", "machine", "results"}
    assert last["name"] == "sample"
    assert last["machine"]["cores"] >= 1
    assert last["results"] == [{"metric": "load", "value": 1.5, "unit": "x", "goal": "<= 2", "ok": True}]


def test_full_adds_its_own_metrics_and_goals(sample, settings, tmp_path):
    settings.BUILD_DIR = tmp_path
    rows = json.loads(report("sample", "--json", "--full").splitlines()[-1])["results"]
    assert [(row["metric"], row["ok"]) for row in rows] == [("load", True), ("sweep", False)]


def test_a_missing_goal_is_not_ok(sample):
    sample.write_text("")
    (row,) = json.loads(report("sample", "--json").splitlines()[-1])["results"]
    assert row["goal"] is None
    assert row["ok"] is False


def test_a_goal_that_nothing_was_measured_for_is_not_ok(sample):
    sample.write_text('[sample]\n"load" = "<= 2"\n"size" = "<= 150"\n')
    rows = json.loads(report("sample", "--json").splitlines()[-1])["results"]
    assert rows[1] == {"metric": "size", "value": None, "unit": "", "goal": "<= 150", "ok": False}


def test_people_get_lines(sample):
    assert report("sample") == "ok   load: 1.5 x  (goal <= 2)\n"


def test_an_unknown_name_is_told(sample):
    with pytest.raises(CommandError, match=r"There is no benchmark “speed”. There are: sample"):
        report("speed")


@pytest.mark.parametrize(
    ("value", "goal", "met"),
    [(3, "<= 3", True), (3.01, "<= 3", False), (0, "== 0", True), (9, ">= 10", False), (1, "< 1", False)],
)
def test_goals_are_read_as_written(value, goal, met):
    assert benches.meets(value, goal) is met


def test_a_goal_that_cannot_be_read_is_an_error():
    with pytest.raises(ValueError, match="does not begin with"):
        benches.meets(1, "about 3")


def test_the_real_benchmarks_and_goals_belong_together():
    known = set(benches.all_benches())
    named = set(benches.tomllib.loads(benches.GOALS_FILE.read_text()))
    assert "start" in known
    assert named == known
    for name in known:
        for goal in benches.goals(name, full=True).values():
            benches.meets(0, goal)
