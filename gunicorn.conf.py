"""What gunicorn is told beside its command line, wherever it is started."""

# Whose word is taken on how a visitor came is decided in one place, `studio.proxies`.
forwarded_allow_ips = ""
