"""A worker process: takes batches from its standard input, puts answers on its standard output."""

from __future__ import annotations

import os
import pickle
import queue
import signal
import sys
import threading
from typing import Any, BinaryIO


def main() -> None:
    """Work until the input ends, which it does when the parent is gone, however it went."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not get between the answers
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    tasks: queue.Queue[Any] = queue.Queue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, tasks), daemon=True).start()

    from squeeze.study.runner.solve_batch import BlockCache, solve_batch

    blocks = BlockCache()
    _send(out, "ready")
    while True:
        for answer in solve_batch(tasks.get(), blocks):
            _send(out, answer)
        _send(out, None)


def _listen(source: BinaryIO, tasks: queue.Queue[Any]) -> None:
    while True:
        try:
            tasks.put(pickle.load(source))
        except (EOFError, OSError, pickle.UnpicklingError):
            os._exit(0)


def _send(stream: BinaryIO, message: Any) -> None:
    """Send one message."""
    try:
        pickle.dump(message, stream)
        stream.flush()
    except OSError:
        os._exit(0)
