"""Jobs of the tests; a worker in a process of its own imports them too."""

from pathlib import Path
from threading import Event

from django.db import transaction
from django_tasks import task

from studio.models import Studio


@task()
def rename(key, name):
    Studio.objects.filter(pk=key).update(name=name)


@task()
def fail(name):
    raise ValueError(name)


@task()
def rename_when_told(key, name, folder):
    """Write a name, say so, and commit only once the file `go` lies in the folder."""
    with transaction.atomic():
        rename.call(key, name)
        Path(folder, "begun").touch()
        while not Path(folder, "go").exists():
            Event().wait(0.05)
