"""Acts that something speaks against, with a reason to go on.

So a test need not wait weeks for the cure, nor coat what it is not about.
"""

from functools import partial

from pricing.bench import topcoats
from pricing.commissions import orders
from pricing.quoting import quotes
from pricing.selling import consigning, sales, uses

REASON = "It is dry to the touch, and is used with care until it is cured."
WITH = {"reason": REASON}

add_line = partial(orders.add_line, **WITH)
change_line = partial(orders.change_line, **WITH)
send_quote = partial(quotes.send_quote, **WITH)
log_topcoat = partial(topcoats.log_topcoat, **WITH)
pack_set = partial(sales.pack_set, **WITH)
change_use = partial(uses.change_use, **WITH)
sell = partial(sales.sell, **WITH)
send_out = partial(consigning.send_out, **WITH)
