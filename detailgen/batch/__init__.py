"""Many drawings: studies that vary a detail, runs on all cores or on a cluster, only what changed drawn anew.

>>> import detailgen as dg
>>> results = dg.batch.run("specs/edge-study.toml", "edges")  # doctest: +SKIP
"""

from detailgen.batch.cluster import cluster
from detailgen.batch.hands import crew, here
from detailgen.batch.results import Result, read_results
from detailgen.batch.run import Run, Wanted, read, run

__all__ = ["Result", "Run", "Wanted", "cluster", "crew", "here", "read", "read_results", "run"]
