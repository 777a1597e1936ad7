"""Measures × rule packs → findings: what holds, what fails, what does not apply, what cannot be told."""

from __future__ import annotations

from detailgen.rules.judge import Finding, Verdict, exit_code, failed, judge, judge_roof, judge_rule, worst
from detailgen.rules.others import OtherAnswer, Topic, other_answers, topics
from detailgen.rules.reviewer import Answer, Question, Status, questions, reviewer_list

__all__ = [
    "Answer",
    "Finding",
    "OtherAnswer",
    "Question",
    "Status",
    "Topic",
    "Verdict",
    "exit_code",
    "failed",
    "judge",
    "judge_roof",
    "judge_rule",
    "other_answers",
    "questions",
    "reviewer_list",
    "topics",
    "worst",
]
