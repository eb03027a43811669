"""Numbers without gaps, one series for each kind of paper and studio."""

from studio.models import NumberSeries


def next_number(studio, name):
    """Give out the next number of a series; call it inside the transaction that uses it.

    The series' row is locked until that transaction ends, so two people cannot get the same number,
    and a transaction that fails gives its number back.
    """
    series, _ = NumberSeries.objects.get_or_create(studio=studio, name=name)
    series = NumberSeries.objects.select_for_update().get(pk=series.pk)
    series.last += 1
    series.save(update_fields=["last"])
    return series.last
