"""Batches, mostly as real processes: what is drawn, what is left alone, what is kept, and what a kill leaves behind."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from detailgen.batch import Run, Wanted, crew, here, read, read_results, run
from detailgen.batch.results import Result
from detailgen.cli.bar import told
from detailgen.folder import MEMORY, Folder
from tests.studies_of_edges import FEW, ROOF, command, detailgen, environment, everything, laid

THREE = '[[vary]]\nend = ["face-strip", "under-coping", "reglet"]\n'
SMALL = ("--format", "json,svg", "--out", "out", "--jobs", "1")
POSIX = pytest.mark.skipif(os.name != "posix", reason="no such signals")


def states(results: list[Result]) -> dict[str, str]:
    return {r.id: r.state for r in results}


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The folder of a run of the small study that nobody disturbed."""
    folder = tmp_path_factory.mktemp("undisturbed")
    run(laid(folder, THREE), folder / "out", formats=("json", "svg"))
    return everything(folder / "out")


# ------------------------------------------------------------------------------------------ what is drawn
def test_a_crew_of_processes_draws_the_same_bytes_as_one(tmp_path: Path, undisturbed: dict[str, bytes]) -> None:
    done = detailgen(tmp_path, "batch", laid(tmp_path, THREE), "--format", "json,svg", "--out", "out", "--jobs", 2)
    assert (done.returncode, done.stdout) == (0, "edges: 3 drawn; in out\n"), done.stderr
    assert everything(tmp_path / "out") == undisturbed
    assert "3/3" in done.stderr and "\r" not in done.stderr, "plain lines, where there is no terminal"


def test_a_batch_of_a_detail_file_draws_what_draw_draws(tmp_path: Path) -> None:
    laid(tmp_path)
    assert detailgen(tmp_path, "draw", "roof.toml", *SMALL[:2], "--out", "drawn", "--scale", "1:10").returncode == 0
    results = run(tmp_path / "roof.toml", tmp_path / "out", formats=("json", "svg"), scale="1:10")
    assert states(results) == {"P1": "drawn", "P2": "drawn"}
    for name in ("P1.json", "P1.svg", "P2.json", "P2.svg"):
        assert (tmp_path / "out" / name).read_bytes() == (tmp_path / "drawn" / name).read_bytes()
    again = run(tmp_path / "roof.toml", tmp_path / "drawn", formats=("json", "svg"), scale="1:10")
    assert {r.problems for r in again} == {()} and states(again) == {
        "P1": "drawn",
        "P2": "drawn",
    }  # draw knew no results
    assert states(run(tmp_path / "roof.toml", tmp_path / "drawn", formats=("json", "svg"), scale="1:10")) == {
        "P1": "unchanged", "P2": "unchanged",
    }  # fmt: skip


def drawn(folder: Path, study: str = FEW, roof: str = ROOF, **options: object) -> set[str]:
    """The ids that a run draws anew."""
    laid(folder, study, roof=roof)
    results = run(folder / "edges.toml", folder / "out", formats=("json",), **options)  # type: ignore[arg-type]
    assert not [p for r in results for p in r.problems]
    return {r.id for r in results if r.state == "drawn"}


def test_only_what_changed_is_drawn_again(tmp_path: Path) -> None:
    every = drawn(tmp_path)
    assert len(every) == 6 and drawn(tmp_path) == set()
    assert drawn(tmp_path, FEW.replace('"150 mm"', '"160 mm"')) == {
        "P1-face-strip-160mm", "P1-under-coping-160mm", "P1-reglet-160mm",
    }  # fmt: skip
    assert drawn(tmp_path) == set(), "the drawings of before are still there"
    assert drawn(tmp_path, roof=ROOF + "# a remark\n") == set()
    assert drawn(tmp_path, roof=ROOF.replace('"3 m"', '"4 m"')) == set(), "another detail of the project"
    assert drawn(tmp_path, roof=ROOF.replace("Quayside", "Old")) == every
    assert drawn(tmp_path, roof=ROOF.replace("Quayside", "Old"), scale="1:10") == every


def test_a_new_version_and_a_new_catalogue_draw_everything_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from detailgen.project import inputs

    assert len(drawn(tmp_path)) == 6
    with monkeypatch.context() as patch:
        patch.setattr(inputs, "digest_of_catalogue", lambda: "another row")
        assert len(drawn(tmp_path)) == 6
        assert drawn(tmp_path) == set()
    assert len(drawn(tmp_path)) == 6


