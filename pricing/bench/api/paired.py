"""Paired tests: drawn, poured, rated, revealed; and what all of one change say."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from pricing.bench.api.pours import rating
from pricing.bench.paired import (
    Series,
    draw_test,
    pour_test,
    rate_test,
    remove_test,
    reveal_test,
    series_of,
)
from pricing.costing.api.names import PaletteName, SurfaceName
from pricing.models import PairedTest, Palette, Pour, SavedSurface, Technique
from pricing.models.technique import BASE_CHOICES
from studio.api.acts import act, answer
from studio.api.rows import OwnId, OwnNumber, OwnSlug, RowOut
from studio.api.viewsets import Added, Listed, Read, Removed


class PairedTestOut(RowOut):
    """One pair; ``first`` and ``second`` are the ids of its pieces.

    ``changed_tile`` is told to makers until the pair is poured, and to everybody once it is
    revealed; ``outcome`` is 1 where that tile is better, -1 worse, 0 alike.
    """

    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    pour = serializers.IntegerField(source="first.pour.number", allow_null=True, default=None)
    changed_tile = serializers.SerializerMethodField()
    outcome = serializers.IntegerField(allow_null=True)

    class Meta:
        model = PairedTest
        fields = read_only_fields = (
            *("number", "change", "surface", "technique", "palette", "base", "changed_tile"),
            *("drawn_at", "pour", "first", "second", "first_rating", "second_rating", "better"),
            *("revealed_at", "outcome"),
        )

    @extend_schema_field(serializers.IntegerField(allow_null=True))
    def get_changed_tile(self, test: PairedTest) -> int | None:
        may_make = self.context["request"].membership.role != "viewer"
        shows = test.revealed_at or (may_make and not test.is_poured)
        return test.changed_tile if shows else None


class PairedTestIn(serializers.Serializer):
    """What is poured, and the one change that one of two tiles gets; which of them, a lot says."""

    changes = serializers.ListField(
        child=serializers.ChoiceField(choices=PairedTest.Change.choices),
        max_length=len(PairedTest.Change),
    )
    surface = OwnId(queryset=SavedSurface.objects)
    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True))
    palette = OwnId(queryset=Palette.objects)
    base = serializers.ChoiceField(choices=BASE_CHOICES, required=False)


class PouredIn(serializers.Serializer):
    """A pour logged since the lot was drawn, and the numbers of the two pieces."""

    pour = OwnNumber(queryset=Pour.objects)
    first = serializers.IntegerField(min_value=1, max_value=200)
    second = serializers.IntegerField(min_value=1, max_value=200)


class RateIn(serializers.Serializer):
    """Ratings from 1 to 5; what is left out stays. ``better`` is of two rated the same."""

    first = rating()
    second = rating()
    better = serializers.ChoiceField(
        choices=PairedTest.Better.choices, required=False, allow_blank=True
    )


class SeriesOut(serializers.Serializer):
    """All pairs of one change in one technique, palette and size.

    ``place`` is which change of its year it is; ``one_in`` says how rare so good a score is by
    luck, ``in_a_row`` how many more that are better would be told.
    """

    change = serializers.CharField(source="last.change")
    technique = serializers.CharField(source="last.technique.slug")
    palette = PaletteName(source="last.palette")
    surface = SurfaceName(source="last.surface")
    base = serializers.CharField(source="last.base")
    better = serializers.IntegerField(source="score.better")
    worse = serializers.IntegerField(source="score.worse")
    alike = serializers.IntegerField(source="score.alike")
    to_come = serializers.IntegerField()
    place = serializers.IntegerField()
    one_in = serializers.IntegerField(allow_null=True)
    in_a_row = serializers.IntegerField(allow_null=True)
    is_told = serializers.BooleanField()


class SeriesListOut(serializers.Serializer):
    """What the paired tests of a studio say."""

    series = SeriesOut(many=True)


class PairedTests(Listed, Read, Added, Removed):
    """The paired tests, newest first."""

    model, out, takes = PairedTest, PairedTestOut, PairedTestIn
    dated_by = "drawn_at"
    lookup_field = "number"
    sort_fields = ("number",)

    def rows(self) -> QuerySet[PairedTest]:
        return self.studio.paired_tests.select_related(
            "technique", "palette", "surface", "first__pour", "second"
        )

    def add(self, **sent: Any) -> PairedTest:
        """Begin a pair; the answer says which tile gets the change."""
        return draw_test(studio=self.studio, by=self.request.user, **sent)

    def remove(self, test: PairedTest) -> None:
        """Remove a pair that was drawn and never poured."""
        remove_test(test=test)

    @act(PouredIn)
    def poured(self, test: PairedTest, pour: Pour, **sent: int) -> PairedTest:
        """Say which pieces of which pour the tiles are; which had the change is hidden then."""
        return pour_test(test=test, pour=pour, **sent)

    @act(RateIn)
    def rate(self, test: PairedTest, **sent: Any) -> PairedTest:
        """Rate one tile, or both."""
        return rate_test(test=test, by=self.request.user, **sent)

    @act()
    def reveal(self, test: PairedTest) -> PairedTest:
        """Reveal which tile had the change, once both are rated."""
        return reveal_test(test=test)

    @answer(SeriesListOut, on_row=False)
    def told(self) -> dict[str, tuple[Series, ...]]:
        """Read what the pairs of each change say together."""
        return {"series": series_of(self.studio)}
