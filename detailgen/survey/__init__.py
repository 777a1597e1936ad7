"""Drawings that somebody made, read to be measured."""

from detailgen.survey.areas import Area
from detailgen.survey.guess import proposal
from detailgen.survey.mapping import DrawingMap, read_map
from detailgen.survey.shapes import Drawing, read_drawing
from detailgen.survey.surveying import Survey, survey

__all__ = ["Area", "Drawing", "DrawingMap", "Survey", "proposal", "read_drawing", "read_map", "survey"]
