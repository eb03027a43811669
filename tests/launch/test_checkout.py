"""A checkout that was run before is run again after an update, on what lies there."""

import sys

from launch.system import ROOT
from pricing.demo import shelves
from tests.launch.computer import Computer

# As run.py wrote it until data had a folder of their own.
OLD_ENV = f"SECRET_KEY={'k' * 60}\nDEBUG=False\nSTATIC_FROM_SOURCE=True\n"


def test_an_old_env_and_an_older_database_are_run_as_they_are(tmp_path):
    computer = Computer(tmp_path)
    (computer.data / ".env").write_text(OLD_ENV)
    quotes = computer.asked_of("SELECT count(*) FROM pricing_quote")

    with computer.running(sys.executable, ROOT / "run.py", DATA_DIR=str(computer.data)) as said:
        assert "Your data were brought up to this version" in said
        assert shelves.STUDIO["name"] in said  # the demo's story, told of what is there
        assert computer.ask("sign-in/")[0] == 200
        assert computer.ask("static/studio/icons.svg")[0] == 200

    assert (computer.data / ".env").read_text() == OLD_ENV
    assert computer.asked_of("SELECT count(*) FROM pricing_quote") == quotes
    assert (computer.data / "papers" / "quote-1.pdf").read_bytes().startswith(b"%PDF")
    assert not computer.opened.exists()  # a developer's browser is left alone
