#!/usr/bin/env python3
"""Every command of Coachdesk: `python3 manage.py start`, `test`, and all that Django offers."""

import os
import sys

if sys.version_info < (3, 11):  # this file must parse on any Python, to say so
    names = ["python3." + str(minor) for minor in (14, 13, 12, 11)]
    folders = os.environ.get("PATH", "").split(os.pathsep)
    found = [name for name in names for folder in folders if os.access(os.path.join(folder, name), os.X_OK)]
    sys.stderr.write(
        "Coachdesk needs Python 3.11 or newer, and this is Python %d.%d. %s\n  %s manage.py %s\n"
        % (
            sys.version_info[0],
            sys.version_info[1],
            "Run:" if found else "Install a newer one from https://www.python.org/downloads/ and run:",
            found[0] if found else "python3.13",
            " ".join(sys.argv[1:]) or "start",
        )
    )
    sys.exit(1)

from coachdesk.bootstrap.commandline import main

if __name__ == "__main__":
    sys.exit(main(sys.argv))
