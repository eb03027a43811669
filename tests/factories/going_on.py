"""Acts on pieces that are not cured, with a reason to go on, so that a test need not wait weeks."""

from functools import partial

from pricing.bench import topcoats
from pricing.selling import consigning, sales

REASON = "It is dry to the touch, and is used with care until it is cured."
WITH = {"reason": REASON}

log_topcoat = partial(topcoats.log_topcoat, **WITH)
pack_set = partial(sales.pack_set, **WITH)
sell = partial(sales.sell, **WITH)
send_out = partial(consigning.send_out, **WITH)
