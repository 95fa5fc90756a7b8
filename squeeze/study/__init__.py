"""Studies: molds swept over what can be varied, resumable, on all cores or a cluster."""

from squeeze.study.crew import Crew, NoWorkers
from squeeze.study.file import load_study, study_of, study_path
from squeeze.study.plan import Study, cases
from squeeze.study.read import read_study, rows_of, store_path, write_csv, write_parquet
from squeeze.study.records import Answer, Case, State
from squeeze.study.run import Load, Progress, planned, run
from squeeze.study.sqlite import SqliteStore, Turn
from squeeze.study.store import Count, MemoryStore, Store, StoreFault

__all__ = [
    "Answer",
    "Case",
    "Count",
    "Crew",
    "Load",
    "MemoryStore",
    "NoWorkers",
    "Progress",
    "SqliteStore",
    "State",
    "Store",
    "StoreFault",
    "Study",
    "Turn",
    "cases",
    "load_study",
    "planned",
    "read_study",
    "rows_of",
    "run",
    "store_path",
    "study_of",
    "study_path",
    "write_csv",
    "write_parquet",
]
