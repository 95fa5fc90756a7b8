"""A study that runs beside the page, in a process of its own, until it is done or stopped.

It ends when its standard input is closed, so that it does not outlive the server; what it has
finished is kept, and it goes on from there the next time.
"""

from __future__ import annotations

import json
import os
import signal
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from squeeze.study import RunProgress


def main(folder: str) -> None:
    """Run the study in a folder; print a line of JSON each time it moves on.

    The ear for the server is there before the solver is imported, which takes a while.
    """
    signal.signal(signal.SIGTERM, _stop)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        threading.Thread(target=_end_with_the_server, daemon=True).start()
        _attempt(Path(folder))
    except KeyboardInterrupt:
        _tell({"stopped": True})


def _attempt(folder: Path) -> None:
    """Run the study, and tell in words what ends it."""
    from squeeze.mold import SqueezeError
    from squeeze.page.defect import defect

    try:
        _run(folder)
    except SqueezeError as error:
        _tell({"error": str(error)})
    except Exception as error:
        _tell(defect(error, f"computing the study in {folder}", {"Study": str(folder)})[1])


def _run(folder: Path) -> None:
    from squeeze.show.study.figures import figure_writers
    from squeeze.show.write import write_all
    from squeeze.study import load_study, open_store, run, store_path
    from squeeze.study.runner.worker_pool import cores

    study = load_study(folder)
    assert study.path is not None
    with open_store(store_path(study.path)) as store:
        run(study, store, workers=max(1, cores() - 1), on_progress=_progress)
        write_all(figure_writers(study, list(store.rows())))


def _progress(progress: RunProgress) -> None:
    left = progress.left_s
    _tell({"left_s": left if left == left else None, "failed": progress.failed})


def _tell(news: dict[str, Any]) -> None:
    print(json.dumps(news), flush=True)


def _end_with_the_server() -> None:
    while os.read(0, 1024):
        pass
    os.kill(os.getpid(), signal.SIGTERM)


def _stop(*_: object) -> None:
    raise KeyboardInterrupt
