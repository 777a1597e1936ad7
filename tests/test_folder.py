"""An output folder: whole files or none, nobody's handwork overwritten in silence, nothing outside."""

from __future__ import annotations

import hashlib
import multiprocessing
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from detailgen.errors import InputError
from detailgen.folder import MEMORY, RECORDS, Folder, Origin


def names(path: Path) -> list[str]:
    return sorted(p.name for p in path.iterdir())


def test_files_are_written_and_remembered(tmp_path: Path) -> None:
    folder = Folder(tmp_path / "a" / "b")
    assert folder.write({"P1.dxf": b"1", "P1.png": b"2"}) == [folder.path / "P1.dxf", folder.path / "P1.png"]
    assert names(folder.path) == [MEMORY, "P1.dxf", "P1.png"]
    assert set(folder.remembered()) == {"P1.dxf", "P1.png"}


def test_a_new_drawing_replaces_the_one_that_was_written(tmp_path: Path) -> None:
    Folder(tmp_path).write({"P1.dxf": b"old"})
    Folder(tmp_path).write({"P1.dxf": b"new"})
    assert (tmp_path / "P1.dxf").read_bytes() == b"new"


def test_a_drawing_changed_by_hand_is_refused_with_its_path(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    folder.write({"P1.dxf": b"old", "P1.png": b"old"})
    (tmp_path / "P1.dxf").write_bytes(b"by hand")
    with pytest.raises(InputError, match="was changed by hand") as caught:
        folder.write({"P1.dxf": b"new", "P1.png": b"new"})
    assert [p.file for p in caught.value.problems] == [str(tmp_path / "P1.dxf")]
    assert (tmp_path / "P1.dxf").read_bytes() == b"by hand"
    assert (tmp_path / "P1.png").read_bytes() == b"old"  # all files of a detail or none
    folder.write({"P1.dxf": b"new"}, force=True)
    assert (tmp_path / "P1.dxf").read_bytes() == b"new"
    folder.write({"P1.dxf": b"newer"})


def test_a_file_of_somebody_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "P1.dxf").write_bytes(b"theirs")
    with pytest.raises(InputError, match="was not written by this program"):
        Folder(tmp_path).write({"P1.dxf": b"ours"})
    assert names(tmp_path) == ["P1.dxf"]
    Folder(tmp_path).write({"P1.dxf": b"theirs"})  # the same bytes do no harm


def test_a_deleted_drawing_is_written_again(tmp_path: Path) -> None:
    Folder(tmp_path).write({"P1.dxf": b"1"})
    (tmp_path / "P1.dxf").unlink()
    Folder(tmp_path).write({"P1.dxf": b"1"})
    assert (tmp_path / "P1.dxf").read_bytes() == b"1"


def test_an_unchanged_drawing_is_not_touched(tmp_path: Path) -> None:
    Folder(tmp_path).write({"P1.dxf": b"1"})
    os.utime(tmp_path / "P1.dxf", ns=(10**9, 10**9))
    Folder(tmp_path).write({"P1.dxf": b"1"})
    assert (tmp_path / "P1.dxf").stat().st_mtime_ns == 10**9


@pytest.mark.parametrize(
    "memory", [b"", b"{", b"[]", b'{"files": 3}', b"\xff\x00", b'{"files": {"P1.dxf": 7}}', b"[" * 99_999]
)
def test_a_spoilt_memory_makes_it_careful_not_broken(tmp_path: Path, memory: bytes) -> None:
    folder = Folder(tmp_path)
    folder.write({"P1.dxf": b"1"})
    (tmp_path / MEMORY / RECORDS / "P1.json").write_bytes(memory)
    with pytest.raises(InputError, match="was not written by this program"):
        folder.write({"P1.dxf": b"2"})
    folder.write({"P1.dxf": b"2"}, force=True)
    assert folder.remembered() == {"P1.dxf": hashlib.sha256(b"2").hexdigest()}


@pytest.mark.parametrize(
    "name", ["../P1.dxf", "a/P1.dxf", "a\\P1.dxf", "/tmp/P1.dxf", "..", ".", "", ".hidden", MEMORY, "c:P1", "a\0"]
)
def test_nothing_is_written_outside_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="not a plain file name"):
        Folder(tmp_path / "out").write({"good.dxf": b"1", name: b"1"})
    assert names(tmp_path) == []


