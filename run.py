"""Set Pourwright up on this machine and run it: ``python3 run.py``, or ``python3 run.py test``.

Needs nothing but Python 3.11. What is there already is left alone, so running it again changes
nothing. Written so that an old Python can still read it, and say that it is too old; all else is in
the folder ``launch``.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from launch import OLDEST


def old_python(version):
    """Return what to say to a Python that is too old, or an empty text."""
    if tuple(version[:2]) >= OLDEST:
        return ""
    oldest = ".".join(map(str, OLDEST))
    return (
        f"Pourwright needs Python {oldest} or newer, and this is {version[0]}.{version[1]}.\n"
        "Install a newer one (from python.org, or your system's packages) and start this file\n"
        f"with it, such as: python{oldest} run.py"
    )


if __name__ == "__main__":
    if old_python(sys.version_info):
        print(old_python(sys.version_info))
        sys.exit(1)
    from launch.main import main

    sys.exit(main(sys.argv[1:]))
