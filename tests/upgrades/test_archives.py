"""An archive that an older version wrote is brought in whole, and what was promised stays promised.

The file of each version was written by that version: a studio with one commission in work, whose
holds are named by a key of it up to 0.1, with mixes for it and for stock.
"""

from pathlib import Path

import pytest

from inventory.stock import books
from pricing.commissions.commission_holds import needs_left
from pricing.costing.defaults import prepare_studio
from tests.factories.studio import StudioFactory
from tests.pricing.archives import import_studio

ARCHIVES = sorted(Path(__file__).parent.glob("*-archive.zip"))


@pytest.fixture(params=ARCHIVES, ids=lambda path: path.name)
def studio(db, request):
    studio = StudioFactory()
    prepare_studio(studio)
    with request.param.open("rb") as stream:
        import_studio(studio, stream)
    return studio


def test_its_books_agree(studio):
    assert books.check(studio) == []


def test_holds_and_batches_are_for_the_commission_that_their_key_named(studio):
    commission = studio.commissions.get(number=1)
    idle = studio.commissions.get(number=900_001)
    labels = {hold.label for hold in commission.work.holds.all()}

    assert labels == {str(commission)}
    assert commission.work.holds.open().count() == 8
    assert not idle.work.holds.exists()
    assert [batch.volume_ml for batch in commission.work.batches.all()] == [30]
    assert studio.batches.filter(work=None).count() == 2


def test_a_hold_of_no_commission_is_of_a_work_of_its_own(studio):
    (hold,) = studio.holds.filter(label="Work 0")

    assert not hasattr(hold.work, "commission")
    assert hold.work.holds.count() == 1


def test_work_goes_on_from_there(studio):
    commission = studio.commissions.get(number=1)

    held = {hold.material: hold.outstanding for hold in commission.work.holds.open()}

    assert needs_left(commission) == {material: left for material, left in held.items() if left}
