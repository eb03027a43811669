"""The proxies of deploy/, really run: on ports of the loopback, with a certificate made here."""

import shutil
import socket
import subprocess
import time
from contextlib import contextmanager

from tests.letters import free_port
from tests.running.machine import PATH
from tests.running.visitor import SITE, Visitor

# What Caddy is told beside its settings, so that it asks nobody for a certificate and leaves the
# machine as it is.
CADDY_HERE = """{{
	admin off
	default_bind 127.0.0.1
	http_port {http}
	https_port {https}
	local_certs
	skip_install_trust
	storage file_system {root}/certificates
}}
"""


def find(name):
    return shutil.which(name, path=PATH)


@contextmanager
def caddy(machine):
    """Yield a `Visitor` behind Caddy with the settings that the page put in place."""
    http, https = free_port(), free_port()
    told = machine.root / "Caddyfile"
    settings = (machine.root / "etc/caddy/Caddyfile").read_text(encoding="utf-8")
    told.write_text(CADDY_HERE.format(http=http, https=https, root=machine.root) + settings)
    run = [find("caddy"), "run", "--config", told, "--adapter", "caddyfile"]
    authority = machine.root / "certificates/pki/authorities/local/root.crt"
    with _running(machine, run, https):
        yield Visitor(https, str(authority))


@contextmanager
def nginx(machine):
    """Yield a `Visitor` behind nginx with the settings of deploy/."""
    http, https = free_port(), free_port()
    key, certificate = machine.root / "key.pem", machine.root / "certificate.pem"
    make = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1"]
    make += [
        "-nodes",
        "-days",
        "1",
        "-subj",
        f"/CN={SITE}",
        "-addext",
        f"subjectAltName=DNS:{SITE}",
    ]
    subprocess.run([*make, "-keyout", key, "-out", certificate], check=True, capture_output=True)
    settings = (machine.app / "deploy/nginx.conf").read_text(encoding="utf-8")
    for word, meant in {
        "listen 80;": f"listen 127.0.0.1:{http};",
        "listen 443 ssl;": f"listen 127.0.0.1:{https} ssl;",
        f"/etc/letsencrypt/live/{SITE}/fullchain.pem": str(certificate),
        f"/etc/letsencrypt/live/{SITE}/privkey.pem": str(key),
    }.items():
        assert word in settings
        settings = settings.replace(word, meant)
    folder = machine.root / "nginx"
    folder.mkdir()
    temporary = "".join(
        f"{name}_temp_path {folder}/{name};"
        for name in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    (folder / "nginx.conf").write_text(
        f"daemon off; pid {folder}/pid; error_log stderr; events {{}}\n"
        f"http {{ access_log off; {temporary}\n{settings}\n}}\n"
    )
    with _running(machine, [find("nginx"), "-c", folder / "nginx.conf", "-e", "stderr"], https):
        yield Visitor(https, str(certificate))


@contextmanager
def _running(machine, command, port, seconds=30):
    with (machine.logs / "proxy").open("a") as log:
        process = subprocess.Popen(
            [str(part) for part in command], env=machine.environment, stdout=log, stderr=log
        )
    try:
        until = time.monotonic() + seconds
        while not listens(port):
            assert process.poll() is None, machine.log("proxy")
            assert time.monotonic() < until, machine.log("proxy")
            time.sleep(0.1)
        yield
    finally:
        process.terminate()
        process.wait(30)


def listens(port):
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


PROXIES = {"caddy": caddy, "nginx": nginx}
