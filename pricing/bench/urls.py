"""Pages of mixing, pouring and finishing."""

from django.urls import path

from pricing.bench.views import (
    again,
    batches,
    compared,
    judging,
    mixing,
    moving,
    paired,
    pictures,
    pours,
    record,
    weighing,
    work,
)

urlpatterns = [
    path("plan/mixing/", mixing.plan_mixing, name="plan-mixing"),
    path("plan/mixing/sheet.pdf", mixing.plan_mixing_pdf, name="plan-mixing-pdf"),
    path("work-list/", work.work, name="work"),
    path("work-list/sheet.pdf", work.work_sheet, name="work-sheet"),
    path("mixing/", mixing.mixing, name="mixing"),
    path("mixing/sheet.pdf", mixing.mixing_pdf, name="mixing-pdf"),
    path("batches/", batches.batches, name="batches"),
    path("batches/new/", batches.batch_new, name="batch-new"),
    path("batches/<int:pk>/", batches.batch, name="batch"),
    path("batches/<int:pk>/undo/", batches.batch_undo, name="batch-undo"),
    path("record/", record.record_page, name="record"),
    path("pours/", pours.pours, name="pours"),
    path("pours/new/", pours.pour_new, name="pour-new"),
    path("pours/<int:number>/", pours.pour, name="pour"),
    path("pours/<int:number>/set-aside/", pours.pour_set_aside, name="pour-set-aside"),
    path("pours/<int:number>/confirm/", pours.pour_confirm, name="pour-confirm"),
    path("pours/<int:number>/undo/", pours.pour_undo, name="pour-undo"),
    path("pours/<int:number>/topcoat/", pours.topcoat_new, name="topcoat-new"),
    path("pours/<int:number>/topcoat/<int:pk>/undo/", pours.topcoat_undo, name="topcoat-undo"),
    *again.urlpatterns,
    *compared.urlpatterns,
    *judging.urlpatterns,
    *moving.urlpatterns,
    *paired.urlpatterns,
    *pictures.urlpatterns,
    *weighing.urlpatterns,
]
