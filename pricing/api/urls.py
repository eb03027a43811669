"""API addresses of what things take, cost and earn."""

from django.urls import include, path

from pricing.api import (
    batches,
    exports,
    pictures,
    pours,
    record,
    topcoats,
    work,
)

# address: (endpoint, its name)
POUR = {
    "": (pours.PourEndpoint, "api-pour"),
    "set-aside/": (pours.SetPourAsideEndpoint, "api-pour-set-aside"),
    "undo/": (pours.UndoPourEndpoint, "api-pour-undo"),
    "topcoats/": (topcoats.TopcoatingsEndpoint, "api-topcoats"),
    "topcoats/<int:pk>/undo/": (topcoats.UndoTopcoatingEndpoint, "api-topcoat-undo"),
}
REST = {
    "batches/": (batches.BatchesEndpoint, "api-batches"),
    "batches/<int:pk>/": (batches.BatchEndpoint, "api-batch"),
    "batches/<int:pk>/undo/": (batches.UndoBatchEndpoint, "api-batch-undo"),
    "pictures/": (pictures.PicturesEndpoint, "api-pictures"),
    "pictures/<int:pk>/": (pictures.PictureEndpoint, "api-picture"),
    "pictures/<int:pk>/file/": (pictures.PictureFileEndpoint, "api-picture-file"),
    "work-list/": (work.WorkEndpoint, "api-work"),
    "work-list/sheet/": (work.WorkSheetEndpoint, "api-work-sheet"),
    "pours/": (pours.PoursEndpoint, "api-pours"),
    "record/": (record.RecordEndpoint, "api-record"),
    "record/scores/": (record.RecordScoresEndpoint, "api-record-scores"),
}


def _paths(prefix, endpoints):
    return [
        path(prefix + address, endpoint.as_view(), name=name)
        for address, (endpoint, name) in endpoints.items()
    ]


urlpatterns = [
    path("", include("pricing.quoting.api.urls")),
    path("", include("pricing.selling.api.urls")),
    path("", include("pricing.estimating.api.urls")),
    path("", include("pricing.costing.api.urls")),
    path("", include("pricing.earnings.api.urls")),
    path("", include("pricing.commissions.api.urls")),
    path("", include("pricing.calendar.api.urls")),
    *_paths("pours/<int:number>/", POUR),
    *_paths("", REST),
    *exports.urlpatterns,
]
