"""The command line: a module a command, collected in `commands`; `preamble` is what they share.

What stands here is small and imports nothing that Python has not loaded already, so that Ctrl-C is
answered in words from the first moment on, while the rest is still being imported.
"""

from __future__ import annotations

import os
import sys

from squeeze import ONE_THREAD

TYPE_CHECKING = False
if TYPE_CHECKING:
    from types import FrameType
    from typing import Any


def main() -> None:
    """Run the command line."""
    try:
        end_in_words()
    except KeyboardInterrupt:
        _end(2, None)
    for name, count in ONE_THREAD.items():
        os.environ.setdefault(name, count)  # libraries read them once, as they are loaded
    try:
        from squeeze.cli.commands import run
    except Exception as error:
        sys.exit(_broken(error))
    run()


def end_in_words() -> None:
    """Let Ctrl-C, a request to end and a closed terminal end the program with one line.

    A signal that whoever started the program chose to ignore stays ignored.
    """
    import signal

    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _end)


def _broken(error: Exception) -> int:
    """Say that the program cannot start: a library is missing or broken."""
    from squeeze.show.report import report_defect

    report = report_defect(error, "starting", {"Command": " ".join(sys.argv)})
    print(report.text if "--debug" in sys.argv else report.say, file=sys.stderr)
    return 70


def _end(number: int, frame: FrameType | None) -> None:
    """End at once with status 128 + `number`, as shells count it.

    An exception would not do: Python drops one that is raised inside a callback of its own, in the
    middle of an import for instance, and goes on.
    """
    try:
        write = sys.modules.get("squeeze.show.write")
        getattr(write, "discard_parts", int)()
        clear = b"\r\x1b[2K\x1b[?25h" if os.isatty(2) else b""  # progress line gone, cursor back
        os.write(2, clear + b"Stopped.\n")
    finally:
        os._exit(128 + number)


def __getattr__(name: str) -> Any:
    """Fetch `app` when it is asked for: `main` must set up the signals before any import."""
    if name != "app":
        raise AttributeError(f"module 'squeeze.cli' has no attribute {name!r}")
    from squeeze.cli.commands import app

    return app