def test_a_rule_of_the_office_draws_everything_again(tmp_path: Path) -> None:
    roof = ROOF.replace("[buildup", 'rules = ["office.toml"]\n[buildup', 1)
    for limit, count in (("150 mm", 6), ("150 mm", 0), ("170 mm", 6)):
        rules = f'title = "Office"\nextends = "european"\n[rules.eu-flashing-height]\nminimum = "{limit}"\n'
        (tmp_path / "office.toml").write_text(rules)
        assert len(drawn(tmp_path, roof=roof)) == count


def test_a_drawing_that_is_gone_is_made_again_and_the_others_are_not(tmp_path: Path) -> None:
    drawn(tmp_path)
    (tmp_path / "out" / "P1-reglet-100mm.json").unlink()
    assert drawn(tmp_path) == {"P1-reglet-100mm"}

    def again(*formats: str, **options: bool) -> list[str]:
        wanted = Wanted(tmp_path / "out", formats, ids=("P1-reglet-100mm",), **options)
        one = Run(read(tmp_path / "edges.toml", {}, wanted.ids), wanted)
        assert len(list(one.go())) == len(one.tasks)
        return [f for task in one.tasks for f in task.formats]

    assert again("json", "svg") == ["svg"] and again("json", "svg") == []
    assert again("json", "svg", anew=True) == ["json", "svg"]


# ------------------------------------------------------------------------------------------ results
def test_the_results_say_what_the_drawings_say(tmp_path: Path) -> None:
    skip = '[[skip]]\nwhen = { end = "reglet" }\nreason = "no saw cuts in this wall"\n'
    results = run(laid(tmp_path, FEW + skip), tmp_path / "out", formats=("json",))
    kept = read_results(tmp_path / "out" / "edges.results.json")
    assert [r.id for r in kept] == [r.id for r in results] and len(kept) == 6
    for r, k in zip(results, kept, strict=True):
        if r.skipped:
            assert (k.skipped, k.files) == ("no saw cuts in this wall", [])
            continue
        sidecar = json.loads((tmp_path / "out" / f"{r.id}.json").read_bytes())
        assert k.numbers["flashing_height"] == [sidecar["numbers"]["flashing_height"]["value"], "mm"]
        assert k.verdicts == sidecar["summary"] and k.digest == sidecar["digest"]
        assert k.parameters == dict(r.parameters) and k.files == [f"{r.id}.json"]
        assert k.levels == {v["id"]: v["y"] for v in sidecar["levels"]}
    thin, thick = (next(r for r in kept if r.id == f"P1-face-strip-{t}mm") for t in (100, 150))
    assert thick.levels["flashing-top"] >= thin.levels["flashing-top"] + 50 - 1e-6


def test_a_required_rule_that_fails_leaves_with_1_and_a_wrong_row_with_2(tmp_path: Path) -> None:
    strict = 'title = "strict"\nextends = "european"\n[rules.eu-flashing-height]\nminimum = "2 m"\n'
    (tmp_path / "strict.toml").write_text(strict)
    study = "[[row]]\nid = 'A'\nproject.rules = ['strict.toml']\nheight.above_deck = '700 mm'\n[[row]]\nid = 'B'\n"
    done = detailgen(tmp_path, "batch", laid(tmp_path, study), "--format", "json")
    assert done.returncode == 1, done.stderr
    assert "1 with a required rule that fails: A" in done.stdout
    done = detailgen(tmp_path, "batch", laid(tmp_path, study + "[[row]]\nid = 'C'\nend = 'x'\n"), "--format", "json")
    assert done.returncode == 2 and "row[3].end" in done.stderr and "2 unchanged, 1 wrong" in done.stdout
    assert detailgen(tmp_path, "batch", "edges.toml", "--detail", "Z").returncode == 2
    assert detailgen(tmp_path, "batch", "roof.toml", "--scale", "1:7").returncode == 2


