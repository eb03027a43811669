"""Write the filled database of a version that is about to be released.

    python -m tests.upgrades.make 0.1

It is the demo, with what the demo does not come to, on a database of its own.
"""

import argparse
import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")


def main():
    """Fill a database that is thrown away afterwards, and write it to its file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("version", help="as CHANGELOG.md names it")
    version = parser.parse_args().version
    django.setup()

    from django.db import connection
    from django.test.utils import setup_test_environment

    from tests.upgrades import filling, stored

    setup_test_environment()  # its mail stays here
    connection.creation.create_test_db(verbosity=0)
    try:
        filling.fill()
        stored.dump(version)
    finally:
        connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)
    print(stored.path_of(version).name, stored.path_of(version).stat().st_size, "bytes")


if __name__ == "__main__":
    main()
