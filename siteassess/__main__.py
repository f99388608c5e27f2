"""Where the command line starts, as `siteassess` and as `python -m siteassess`, and how Ctrl-C ends it.

Most of the first half second is spent importing, and a library may make its own of an interrupt amid that: numpy
prints a traceback and calls it a failed import. So while anything is being imported Ctrl-C waits.
"""

import _thread
import signal
import sys
import time
from types import FrameType

_IMPORTING = "<frozen importlib._bootstrap>"
_ASK_AGAIN_S = 0.005


def main() -> None:
    """Run the command line; Ctrl-C ends it in one word and with exit code 1, as early as this program has a say."""
    try:
        # a shell sets what it runs beside the terminal deaf to Ctrl-C, and that stays so
        if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
            signal.signal(signal.SIGINT, _interrupted)
        try:
            from siteassess.cli import main as run

            run()
        finally:
            # what is left is tidying up, in which nothing can be lost
            signal.signal(signal.SIGINT, signal.SIG_DFL)
    except KeyboardInterrupt:
        print("Aborted!", file=sys.stderr)
        sys.exit(1)


def _interrupted(_number: int, frame: FrameType | None) -> None:
    while frame is not None:
        if frame.f_code.co_filename == _IMPORTING:
            _thread.start_new_thread(_later, ())
            return
        frame = frame.f_back
    raise KeyboardInterrupt


def _later() -> None:
    time.sleep(_ASK_AGAIN_S)
    _thread.interrupt_main()


if __name__ == "__main__":
    main()
