"""Studies: molds swept over what can be varied, resumable, on all cores or a cluster."""

from squeeze.study.own_measures import OwnMeasure, OwnMeasureFault
from squeeze.study.plan.load import load_study, study_of, study_path
from squeeze.study.plan.study import Study, cases
from squeeze.study.records import Case, CaseAnswer, CaseState
from squeeze.study.runner.progress import RunProgress, Workload
from squeeze.study.runner.run import run, write_plan
from squeeze.study.runner.run_study import run_study
from squeeze.study.runner.worker_pool import NoWorkers, WorkerPool
from squeeze.study.store.contract import CaseCounts, Store, StoreFault
from squeeze.study.store.memory import MemoryStore
from squeeze.study.store.repair import open_store
from squeeze.study.store.sqlite import SqliteStore
from squeeze.study.table import read_study, rows_of, store_path, write_csv, write_parquet

__all__ = [
    "Case",
    "CaseAnswer",
    "CaseCounts",
    "CaseState",
    "MemoryStore",
    "NoWorkers",
    "OwnMeasure",
    "OwnMeasureFault",
    "RunProgress",
    "SqliteStore",
    "Store",
    "StoreFault",
    "Study",
    "WorkerPool",
    "Workload",
    "cases",
    "load_study",
    "open_store",
    "read_study",
    "rows_of",
    "run",
    "run_study",
    "store_path",
    "study_of",
    "study_path",
    "write_csv",
    "write_parquet",
    "write_plan",
]
