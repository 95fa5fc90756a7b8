"""Send one mold through the doors of squeeze, and say what is wrong with the answers."""

from __future__ import annotations

import contextlib
import ctypes
import faulthandler
import gc
import io
import json
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from unittest.mock import patch

import certificate
import numpy as np

import squeeze
from squeeze.cli import main
from squeeze.solve import Outcome

CPU_S = 60  # of processor time that one command, or one call, may take
MEMORY = 2**30  # bytes
DONE, REFUSED = (0, 1), 2  # exit statuses
DOORS = ("close", "files", "bands", "cradle", "advise")


@dataclass
class Report:
    """What came of one mold.

    Attributes
    ----------
    outcome : str
        How `close` ended.
    doors : list of str
        The doors that the mold went through.
    faults : list of str
        What is wrong, each with its door.
    cpu_s : float
        Processor time of the slowest door.
    memory : int
        Most memory that the process held meanwhile, or ever where the system does not say [bytes].
    """

    outcome: str = ""
    doors: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    cpu_s: float = 0.0
    memory: int = 0


class Wrong(Exception):
    """An answer that is none."""


def try_mold(path: Path, doors: tuple[str, ...], log: Path) -> Report:
    """Send the mold file at `path` through `doors`.

    The files that commands write go into the working folder. What happens when a limit ends the
    process can be read from `log`.
    """
    report = Report()
    block = None
    _forget_peak()
    with log.open("w") as out:
        faulthandler.register(signal.SIGXCPU, out, chain=True)
        for door in doors:
            print(f"{door}:", file=out, flush=True)
            start = time.process_time()
            _limit_cpu()
            try:
                if door == "close":
                    block, report.outcome = _close(path)
                else:
                    _COMMANDS[door](path, block)
            except Wrong as wrong:
                report.faults.append(f"{door}: {wrong}")
            except Exception:  # whatever escapes is what we are here to find
                report.faults.append(f"{door}: {traceback.format_exc()}")
                report.outcome = report.outcome or "crashed"
            report.doors.append(door)
            report.cpu_s = max(report.cpu_s, time.process_time() - start)
    faulthandler.unregister(signal.SIGXCPU)
    log.unlink()
    report.memory = _peak()
    if report.memory > MEMORY:
        report.faults.append(f"holds {report.memory / 1e6:.0f} MB")
    return report


def _limit_cpu() -> None:
    """End the process unless what comes next is done within its time."""
    last = int(time.process_time()) + CPU_S
    resource.setrlimit(resource.RLIMIT_CPU, (last, resource.RLIM_INFINITY))


def _forget_peak() -> None:
    """Measure memory anew from here on, where the system can: molds answer for themselves.

    What earlier molds left free in the allocator's pool goes back to the system first.
    """
    gc.collect()
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)  # of the GNU C library alone
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak() -> int:
    with contextlib.suppress(OSError):
        lines = Path("/proc/self/status").read_text().splitlines()
        return next(1024 * int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else 1024 * most


def _close(path: Path):
    """Close the mold as Python does; return the block, if there is one, and how it went.

    Small deformation has a certificate of its own; what `files` writes is of large deformation
    where that matters.
    """
    try:
        block = squeeze.Block(squeeze.load(path))
        closing = block.close(deformation="small", check=False)
    except squeeze.BadInput as error:
        short = [fault for fault in error.faults if not fault.key or len(fault.text) < 16]
        if short or not error.faults:
            raise Wrong(f"refused without words: {error}") from None
        return None, "refused"
    except squeeze.SqueezeError as error:
        if len(str(error)) < 16:
            raise Wrong(f"refused without words: {error}") from None
        return None, "refused"
    outcome = closing.outcome
    if outcome.has_answer:
        faults = certificate.faults(closing)
        if faults:
            raise Wrong("; ".join(faults))
    smooth = not any(seam.friction for seam in closing.section.seams)
    if smooth and not outcome.has_answer and outcome is not Outcome.PIECE_NOT_HELD:
        raise Wrong(f"no answer without friction: {outcome}")
    return block, str(outcome)


# ---- commands


def _files(path: Path, block) -> None:
    """Close as the command line does, with every file; the numbers have to be the same."""
    data, figure, vtu = Path("close.json"), Path("close.png"), Path("close.vtu")
    outputs = ["--json", str(data), "--figure", str(figure), "--vtu", str(vtu)]
    _run(block, [data, figure, vtu], "close", str(path), *outputs)
    if block is None:
        return
    _limit_cpu()  # the command has come back; the same question, asked from Python
    closing = squeeze.close(squeeze.load(path), check=False)
    if closing.outcome.has_answer:
        faults = certificate.faults(closing)
        if faults:
            raise Wrong("; ".join(faults))
    said = json.loads(data.read_text(encoding="utf-8"), parse_constant=_no_number)
    for land, told in zip(closing.lands, said["lands"], strict=True):
        for key in ("pressure_kpa", "gap_mm", "x_mm", "y_mm"):
            values = np.array(told[key], float)
            if not np.allclose(getattr(land, key), values, rtol=1e-3, atol=1e-4, equal_nan=True):
                raise Wrong(f"the JSON says other {key} of '{land.cut}' {land.land}")


def _no_number(text: str) -> float:
    raise Wrong(f"{text} stands in the JSON")


def _bands(path: Path, block) -> None:
    data, figure = Path("bands.json"), Path("bands.png")
    _run(block, [data], "bands", str(path), "--json", str(data), "--figure", str(figure))


def _cradle(path: Path, block) -> None:
    data, figure = Path("cradle.json"), Path("cradle.png")
    outputs = ["--json", str(data), "--figure", str(figure), "--templates", "saw"]
    _run(None, [], "cradle", str(path), *outputs)


def _advise(path: Path, block) -> None:
    changed = str(Path("changed.toml"))
    _run(None, [], "close", str(path), "--advise", "--changed", changed)


_COMMANDS: dict[str, Callable] = {
    "files": _files,
    "bands": _bands,
    "cradle": _cradle,
    "advise": _advise,
}


def _run(block, files: list[Path], *words: str) -> None:
    """Run a command; it has to end in an answer or in words, and to write its files."""
    for old in files:
        old.unlink(missing_ok=True)
    status, said, complaint = _spoken(*words)
    if "Traceback" in said + complaint:
        raise Wrong(f"a traceback: {complaint}")
    if status not in (*DONE, REFUSED):
        raise Wrong(f"exit status {status}: {complaint}")
    if status == REFUSED:
        if len(complaint) < 16:
            raise Wrong(f"refused without words: {complaint!r}")
        if block is not None:
            raise Wrong(f"refused what Python closes: {complaint}")
        return
    if len(said) < 100:
        raise Wrong(f"says next to nothing: {said!r}")
    missing = [file.name for file in files if not file.exists()]
    if missing:
        raise Wrong(f"wrote no {', '.join(missing)}")


def _spoken(*words: str) -> tuple[int, str, str]:
    """Run the command line in this process: exit status, stdout, stderr."""
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with (
        patch.object(sys, "argv", ["squeeze", *words, "--debug"]),  # a defect shows its report
        patch.dict(os.environ, HOME=str(Path.cwd())),  # and leaves it here
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            main()
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else int(bool(end.code))
    return status, out.getvalue(), err.getvalue()