# ------------------------------------------------------------------------------------------ handwork
def test_a_drawing_edited_by_hand_between_two_runs_survives_both(tmp_path: Path) -> None:
    two = '[[vary]]\nend = ["reglet", "face-strip"]\n[[vary]]\nheight_allowance = ["20 mm"]\n'
    arguments = ("batch", laid(tmp_path, two), "--format", "dxf,svg", "--out", "out", "--jobs", 1)
    assert detailgen(tmp_path, *arguments).returncode == 0
    mine = tmp_path / "out" / "P1-reglet-20mm.dxf"
    mine.write_bytes(mine.read_bytes() + b"999\nby hand\n")
    by_hand, svg = mine.read_bytes(), (tmp_path / "out" / "P1-reglet-20mm.svg").read_bytes()

    second = detailgen(tmp_path, *arguments)
    assert (second.returncode, second.stdout) == (0, "edges: 2 unchanged; in out\n")
    assert f"kept: {Path('out') / mine.name}: changed by hand" in second.stderr

    (tmp_path / "roof.toml").write_text(ROOF.replace('"1 m", "5 m"', '"1 m", "6 m"'))
    third = detailgen(tmp_path, *arguments)
    assert third.returncode == 2 and third.stdout == "edges: 1 drawn, 1 kept; in out\n"
    assert f"{Path('out') / mine.name}: was changed by hand" in third.stderr and "--force" in third.stderr
    assert mine.read_bytes() == by_hand
    assert (tmp_path / "out" / "P1-reglet-20mm.svg").read_bytes() == svg, "all files of a drawing or none"
    [kept] = [r for r in read_results(tmp_path / "out" / "edges.results.json") if r.edited]
    assert kept.edited == [mine.name] and kept.numbers["flashing_height"], "measured as it would be now"

    assert detailgen(tmp_path, *arguments, "--force").returncode == 0
    assert mine.read_bytes() != by_hand
    assert detailgen(tmp_path, *arguments).stdout == "edges: 2 unchanged; in out\n"


def test_a_second_project_does_not_take_the_drawings_of_the_first(tmp_path: Path) -> None:
    laid(tmp_path)
    run(tmp_path / "roof.toml", tmp_path / "out", formats=("json",))
    before = everything(tmp_path / "out")
    (tmp_path / "shed.toml").write_text(ROOF.replace("Quayside ferry hall", "Baggage shed"))
    done = detailgen(tmp_path, "batch", "shed.toml", "--format", "json", "--out", "out")
    assert done.returncode == 2 and "belongs to ../roof.toml" in done.stderr
    after = everything(tmp_path / "out")
    assert {n: after[n] for n in before} == before
    assert detailgen(tmp_path, "draw", "shed.toml", "--format", "json", "--out", "out").returncode == 2


# ------------------------------------------------------------------------------------------ stopped and killed
@contextmanager
def started(folder: Path, *arguments: object, **options: object) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        command(*arguments), cwd=folder, env=environment(), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True, **options,
    )  # type: ignore[call-overload]  # fmt: skip
    try:
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def quiet(folder: Path) -> None:
    """Waits until nothing of a killed run is at work any more: its workers finish what they had begun."""
    before = None
    while (now := {str(p): p.stat().st_mtime_ns for p in folder.rglob("*")}) != before:
        before = now
        time.sleep(0.3)


def count(folder: Path) -> int:
    return len(list(folder.glob("*.json")))


@POSIX
def test_runs_that_are_stopped_and_killed_at_any_moment_leave_what_an_undisturbed_run_leaves(
    tmp_path: Path, undisturbed: dict[str, bytes]
) -> None:
    """Twenty times, by turns with Ctrl-C and kill -9, each at a moment by chance; the next run goes on."""
    chance = random.Random(20)
    arguments = ("batch", laid(tmp_path, THREE), "--format", "json,svg", "--out", "out")
    out, cut_off, codes = tmp_path / "out", 0, set[int]()
    for attempt in range(60):
        there = sorted(p.name for p in out.glob("P1-*"))
        for name in chance.sample(there, k=max(0, len(there) - 3)):
            (out / name).unlink()  # so that there is always something left to be drawn
        with started(tmp_path, *arguments, "--jobs", 1 + attempt % 3 // 2) as process:
            if attempt % 4:  # else at any moment from its first breath
                began = len(list(out.glob("P1-*")))
                while process.poll() is None and len(list(out.glob("P1-*"))) <= began:
                    time.sleep(0.002)
            time.sleep(chance.uniform(0, 0.3))
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL if attempt % 2 else signal.SIGINT)
                codes.add(process.wait(30))
                cut_off += 1
        for path in out.glob("P1-*"):
            assert path.read_bytes() == undisturbed[path.name], "whole or not at all"
        if cut_off == 20:
            break
    assert cut_off == 20
    assert {-signal.SIGKILL, 130} <= codes <= {-signal.SIGKILL, 130, 0, 1, -signal.SIGINT}, codes
    quiet(out)
    last = detailgen(tmp_path, *arguments)
    assert last.returncode == 0 and last.stderr.count("by hand") == 0, last.stderr
    assert everything(out) == undisturbed
    assert list((out / MEMORY / "passing").iterdir()) == []


