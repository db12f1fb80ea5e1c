"""A command that ends as its first argument says: by a signal, in sleep until it is told, or with a status. Its second is a file to write its process id to."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

from shotcrit.elsewhere.commanded import be_command

if __name__ == "__main__":
    be_command()
    how, name = sys.argv[1:]
    part = Path(name + ".part")
    part.write_text(str(os.getpid()))
    part.replace(name)
    if how == "sleep":
        try:
            time.sleep(60)
        except KeyboardInterrupt:
            sys.exit(130)
    elif how.startswith("SIG"):
        os.kill(os.getpid(), getattr(signal, how))
        time.sleep(60)
    sys.exit(int(how))
