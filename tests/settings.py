"""The product's settings for the tests, whatever the .env beside manage.py says."""

import os
import tempfile
from pathlib import Path

# Set before studio.settings reads the .env, which never overrules the environment.
os.environ |= {
    "SECRET_KEY": "for-the-tests-only-and-long-enough-to-pass-the-deployment-check",
    "DEBUG": "False",
    "HTTPS": "False",
    "STATIC_FROM_SOURCE": "True",
    "ALLOWED_HOSTS": "127.0.0.1,localhost,testserver",
    "OPEN_SIGN_UP": "True",
    "SITE_URL": "http://site.example",
    "EMAIL_URL": "consolemail://",
    "DATA_DIR": tempfile.gettempdir(),
    "BACKUP_DIR": "",
    "BACKUP_KEY": "",
}
# SQLite unless the caller names PostgreSQL; never the database of a .env.
os.environ.setdefault("DATABASE_URL", "sqlite:///:memory:")

from studio.settings import *  # noqa: F403  (settings are names in a module)
from studio.settings import DATABASES

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, so that the live server's threads have connections of their own as they have in use;
    # named by process, so that two runs do not meet; not flushed to disk, since nobody keeps it.
    DATABASES["default"]["TEST"] = {
        "NAME": str(Path(tempfile.gettempdir()) / f"pourwright-test-{os.getpid()}.sqlite3")
    }
    DATABASES["default"]["OPTIONS"]["init_command"] = DATABASES["default"]["OPTIONS"][
        "init_command"
    ].replace("synchronous=FULL", "synchronous=OFF")
# Made from the models in one step, in the place of a minute of migrations; tests/upgrades proves
# that these come to the same.
DATABASES["default"].setdefault("TEST", {})["MIGRATE"] = False
DATABASES["default"]["CONN_MAX_AGE"] = 0  # the live server's threads leave nothing open

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # fast, and only here
MEDIA_ROOT = Path(tempfile.gettempdir()) / f"pourwright-test-media-{os.getpid()}"
