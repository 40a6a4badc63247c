"""A journal survives whatever ends the program, and is never mixed with results of other inputs."""

import json

import pytest

from solver.errors import ReportError
from solver.runs.checkpoint import open_journal

HEADER = {"schema": "test/1", "vary": {"gap": [1, 2]}, "scenario": {"loop": {"width": "3 mm"}}}


def write(path, *records, header=HEADER, fresh=False):
    """Open, append, and return what was there before."""
    with open_journal(path, header, fresh=fresh) as journal:
        found = journal.records()
        for record in records:
            journal.append(record)
        assert journal.records() == (*found, *records)
        return found


def test_what_was_appended_is_found(tmp_path):
    path = tmp_path / "points.jsonl"
    assert write(path, {"index": 0}, {"index": 1}) == ()
    assert write(path, {"index": 2}) == ({"index": 0}, {"index": 1})
    assert write(path) == ({"index": 0}, {"index": 1}, {"index": 2})


def test_a_record_is_on_the_disk_when_append_returns(tmp_path):
    path = tmp_path / "points.jsonl"
    with open_journal(path, HEADER) as journal:
        journal.append({"index": 7})
        assert json.loads(path.read_text().splitlines()[-1]) == {"index": 7}


@pytest.mark.parametrize("cut", range(1, 13))
def test_a_torn_last_line_is_dropped_wherever_it_is_torn(tmp_path, cut):
    path = tmp_path / "points.jsonl"
    write(path, {"index": 0}, {"index": 1})
    path.write_bytes(path.read_bytes()[:-cut])
    assert write(path, {"index": 2}) == ({"index": 0},)
    assert write(path) == ({"index": 0}, {"index": 2})


@pytest.mark.parametrize("length", [0, 1, 20, 60])
def test_a_torn_header_is_written_again(tmp_path, length):
    path = tmp_path / "points.jsonl"
    write(path)
    path.write_bytes(path.read_bytes()[:length])
    assert write(path, {"index": 0}) == ()
    assert write(path) == ({"index": 0},)


def test_other_inputs_are_refused_and_the_difference_is_named(tmp_path):
    path = tmp_path / "points.jsonl"
    write(path, {"index": 0})
    before = path.read_bytes()
    other = {"schema": "test/1", "vary": {"gap": [1, 2, 3]}, "scenario": {"loop": {"width": "4 mm"}}}
    message = (
        'vary.gap was a list of 2, now a list of 3; scenario.loop.width was "3 mm", now "4 mm".*another folder.*--fresh'
    )
    with pytest.raises(ReportError, match=message):
        write(path, header=other)
    assert path.read_bytes() == before


def test_a_fresh_start_forgets(tmp_path):
    path = tmp_path / "points.jsonl"
    write(path, {"index": 0})
    assert write(path, header={**HEADER, "vary": {}}, fresh=True) == ()


@pytest.mark.parametrize("fresh", [False, True])
def test_a_foreign_file_is_left_alone(tmp_path, fresh):
    path = tmp_path / "points.jsonl"
    path.write_text("my notes")
    with pytest.raises(ReportError, match="is no journal"):
        write(path, fresh=fresh)
    assert path.read_text() == "my notes"


def test_a_damaged_line_in_the_middle_is_named(tmp_path):
    path = tmp_path / "points.jsonl"
    write(path, {"index": 0}, {"index": 1})
    path.write_text(path.read_text().replace('{"index": 0}', "{index"))
    with pytest.raises(ReportError, match="line 2 is damaged"):
        write(path)


def test_a_second_run_is_refused_while_the_first_goes_on(tmp_path):
    path = tmp_path / "points.jsonl"
    with open_journal(path, HEADER), pytest.raises(ReportError, match="in use by another run"):
        write(path)


def test_a_full_disk_is_reported(tmp_path):
    with open_journal(tmp_path / "points.jsonl", HEADER) as journal:
        pass
    full = type(journal)(path=journal.path, file=open("/dev/full", "ab", buffering=0))  # noqa: SIM115
    with full.file, pytest.raises(ReportError, match=r"cannot write .*points\.jsonl: No space left"):
        full.append({"index": 0})
