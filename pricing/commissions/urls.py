"""Pages of commissions, what is owed and paid."""

from django.urls import path

from pricing.commissions.views import accepted_work, commission_lines, commissions, payments

urlpatterns = [
    path("promised/", accepted_work.promised_page, name="promised"),
    path("commissions/", commissions.commissions, name="commissions"),
    path("commissions/new/", commissions.commission_new, name="commission-new"),
    path("commissions/<int:number>/edit/", commissions.commission_edit, name="commission-edit"),
    path("commissions/<int:number>/step/", commissions.commission_step, name="commission-step"),
    path("commissions/<int:number>/pieces/new/", commission_lines.line_new, name="line-new"),
    path("commissions/<int:number>/pieces/<int:pk>/", commission_lines.line_edit, name="line-edit"),
    path(
        "commissions/<int:number>/pieces/<int:pk>/remove/",
        commission_lines.line_remove,
        name="line-remove",
    ),
    path("commissions/<int:number>/payment/", payments.payment_new, name="payment-new"),
    path("commissions/<int:number>/give-back/", payments.payment_back, name="payment-back"),
    path("owed/", payments.owed, name="owed"),
    path("owed/rows.<slug:extension>", payments.owed_table, name="owed-file"),
    path("payments/", payments.payment_list, name="payments"),
    path("payments/<int:number>/receipt.pdf", payments.receipt_pdf, name="receipt-pdf"),
    path("payments/<int:number>/strike/", payments.payment_strike, name="payment-strike"),
]
