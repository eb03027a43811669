"""API addresses of what things take, cost and earn."""

from django.urls import include, path

from pricing.api import (
    batches,
    commission_lines,
    commission_needs,
    commissions,
    exports,
    payments,
    pictures,
    pours,
    promised,
    quote_papers,
    quotes,
    record,
    schedule,
    topcoats,
    work,
    working_days,
)

# address: (endpoint, its name)
COMMISSION = {
    "": (commissions.CommissionEndpoint, "api-commission"),
    "step/": (commissions.CommissionStepEndpoint, "api-commission-step"),
    "estimate/": (commission_needs.CommissionEstimateEndpoint, "api-commission-estimate"),
    "stock-check/": (commission_needs.StockCheckEndpoint, "api-stock-check"),
    "promise/": (schedule.PromiseEndpoint, "api-commission-promise"),
    "promise/what-if/": (schedule.PromiseWhatIfEndpoint, "api-commission-promise-what-if"),
    "lines/": (commission_lines.CommissionLinesEndpoint, "api-commission-lines"),
    "lines/<int:pk>/": (commission_lines.CommissionLineEndpoint, "api-commission-line"),
    "quotes/": (quotes.DraftQuoteEndpoint, "api-draft-quote"),
    "account/": (payments.AccountEndpoint, "api-account"),
    "payments/": (payments.TakePaymentEndpoint, "api-take-payment"),
    "give-back/": (payments.GiveBackEndpoint, "api-give-back"),
    "invoices/": (payments.IssueInvoiceEndpoint, "api-issue-invoice"),
}
QUOTE = {
    "": (quotes.QuoteEndpoint, "api-quote"),
    "send/": (quotes.SendQuoteEndpoint, "api-quote-send"),
    "link/": (quotes.QuoteLinkEndpoint, "api-quote-link"),
    "accept/": (quotes.AcceptQuoteEndpoint, "api-quote-accept"),
    "decline/": (quotes.DeclineQuoteEndpoint, "api-quote-decline"),
    "costs/": (quote_papers.QuoteCostsEndpoint, "api-quote-costs"),
    "pdf/": (quote_papers.QuotePaperEndpoint, "api-quote-pdf"),
    "cost-sheet/": (quote_papers.CostSheetEndpoint, "api-cost-sheet"),
}
POUR = {
    "": (pours.PourEndpoint, "api-pour"),
    "set-aside/": (pours.SetPourAsideEndpoint, "api-pour-set-aside"),
    "undo/": (pours.UndoPourEndpoint, "api-pour-undo"),
    "topcoats/": (topcoats.TopcoatingsEndpoint, "api-topcoats"),
    "topcoats/<int:pk>/undo/": (topcoats.UndoTopcoatingEndpoint, "api-topcoat-undo"),
}
REST = {
    "commissions/": (commissions.CommissionsEndpoint, "api-commissions"),
    "quotes/": (quotes.QuotesEndpoint, "api-quotes"),
    "batches/": (batches.BatchesEndpoint, "api-batches"),
    "batches/<int:pk>/": (batches.BatchEndpoint, "api-batch"),
    "batches/<int:pk>/undo/": (batches.UndoBatchEndpoint, "api-batch-undo"),
    "pictures/": (pictures.PicturesEndpoint, "api-pictures"),
    "pictures/<int:pk>/": (pictures.PictureEndpoint, "api-picture"),
    "pictures/<int:pk>/file/": (pictures.PictureFileEndpoint, "api-picture-file"),
    "work-list/": (work.WorkEndpoint, "api-work"),
    "work-list/sheet/": (work.WorkSheetEndpoint, "api-work-sheet"),
    "pours/": (pours.PoursEndpoint, "api-pours"),
    "owed/": (payments.OwedEndpoint, "api-owed"),
    "payments/": (payments.PaymentsEndpoint, "api-payments"),
    "payments/<int:number>/strike/": (payments.StrikePaymentEndpoint, "api-payment-strike"),
    "payments/<int:number>/receipt/": (payments.ReceiptEndpoint, "api-receipt"),
    "invoices/": (payments.InvoicesEndpoint, "api-invoices"),
    "invoices/<int:number>/credit/": (payments.CreditInvoiceEndpoint, "api-invoice-credit"),
    "invoices/<int:number>/pdf/": (payments.InvoicePaperEndpoint, "api-invoice-pdf"),
    "record/": (record.RecordEndpoint, "api-record"),
    "record/scores/": (record.RecordScoresEndpoint, "api-record-scores"),
    "schedule/": (schedule.ScheduleEndpoint, "api-schedule"),
    "calendar-links/": (schedule.CalendarLinksEndpoint, "api-calendar-links"),
    "calendar-links/<int:pk>/": (schedule.CalendarLinkEndpoint, "api-calendar-link"),
    "working-days/": (working_days.WorkingDaysEndpoint, "api-working-days"),
    "days-off/": (working_days.DaysOffEndpoint, "api-days-off"),
    "days-off/<int:pk>/": (working_days.DayOffEndpoint, "api-day-off"),
    "promised/": (promised.PromisedEndpoint, "api-promised"),
}


def _paths(prefix, endpoints):
    return [
        path(prefix + address, endpoint.as_view(), name=name)
        for address, (endpoint, name) in endpoints.items()
    ]


urlpatterns = [
    path("", include("pricing.selling.api.urls")),
    path("", include("pricing.estimating.api.urls")),
    path("", include("pricing.costing.api.urls")),
    path("", include("pricing.earnings.api.urls")),
    *_paths("commissions/<int:number>/", COMMISSION),
    *_paths("quotes/<int:pk>/", QUOTE),
    *_paths("pours/<int:number>/", POUR),
    *_paths("", REST),
    *exports.urlpatterns,
]
