"""The detail file and the project that it describes."""

from detailgen.project.drawing import check, draw
from detailgen.project.model import Detail, Project
from detailgen.project.reader import load

__all__ = ["Detail", "Project", "check", "draw", "load"]