def test_a_link_is_replaced_and_its_target_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "elsewhere.txt"
    target.write_bytes(b"precious")
    out = tmp_path / "out"
    out.mkdir()
    (out / "P1.dxf").symlink_to(target)
    with pytest.raises(InputError):
        Folder(out).write({"P1.dxf": b"1"})
    Folder(out).write({"P1.dxf": b"1"}, force=True)
    assert target.read_bytes() == b"precious"
    assert (out / "P1.dxf").read_bytes() == b"1"


def test_a_folder_in_the_place_of_a_drawing_is_refused(tmp_path: Path) -> None:
    (tmp_path / "P1.dxf").mkdir()
    with pytest.raises(InputError, match="is a folder"):
        Folder(tmp_path).write({"P1.dxf": b"1"}, force=True)


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"x")
    with pytest.raises(InputError, match="cannot be written"):
        Folder(tmp_path / "out").write({"P1.dxf": b"1"})
    assert (tmp_path / "out").read_bytes() == b"x"


def test_nothing_is_left_behind_when_the_disk_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if "P1.png" in self.name:
            real(self, data[:1])
            raise OSError(28, "No space left on device", str(self))
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match="No space left on device"):
        Folder(tmp_path / "out").write({"P1.dxf": b"11", "P1.png": b"22"})
    assert names(tmp_path / "out") == [MEMORY]
    assert left_over(tmp_path / "out") == [] and Folder(tmp_path / "out").remembered() == {}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system")
@pytest.mark.parametrize("force", [False, True])
def test_a_pipe_in_the_place_of_a_drawing_is_refused_not_waited_for(tmp_path: Path, force: bool) -> None:
    os.mkfifo(tmp_path / "P1.dxf")
    with pytest.raises(InputError, match="is a pipe or a device"):
        Folder(tmp_path).write({"P1.dxf": b"1"}, force=force)


def test_a_file_in_the_place_of_the_memory_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / MEMORY).write_bytes(b"x")
    with pytest.raises(InputError, match="is no folder; move it away"):
        Folder(tmp_path).write({"P1.dxf": b"1"})
    assert names(tmp_path) == [MEMORY]


# ------------------------------------------------------------------------------------------ killed in between
class Killed(BaseException):
    """As ``kill -9``: nothing that comes after it is run."""


