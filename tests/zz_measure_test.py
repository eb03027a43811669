import io
import threading
import time

import pytest
from django.conf import settings
from django.db import connection

from pricing.exports import import_studio
from studio.transfer.filling import Filled
from tests.factories.inventory import MaterialFactory
from tests.factories.studio import StudioFactory
from tests.pricing.test_restoring import customers, empty_studio


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_measure(monkeypatch):
    body = customers(299_000)
    print(len(body))
    studio, other = empty_studio(), StudioFactory()
    done = threading.Event()
    waits, errors = [], []
    stamp = []

    def hand(self, told=Filled.hand_over):
        t = time.time()
        r = told(self)
        stamp.append(time.time() - t)
        return r

    monkeypatch.setattr(Filled, "hand_over", hand)

    def write():
        n = 0
        while not done.is_set():
            t = time.time()
            try:
                MaterialFactory(studio=other, name=f"p {n}")
            except Exception as e:
                errors.append(repr(e))
            waits.append(time.time() - t)
            n += 1
            time.sleep(0.1)
        connection.close()

    th = threading.Thread(target=write)
    th.start()
    t = time.time()
    try:
        n = import_studio(studio, io.BytesIO(body))
        print("restored", n, "in", time.time() - t, "hand over", stamp)
    finally:
        done.set()
        th.join()
    print("writes", len(waits), "longest", max(waits), "mean", sum(waits) / len(waits), errors[:3])
