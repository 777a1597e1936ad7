"""An output folder: whole files or none, nobody's handwork overwritten in silence, nothing outside."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from detailgen.errors import InputError
from detailgen.folder import MANIFEST, Folder


def names(path: Path) -> list[str]:
    return sorted(p.name for p in path.iterdir())


def test_files_are_written_and_remembered(tmp_path: Path) -> None:
    folder = Folder(tmp_path / "a" / "b")
    assert folder.write({"P1.dxf": b"1", "P1.png": b"2"}) == (folder.path / "P1.dxf", folder.path / "P1.png")
    assert names(folder.path) == [MANIFEST, "P1.dxf", "P1.png"]
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
    (tmp_path / MANIFEST).write_bytes(memory)
    with pytest.raises(InputError, match="was not written by this program"):
        folder.write({"P1.dxf": b"2"})
    folder.write({"P1.dxf": b"2"}, force=True)
    assert folder.remembered() == {"P1.dxf": json.loads((tmp_path / MANIFEST).read_text())["files"]["P1.dxf"]}


@pytest.mark.parametrize(
    "name", ["../P1.dxf", "a/P1.dxf", "a\\P1.dxf", "/tmp/P1.dxf", "..", ".", "", ".hidden", MANIFEST, "c:P1", "a\0"]
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
        if ".P1.png." in self.name:
            real(self, data[:1])
            raise OSError(28, "No space left on device", str(self))
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match="No space left on device"):
        Folder(tmp_path / "out").write({"P1.dxf": b"11", "P1.png": b"22"})
    assert names(tmp_path / "out") == []


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system")
@pytest.mark.parametrize("force", [False, True])
def test_a_pipe_in_the_place_of_a_drawing_is_refused_not_waited_for(tmp_path: Path, force: bool) -> None:
    os.mkfifo(tmp_path / "P1.dxf")
    with pytest.raises(InputError, match="is a pipe or a device"):
        Folder(tmp_path).write({"P1.dxf": b"1"}, force=force)


def test_a_folder_in_the_place_of_the_memory_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / MANIFEST).mkdir()
    with pytest.raises(InputError, match="is no file; move it away"):
        Folder(tmp_path).write({"P1.dxf": b"1"})
    assert names(tmp_path) == [MANIFEST]


def test_what_another_run_writes_meanwhile_is_remembered_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen import folder as room

    replace, others = room._replace_all, []

    def meanwhile(files: dict[Path, bytes]) -> None:
        if not others:
            others.append(True)
            Folder(tmp_path).write({"P2.dxf": b"2"})
        replace(files)

    monkeypatch.setattr(room, "_replace_all", meanwhile)
    Folder(tmp_path).write({"P1.dxf": b"1"})
    assert set(Folder(tmp_path).remembered()) == {"P1.dxf", "P2.dxf"}