@POSIX
def test_ctrl_c_lets_what_is_begun_be_finished_and_says_how_to_go_on(tmp_path: Path) -> None:
    study = '[[vary]]\ncut_at = { from = "1 m", to = "5 m", step = "0.1 m" }\n'
    arguments = ("batch", laid(tmp_path, study), "--format", "json", "--out", "out", "--jobs", 2)
    with started(tmp_path, *arguments) as process:
        while count(tmp_path / "out") < 4:
            time.sleep(0.02)
        os.killpg(process.pid, signal.SIGINT)
        _, err = process.communicate(timeout=30)
    assert process.returncode == 130 and "Traceback" not in err
    said = next(line for line in err.splitlines() if line.startswith("stopped: "))
    assert said.endswith("of 41 are done; the same command goes on from here")
    number = int(said.split()[1])
    there = count(tmp_path / "out")
    assert there - 2 <= number <= there < 41, "what two workers had begun may not be counted any more"
    done = detailgen(tmp_path, *arguments)
    assert done.stdout == f"edges: {41 - there} drawn, {there} unchanged; in out\n"


@POSIX
def test_workers_end_when_their_master_is_killed(tmp_path: Path) -> None:
    study = '[[vary]]\ncut_at = { from = "1 m", to = "5 m", step = "0.01 m" }\n'
    with started(tmp_path, "batch", laid(tmp_path, study), "--format", "json", "--jobs", 2) as process:
        while count(tmp_path / "out") < 2:
            time.sleep(0.02)
        os.kill(process.pid, signal.SIGKILL)  # the master alone
        process.wait(10)
    quiet(tmp_path / "out")
    before = count(tmp_path / "out")
    time.sleep(0.5)
    assert count(tmp_path / "out") == before < 401


def test_two_runs_at_once_in_one_folder_spoil_nothing(tmp_path: Path, undisturbed: dict[str, bytes]) -> None:
    arguments = ("batch", laid(tmp_path, THREE), "--format", "json,svg", "--out", "out", "--jobs", 1)
    with started(tmp_path, *arguments) as one, started(tmp_path, *arguments) as two:
        for process in (one, two):
            _, err = process.communicate(timeout=60)
            assert process.returncode == 0, err
    assert everything(tmp_path / "out") == undisturbed


def test_a_worker_that_dies_is_replaced_and_one_that_always_dies_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from detailgen.batch import hands

    real = hands._Worker.ask

    def ask(self: hands._Worker, task: hands.Task) -> Result:
        if task.id.endswith("100mm") and (task.id.startswith("P1-reglet") or not seen.count(task.id)):
            seen.append(task.id)
            self.process.kill()
        return real(self, task)

    seen: list[str] = []
    monkeypatch.setattr(hands._Worker, "ask", ask)
    results = run(laid(tmp_path), tmp_path / "out", formats=("json",), hands=crew(2))
    assert [r.id for r in results if r.state == "fault"] == ["P1-reglet-100mm"]
    assert "died 3 times" in results[-2].problems[0].message
    assert [r.state for r in results].count("drawn") == 5 and seen.count("P1-reglet-100mm") == 3


def test_workers_are_replaced_before_anything_can_pile_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.batch import hands

    monkeypatch.setattr(hands, "WORKED_OFF", 2)
    made: list[int] = []
    real = hands._Worker.__init__

    def begin(self: hands._Worker) -> None:
        made.append(1)
        real(self)

    monkeypatch.setattr(hands._Worker, "__init__", begin)
    results = run(
        laid(tmp_path, '[[vary]]\ncut_at = ["1 m", "2 m", "3 m"]\n'), tmp_path / "out", formats=("json",), hands=crew(2)
    )
    assert {r.state for r in results} == {"drawn"} and len(made) in (2, 3)


