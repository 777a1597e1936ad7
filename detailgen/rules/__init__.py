"""Measures × rule packs → findings: what holds, what fails, what does not apply, what cannot be told."""

from __future__ import annotations

from detailgen.rules.judge import Finding, Verdict, exit_code, failed, judge, worst

__all__ = ["Finding", "Verdict", "exit_code", "failed", "judge", "worst"]
