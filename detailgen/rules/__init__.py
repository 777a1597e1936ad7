"""Measures × rule packs → findings: what holds, what fails, what does not apply, what cannot be told."""

from __future__ import annotations

from detailgen.rules.judge import Finding, Verdict, exit_code, failed, judge, judge_roof, worst
from detailgen.rules.reviewer import Answer, Question, Status, questions, reviewer_list

__all__ = [
    "Answer",
    "Finding",
    "Question",
    "Status",
    "Verdict",
    "exit_code",
    "failed",
    "judge",
    "judge_roof",
    "questions",
    "reviewer_list",
    "worst",
]
