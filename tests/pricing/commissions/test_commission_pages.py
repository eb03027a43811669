"""Commissions on the pages: who may do what, what it takes, and what is short."""

import pytest
from django.urls import reverse

from pricing.models import Commission, CommissionLine, Customer
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db
RANK = ("viewer", "maker", "owner")
# page: how it is asked, and the least role that may
ACTS = {
    "commissions": ("get", "viewer"),
    "commission": ("get", "viewer"),
    "commission-new": ("get", "maker"),
    "commission-edit": ("get", "maker"),
    "commission-step": ("post", "maker"),
    "line-new": ("get", "maker"),
    "line-edit": ("get", "maker"),
    "line-remove": ("post", "maker"),
    "quote-new": ("get", "owner"),
}


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def commission(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    return commission


@pytest.fixture
def client(bench):
    return member(bench.studio, "maker").client


def address(page, commission):
    if page in ("commissions", "commission-new"):
        return reverse(page)
    if page in ("line-edit", "line-remove"):
        return reverse(page, args=[commission.number, commission.lines.first().pk])
    return reverse(page, args=[commission.number])


def text_of(response):
    return " ".join(response.content.decode().split())


def line_data(bench, **changes):
    return {
        "surface": bench.tile_size.pk,
        "technique": bench.bloom.pk,
        "palette": bench.palette.pk,
        "quantity": "2",
        "pieces_each": "4",
        **changes,
    }


@pytest.mark.parametrize("page", ACTS)
@pytest.mark.parametrize("role", RANK)
def test_a_page_opens_for_its_role_and_above(bench, commission, page, role):
    how, least = ACTS[page]
    client = member(bench.studio, role).client

    status = getattr(client, how)(address(page, commission)).status_code

    assert (status != 403) == (RANK.index(role) >= RANK.index(least))


@pytest.mark.parametrize(
    "page", [page for page in ACTS if page not in ("commissions", "commission-new")]
)
def test_another_studio_finds_nothing_there(commission, other_owner, page):
    how, _ = ACTS[page]

    assert getattr(other_owner.client, how)(address(page, commission)).status_code == 404


def test_the_list_shows_nothing_of_another_studio(commission, other_owner):
    assert commission.title not in text_of(other_owner.client.get(reverse("commissions")))


def test_an_enquiry_is_taken_down_with_a_new_customer(bench, client):
    data = {"new_customer": "Sage Finch", "new_email": "sage@finch.example", "title": "Tray"}

    answer = client.post(reverse("commission-new"), data)

    made = Commission.objects.get(title="Tray")
    assert answer.url == reverse("line-new", args=[made.number])
    assert (made.customer.name, made.studio) == ("Sage Finch", bench.studio)


def test_an_enquiry_without_a_customer_is_refused_and_kept(client):
    before = Customer.objects.count()

    answer = client.post(reverse("commission-new"), {"title": "Tray", "notes": "In blue"})

    assert answer.status_code == 422
    assert "Choose a customer, or give a new one" in text_of(answer)
    assert "In blue" in text_of(answer)
    assert not Commission.objects.filter(title="Tray").exists()
    assert Customer.objects.count() == before


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"surface": "", "size": "blue"}, "“blue”"),
        ({"surface": "", "size": ""}, "Choose a size you keep, or type another one."),
        ({"size": "8x8in"}, "Choose a size you keep, or type another one."),
        ({"quantity": "0"}, "greater than or equal to 1"),
        ({"quantity": "NaN"}, "Enter a whole number."),
        ({"palette": "999999"}, "Select a valid choice"),
    ],
)
def test_pieces_that_cannot_be_are_refused_and_what_was_typed_stays(
    bench, commission, client, changes, sentence
):
    sizes = bench.studio.surfaces.count()
    data = line_data(bench, pieces_each="6", **changes)

    answer = client.post(address("line-new", commission), data)

    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert 'value="6"' in text_of(answer)
    assert CommissionLine.objects.count() == 1
    assert bench.studio.surfaces.count() == sizes


def test_another_studios_palette_is_no_choice(bench, commission, client):
    data = line_data(bench, palette=working_studio().palette.pk)

    assert client.post(address("line-new", commission), data).status_code == 422
    assert CommissionLine.objects.count() == 1


def test_what_is_wanted_reads_in_parts(bench, commission, client):
    commission.lines.update(topcoat=bench.kit)

    shown = text_of(client.get(address("commission", commission)))

    assert "2 × set of 4: Tile 10 × 10 cm" in shown
    assert "Bloom · Tide · resin topcoat" in shown
    assert "122 °F, as its maker states" in shown
    assert shown.count("Before you mix resin") == 1


def test_what_is_short_stands_first_with_how_much(bench, client):
    commission = opened(bench)
    add_tiles(bench, commission, quantity=6, pieces_each=4)

    shown = text_of(client.get(address("commission", commission)))

    assert "Short for this commission" in shown
    assert "<strong>4 ×</strong> tile" in shown  # 24 wanted, 20 on the shelf
    assert shown.index("Short for this commission") < shown.index("What is wanted")


def test_advice_says_what_was_worked_out(bench, client):
    commission = opened(bench)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)

    shown = text_of(client.get(address("commission", commission)))

    assert "Limit: 1.5 mm" in shown  # nothing at this bench is a pouring medium
    assert "Where it comes from: paint makers" in shown


def test_an_accepted_commission_leads_to_its_mixing_sheet(bench, client):
    commission = accepted(bench)

    shown = text_of(client.get(address("commission", commission)))

    assert f"{reverse('mixing')}?commission={commission.number}" in shown
    assert f"{reverse('promised')}#commission-{commission.pk}" in shown
    promised = text_of(client.get(reverse("promised")))
    assert f'id="commission-{commission.pk}"' in promised
    assert address("commission", commission) in promised


@pytest.mark.parametrize("count", (1, 3))
def test_a_commission_asks_as_often_for_one_line_as_for_three(
    bench, commission, client, count, django_assert_num_queries
):
    for _ in range(count - 1):
        add_tiles(bench, commission, surface=bench.canvas_size)
    client.get(address("commission", commission))

    # who asks in three; commission, lines, quotes, events, pictures; the estimate: lines, colours,
    # steps, state of the pours, recipes in three; stock on hand and what of it is promised in two;
    # when it can be ready: accepted work, the calendar in three, habits in six, state of the pours,
    # lines, pieces, pours, topcoats
    with django_assert_num_queries(34):
        client.get(address("commission", commission))


@pytest.mark.parametrize("count", (1, 3))
def test_the_list_asks_as_often_for_one_row_as_for_three(
    bench, client, count, django_assert_num_queries
):
    for _ in range(count):
        opened(bench)

    with django_assert_num_queries(5):  # who asks in three; how many; the commissions
        client.get(reverse("commissions"))


@pytest.mark.parametrize(("status", "leads"), [("accepted", True), ("cancelled", False)])
def test_pieces_are_poured_and_packed_only_while_there_is_work(bench, client, status, leads):
    commission = accepted(bench)
    Commission.objects.filter(pk=commission.pk).update(status=status)

    page = client.get(address("commission", commission)).content.decode()

    assert (f"{reverse('pour-new')}?line=" in page) == leads
    assert (f"{reverse('set-new')}?line=" in page) == leads
