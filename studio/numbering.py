"""Numbers without gaps, one series for each kind of paper and studio."""

from studio.models import NumberSeries, Studio


def next_number(studio: Studio, name: str) -> int:
    """Give out the next number of a series; call it inside the transaction that uses it.

    The series' row is locked until that transaction ends, so two people cannot get the same number,
    and a transaction that fails gives its number back.
    """
    return next_numbers(studio, name, 1)[0]


def next_numbers(studio: Studio, name: str, count: int) -> range:
    """Give out so many numbers of a series at once, as a range; as `next_number`."""
    series, _ = NumberSeries.objects.get_or_create(studio=studio, name=name)
    series = NumberSeries.objects.select_for_update().get(pk=series.pk)
    series.last += count
    series.save(update_fields=["last"])
    return range(series.last - count + 1, series.last + 1)
