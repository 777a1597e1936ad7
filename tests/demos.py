"""The demonstration files: detail files, and studies that vary them."""

from __future__ import annotations

from pathlib import Path

SPECS = Path(__file__).resolve().parents[1] / "specs"
STUDIES = sorted(p for p in SPECS.glob("*.toml") if "[study]" in p.read_text(encoding="utf-8").splitlines())
DETAIL_FILES = sorted(set(SPECS.glob("*.toml")) - set(STUDIES))
