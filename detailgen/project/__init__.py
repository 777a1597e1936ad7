"""The detail file and the project that it describes."""

from detailgen.project.model import Detail, Project
from detailgen.project.reader import load

__all__ = ["Detail", "Project", "load"]
