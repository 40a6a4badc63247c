"""Journals and results that were damaged, doubled or planted: refused in one line, left as they are."""

import os

import pytest

from solver.errors import ReportError
from solver.runs.checkpoint import described_points, open_journal
from solver.runs.records import DamagedRecordError, parse_record

HEADER = {"schema": "test/1", "vary": {"gap": [1, 2]}}
HEAD = b'{"schema": "test/1", "vary": {"gap": [1, 2]}}\n'

DAMAGED = {
    "no JSON": b'{"index": 0',
    "text": b"hello",
    "empty": b"",
    "deep lists": b"[" * 100_000 + b"]" * 100_000,
    "deep tables": b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
    "long integer": b'{"index": ' + b"9" * 5000 + b"}",
    "infinite": b'{"index": 1e999}',
    "Infinity": b'{"index": Infinity}',
    "NaN": b'{"index": NaN}',
    "key twice": b'{"index": 0, "index": 1}',
    "not UTF-8": b'{"index": "\xff"}',
    "zero": b'{"index": "\0"}',
    "UTF-16": '{"index": 0}'.encode("utf-16"),
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_record_is_refused(name):
    with pytest.raises(DamagedRecordError, match=r"^(it|a key) "):
        parse_record(DAMAGED[name])


@pytest.mark.parametrize("name", [name for name in DAMAGED if b"\n" not in DAMAGED[name]])
def test_a_journal_with_a_damaged_line_is_refused_with_its_number_and_left_alone(tmp_path, name):
    path = tmp_path / "points.jsonl"
    path.write_bytes(HEAD + b'{"index": 0}\n' + DAMAGED[name] + b"\n")
    before = path.read_bytes()
    with pytest.raises(ReportError, match="line 3 is damaged") as refusal, open_journal(path, HEADER):
        pass
    assert len(str(refusal.value)) < 300
    assert path.read_bytes() == before


@pytest.mark.parametrize("line", [b"3", b'"text"', b"null", b"[]"])
def test_a_line_that_is_no_record_is_refused(tmp_path, line):
    path = tmp_path / "points.jsonl"
    path.write_bytes(HEAD + line + b"\n")
    with pytest.raises(ReportError, match="line 2 is no record"), open_journal(path, HEADER):
        pass


def test_a_doubled_journal_holds_every_record_once(tmp_path):
    path = tmp_path / "points.jsonl"
    path.write_bytes(2 * (HEAD + b'{"index": 0}\n{"index": 1}\n'))
    with open_journal(path, HEADER) as journal:
        assert journal.records() == ({"index": 0}, {"index": 1})


def test_a_journal_that_is_a_link_is_refused_and_what_it_points_to_is_left_alone(tmp_path):
    (tmp_path / "target").write_bytes(b"")
    (tmp_path / "points.jsonl").symlink_to(tmp_path / "target")
    with pytest.raises(ReportError, match="is a link"), open_journal(tmp_path / "points.jsonl", HEADER):
        pass
    assert (tmp_path / "target").read_bytes() == b""


def test_a_journal_that_is_a_link_to_nothing_makes_nothing(tmp_path):
    (tmp_path / "points.jsonl").symlink_to(tmp_path / "target")
    with pytest.raises(ReportError, match="is a link"), open_journal(tmp_path / "points.jsonl", HEADER):
        pass
    assert not (tmp_path / "target").exists()


@pytest.mark.parametrize("kind", ["pipe", "folder"])
def test_a_journal_that_is_no_file_is_refused_and_not_waited_for(tmp_path, kind):
    path = tmp_path / "points.jsonl"
    if kind == "pipe":
        os.mkfifo(path)
    else:
        path.mkdir()
    with pytest.raises(ReportError, match=r"points\.jsonl"), open_journal(path, HEADER):
        pass


def test_differences_are_shown_in_at_most_eighty_characters_each(tmp_path):
    path = tmp_path / "points.jsonl"
    with open_journal(path, {"schema": "test/1", "title": "x" * 500}):
        pass
    with pytest.raises(ReportError) as refusal, open_journal(path, {"schema": "test/1", "title": "y\n" * 500}):
        pass
    assert "title was" in str(refusal.value)
    assert str(refusal.value).isprintable()
    assert len(str(refusal.value)) < 500


@pytest.mark.parametrize(
    "read",
    [
        lambda record: record["index"],
        lambda record: record["name"] + 1,
        lambda record: float(record["name"]),
        lambda record: record["name"].values(),
        lambda record: dict([record["name"]]),
    ],
)
def test_a_record_of_another_kind_is_refused_with_its_file(tmp_path, read):
    with (
        open_journal(tmp_path / "points.jsonl", HEADER) as journal,
        pytest.raises(ReportError, match=r"points\.jsonl: a record does not describe a point"),
        described_points(journal),
    ):
        read({"name": "x" * 1000})
