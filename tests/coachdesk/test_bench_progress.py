"""What the benchmark of progression measures: half a year of logs, and lifters whose years are lived only once."""

from coachdesk.benches import Run
from coachdesk.benches import progress as bench
from programs.engine.cohort import Compared


def row(number, **more):
    facts = {
        "number": number,
        "experience": "novice",
        "landed": 8,
        "counted": 10,
        "landed_knowing": 9,
        "counted_knowing": 10,
        "landed_freely": 10,
        "counted_freely": 10,
        "gain": 0.2,
        "gain_fixed": 0.1,
        "gain_textbook": 0.1,
        "gain_repeating": 0.1,
        "prescribed": 10,
        "by_hand": 1,
        "broken": ("one",),
    }
    return Compared(**{**facts, **more})


def test_a_client_has_half_a_year_of_six_exercises_behind():
    week = bench._logged(3)
    assert len({line.lift.key for line in week}) == bench.EXERCISES
    assert all(len(line.history) == bench.WEEKS_LOGGED for line in week)
    assert all(line.history[-1].day == bench.LAST_DAY for line in week)
    assert bench._logged(3) == week
    for line in week:
        bench._next(line)


def test_a_broken_run_goes_on_where_it_was(tmp_path, monkeypatch):
    lived = []

    def compare(number):
        lived.append(number)
        return row(number)

    monkeypatch.setattr(bench, "compare", compare)
    run = Run(True, tmp_path, lambda line: None)
    assert [one.number for one in bench._lived(run, 3)] == [0, 1, 2]
    assert bench._lived(run, 5) == [row(number) for number in range(5)]
    assert lived == [0, 1, 2, 3, 4]


def test_another_engine_lives_them_anew(tmp_path, monkeypatch):
    lived = []
    monkeypatch.setattr(bench, "compare", lambda number: lived.append(number) or row(number))
    run = Run(True, tmp_path, lambda line: None)
    bench._lived(run, 1)
    monkeypatch.setattr(bench, "_engine_as_it_is", lambda: "another")
    bench._lived(run, 1)
    assert lived == [0, 0]