def steps_of(folder: Path, monkeypatch: pytest.MonkeyPatch, write: Callable[[], object], most: int) -> int:
    """Runs a write that is cut off at its step number `most`, where a step is a file written or moved; steps seen."""
    real_replace, real_write, seen = os.replace, Path.write_bytes, 0

    def step() -> None:
        nonlocal seen
        seen += 1
        if seen > most:
            raise Killed

    def replace(a: Path, b: Path) -> None:
        step()
        real_replace(a, b)

    def write_bytes(self: Path, data: bytes) -> int:
        if seen + 1 > most:
            real_write(self, data[: len(data) // 2])  # half of it reaches the disk
        step()
        return real_write(self, data)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        patch.setattr(Path, "write_bytes", write_bytes)
        patch.setattr(Folder, "_sweep", lambda _: None)  # a killed process sweeps nothing
        try:
            write()
        except Killed:
            return most
    return seen


def everything(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def left_over(folder: Path) -> list[str]:
    return names(folder / MEMORY / "passing")


def test_a_write_that_is_cut_off_anywhere_is_made_good_by_the_next_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = {"P1.dxf": b"old dxf", "P1.png": b"old png"}, {"P1.dxf": b"new dxf", "P1.png": b"new png"}
    first, second = Origin(inputs="1"), Origin(inputs="2", result={"digest": "2"})
    Folder(tmp_path / "still").write(old, origin=first)
    whole = steps_of(tmp_path / "still", monkeypatch, lambda: Folder(tmp_path / "still").write(new, origin=second), 99)
    assert whole == 8, "each file and each of two records is written and moved"
    for most in range(whole + 1):
        folder = Folder(tmp_path / str(most))
        folder.write(old, origin=first)
        seen = steps_of(folder.path, monkeypatch, lambda f=folder: f.write(new, origin=second), most)
        for name in new:  # whole, old or new
            assert (folder.path / name).read_bytes() in (old[name], new[name])
        standing = folder.standing("P1", list(new), second)
        assert standing.edited == (), "no half of our own is taken for handwork"
        assert (seen, standing.missing) == (most, tuple(new) if most < whole else ())
        folder.write(new, origin=second)
        assert everything(folder.path) == everything(tmp_path / "still")
        assert left_over(folder.path) == []


def test_handwork_between_a_cut_off_run_and_the_next_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = Folder(tmp_path)
    folder.write({"P1.dxf": b"old", "P1.png": b"old"})
    steps_of(tmp_path, monkeypatch, lambda: folder.write({"P1.dxf": b"new", "P1.png": b"new"}), 5)
    (tmp_path / "P1.dxf").write_bytes(b"by hand")
    with pytest.raises(InputError, match="was changed by hand"):
        folder.write({"P1.dxf": b"new", "P1.png": b"new"})
    assert (tmp_path / "P1.dxf").read_bytes() == b"by hand"


def test_what_a_killed_run_left_is_swept_away(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    folder.tidy()
    assert names(tmp_path) == []
    folder.write({"P1.dxf": b"1"})
    (tmp_path / MEMORY / "passing" / "file P2.dxf").write_bytes(b"ha")
    folder.tidy()
    assert left_over(tmp_path) == []


# ------------------------------------------------------------------------------------------ several at once
def writes(folder: str, run: int) -> None:
    for n in range(40):
        data = f"{run} {n}".encode() * 2000
        Folder(Path(folder)).write({f"{name}.dxf": data for name in ("P1", "P2", f"own-{run}")})


def test_runs_that_write_at_once_leave_whole_files_and_one_true_memory(tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    runs = [context.Process(target=writes, args=(str(tmp_path), run)) for run in range(3)]
    for run in runs:
        run.start()
    for run in runs:
        run.join(60)
        assert run.exitcode == 0
    known = Folder(tmp_path).remembered()
    assert set(known) == {"P1.dxf", "P2.dxf", "own-0.dxf", "own-1.dxf", "own-2.dxf"}
    for name, digest in known.items():
        assert hashlib.sha256((tmp_path / name).read_bytes()).hexdigest() == digest
    assert left_over(tmp_path) == []


# ------------------------------------------------------------------------------------------ whose it is
def test_a_second_project_does_not_take_the_place_of_the_first(tmp_path: Path) -> None:
    hall, shed = tmp_path / "hall.toml", tmp_path / "shed.toml"
    for file in (hall, shed):
        file.write_text("x")
    folder = Folder(tmp_path / "out")
    folder.write({"P1.dxf": b"hall"}, origin=Origin(hall))
    with pytest.raises(InputError, match=r"belongs to \.\./hall\.toml"):
        folder.write({"P1.dxf": b"shed"}, origin=Origin(shed))
    with pytest.raises(InputError, match="belongs to"):
        folder.write({"P1.png": b"shed"}, origin=Origin(shed))
    folder.write({"P1.dxf": b"hall 2"}, origin=Origin(hall))
    folder.write({"P1.dxf": b"shed"}, origin=Origin(shed), force=True)
    folder.write({"P1.dxf": b"shed 2"}, origin=Origin(shed))


def test_a_detail_file_that_was_renamed_goes_on_with_its_drawings(tmp_path: Path) -> None:
    hall = tmp_path / "hall.toml"
    hall.write_text("x")
    folder = Folder(tmp_path / "out")
    folder.write({"P1.dxf": b"1"}, origin=Origin(hall))
    new = hall.rename(tmp_path / "ferry-hall.toml")
    folder.write({"P1.dxf": b"2"}, origin=Origin(new))
    assert folder.record("P1").source == "../ferry-hall.toml"


def test_a_disk_without_locks_is_one_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen import locking

    def none(_: int) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(locking, "_lock", none)
    with pytest.raises(InputError, match=r"cannot be locked.*take an --out on another disk"):
        Folder(tmp_path).write({"P1.dxf": b"1"})
    assert names(tmp_path) == [MEMORY]