def test_a_fault_of_the_program_stops_no_other_variant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.batch import work

    real = work.measured

    def measured(id: str, *rest: object) -> dict[str, object]:
        if "reglet" in id:
            raise ZeroDivisionError("of the program")
        return real(id, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(work, "measured", measured)
    results = run(laid(tmp_path), tmp_path / "out", formats=("json",), hands=here)
    assert [r.state for r in results] == ["drawn"] * 4 + ["fault"] * 2
    assert "ZeroDivisionError" in results[-1].problems[0].message


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("no folder")
    done = detailgen(tmp_path, "batch", laid(tmp_path), "--format", "json", "--out", "out", "--jobs", 1)
    assert done.returncode == 2 and "cannot be written" in done.stderr and "Traceback" not in done.stderr
    assert (tmp_path / "out").read_text() == "no folder"


# ------------------------------------------------------------------------------------------ progress
def test_progress_says_rate_and_time_left() -> None:
    assert told(300, 1000, 60.0) == "300/1000, 5.0 a second, 2 min 20 s left"
    assert told(1, 3, 100.0) == "1/3, 0.6 a minute, 3 min 20 s left"


@POSIX
def test_a_terminal_gets_a_bar(tmp_path: Path) -> None:
    import pty

    laid(tmp_path)
    master, slave = pty.openpty()
    done = subprocess.run(
        command("batch", "edges.toml", "--format", "json", "--jobs", 1), cwd=tmp_path, env=environment(),
        stdout=subprocess.PIPE, stderr=slave, timeout=60,
    )  # fmt: skip
    os.close(slave)
    said = os.read(master, 100_000).decode()
    os.close(master)
    assert done.returncode == 0
    assert said.count("\r\x1b[K[") == 6 and "3/6, " in said and " left  P1-" in said
    assert said.endswith("\r\x1b[K"), "and takes it away again"


def test_the_demonstration_study_is_a_good_one() -> None:
    from tests.demos import STUDIES

    assert STUDIES
    for path in STUDIES:
        reading = read(path, {})
        assert reading.notes == () and not [p for v in reading.variants for p in v.problems]


def test_the_memory_of_a_drawing_made_by_a_batch_is_known_to_draw(tmp_path: Path) -> None:
    laid(tmp_path)
    run(tmp_path / "roof.toml", tmp_path / "out", formats=("json",))
    (tmp_path / "roof.toml").write_text(ROOF.replace('"3 m"', '"4 m"'))
    assert detailgen(tmp_path, "draw", "roof.toml", "--format", "json").returncode == 0
    assert Folder(tmp_path / "out").record("P2").inputs["P2.json"]


def test_a_batch_draws_the_sheets_that_several_details_share(tmp_path: Path) -> None:
    laid(tmp_path)
    (tmp_path / "roof.toml").write_text(ROOF + '[[shared_sheet]]\nid = "S1"\ndetails = ["P1", "P2"]\n')
    results = run(tmp_path / "roof.toml", tmp_path / "out", formats=("json", "svg"))
    assert states(results) == {"P1": "drawn", "P2": "drawn", "S1": "drawn"}
    assert results[-1].files == ("S1.svg",) and results[-1].verdicts["holds"] == sum(
        r.verdicts["holds"] for r in results[:2]
    )
    assert detailgen(tmp_path, "draw", "roof.toml", "--format", "json,svg", "--out", "drawn").returncode == 0
    for name in ("P1.svg", "P2.json", "S1.svg"):
        assert (tmp_path / "out" / name).read_bytes() == (tmp_path / "drawn" / name).read_bytes()
    assert set(states(run(tmp_path / "roof.toml", tmp_path / "out", formats=("json", "svg"))).values()) == {"unchanged"}


def test_drawings_that_a_study_does_not_ask_for_any_more_are_named_and_left(tmp_path: Path) -> None:
    run(laid(tmp_path), tmp_path / "out", formats=("json",))
    done = detailgen(tmp_path, "batch", laid(tmp_path, THREE), "--format", "json", "--jobs", 1)
    assert done.returncode == 0
    assert (
        "note: still in out from earlier runs, and not asked for any more: P1-face-strip-100mm, P1-face" in done.stderr
    )
    assert (tmp_path / "out" / "P1-face-strip-100mm.json").exists()


def test_a_batch_can_be_run_from_python_by_its_short_name(tmp_path: Path) -> None:
    import detailgen as dg

    [first, *_] = dg.batch.run(laid(tmp_path, THREE), tmp_path / "out", formats=(), scale="1:10")
    assert first.parameters == {"end": "face-strip"} and first.numbers["flashing_height"][1] == "mm"
    assert not (tmp_path / "out").exists(), "measured only"
