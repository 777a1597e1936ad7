"""A gross loss of speed fails here; the table with the real goals is ``python -m tests.benchmarks``."""

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path[:0] = [p for p in (str(ROOT), str(ROOT / "tests")) if p not in sys.path]

from output_sheets import sheet  # noqa: E402

from tests.benchmarks import batches, table  # noqa: E402
from tests.benchmarks.timing import Row, compare  # noqa: E402

EVERY_TENTH = [f"B-under-coping-{n:04}" for n in range(1, 51, 5)]


def judged(row: Row) -> None:
    print(row)
    assert row.ratio < row.gross, str(row)


def test_a_drawing_file_takes_hardly_longer_than_its_entities_alone():
    judged(table.dxf(sheet(), times=7))


def test_a_picture_takes_hardly_longer_than_its_lines_alone():
    judged(table.png(sheet(), times=5))


def test_help_comes_at_once():
    judged(table.help_text(times=4))


@pytest.mark.skipif(not (ROOT / table.SPEC).exists(), reason="no demo")
def test_a_check_takes_hardly_longer_than_the_libraries_that_it_needs():
    judged(table.check(times=3))


@pytest.mark.skipif(not (ROOT / table.SPEC).exists(), reason="no demo")
def test_from_a_detail_file_to_its_drawings_takes_hardly_longer_than_drawing_alone():
    judged(table.both(table.real_sheet(), times=3))


@pytest.mark.skipif(not (ROOT / table.SPEC).exists(), reason="no demo")
def test_a_sheet_is_composed_in_a_few_times_what_writing_its_entities_takes():
    judged(table.composed(table.real_sheet(), times=3))


@pytest.mark.skipif(not (ROOT / table.SPEC).exists(), reason="no demo")
def test_a_detail_is_checked_in_a_few_times_what_reading_its_file_takes():
    judged(table.checked(times=2))


def test_a_batch_is_quicker_on_two_cores_and_nearly_nothing_the_second_time_and_its_memory_stays_flat(tmp_path):
    small = batches.study(tmp_path, 100)
    first = batches.taken(small, "out", 2, "--format", "json")
    assert "100 drawn" in first.said
    again = batches.taken(small, "out", 2, "--format", "json")
    assert "100 unchanged" in again.said
    judged(Row("100 parapets again; the first run", again.ms, first.ms, goal=0.02, gross=0.8))
    few = batches.taken(small, "few", 2, "--format", "json", "--detail", ",".join(EVERY_TENTH))
    assert "10 drawn" in few.said
    judged(Row("peak memory of 100 parapets; of 10", first.kilobytes, few.kilobytes, goal=1.15, gross=1.5))


def test_the_bounds_of_these_tests_can_be_missed():
    slow, floor = compare(lambda: sum(range(200_000)), lambda: sum(range(20_000)), times=5)
    with pytest.raises(AssertionError):
        judged(Row("ten times the work", slow, floor, goal=1.5, gross=4.0))
