"""What rings in the recording of a tap, listened to in a process of its own with little memory.

Run as `python -m firstoff.bench.hearing FILE`: prints one JSON object, what was heard or what is wrong, nothing else.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Final

from ..errors import FirstoffError, RecordError
from .looking import WAITS, frugal

AGAIN: Final = "one sharp tap, and a few seconds of what rings after it"


def heard_in(file: Path) -> dict[str, str]:
    """Frequency and damping of what rings loudest, as answers of the test; found by another process.

    Args:
        file: a .wav recording or .csv log.

    Raises:
        RecordError: if it cannot be listened to, or nothing rings in it.
    """
    command, alone = [sys.executable, "-m", "firstoff.bench.hearing", str(file)], {"OPENBLAS_NUM_THREADS": "1"}
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=WAITS, check=False,
                              env=os.environ | alone)
        said = json.loads(done.stdout)
    except subprocess.TimeoutExpired:
        raise RecordError("it took too long to listen to", where=str(file), right=AGAIN) from None
    except ValueError:
        raise RecordError("it cannot be listened to", where=str(file), right=AGAIN) from None
    if "wrong" in said:
        raise RecordError(said["wrong"], where=str(file), right=said["right"])
    return {"frequency": said["frequency"], "damping": said["damping"]}


def listen(file: Path) -> dict[str, str]:
    """The same in this process; what is wrong is said under "wrong" and "right"."""
    from ..records.ringing import heard, told

    try:
        return told(heard(file))
    except FirstoffError as error:
        return {"wrong": error.what, "right": error.right}
    except MemoryError:
        return {"wrong": "it is too long to listen to", "right": AGAIN}


def main() -> int:
    """Print what is heard in the file that is named."""
    frugal()
    sys.stdout.write(json.dumps(listen(Path(sys.argv[1]))) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
