"""``python -m squeeze``, and what the command `squeeze` starts.

Ctrl-C is answered in words before anything but this module is imported. What Python does before its
first line, some hundredths of a second, is not ours to answer.
"""

import os
import sys

try:
    from squeeze.cli import end_in_words, main

    # a worker process imports the module that started its parent, and leaves Ctrl-C to it
    own = sys.modules.get("multiprocessing.process")
    if own is None or own.current_process().name == "MainProcess":
        end_in_words()
except KeyboardInterrupt:
    os.write(2, b"Stopped.\n")
    os._exit(130)

if __name__ == "__main__":
    main()
