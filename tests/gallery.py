"""Hangs the gallery anew: ``python -m tests.gallery`` runs the commands of its page and lists the pictures again."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import detailgen as dg
from detailgen.folder import MEMORY

TOP = Path(__file__).resolve().parents[1]
PAGE = TOP / "gallery" / "README.md"


def main() -> None:
    """Every chapter of the page: its heading and command stay, its pictures are drawn and listed again."""
    head, *chapters = PAGE.read_text(encoding="utf-8").split("\n## ")
    out = [head.rstrip()]
    for chapter in chapters:
        text = chapter.split("\n### ")[0].rstrip()
        command = next(line for line in text.splitlines() if line.startswith("detailgen "))
        spec = Path(shlex.split(command)[2])
        folder = TOP / "gallery" / spec.stem
        for old in folder.glob("*.png"):
            old.unlink()
        run = subprocess.run([sys.executable, "-m", *shlex.split(command)], cwd=TOP, check=False)
        assert run.returncode in (0, 1), command  # 1: a demonstration of a failing rule
        shutil.rmtree(folder / MEMORY)
        entries = [
            f"### {d.id} {d.params.title}\n\n![{d.id}, {d.params.title}]({spec.stem}/{d.id}.png)"
            for d in dg.load(TOP / spec).details.values()
        ]
        out.append("\n\n".join([f"## {text}", *entries]))
    PAGE.write_text("\n\n".join(out) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
