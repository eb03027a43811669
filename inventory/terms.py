"""Words of the stock room and what they mean."""

TERMS = {
    "reorder point": "When this little is left, order: enough for the days until a delivery comes, "
    "and some to spare.",
    "safety stock": "The part of the reorder point kept for weeks that use more than most.",
    "lead time": "Days from ordering to having it on the shelf.",
    "landed cost": "The price with its share of shipping, duty and discounts.",
    "density": "What one millilitre weighs. With it a bottle on the scale says how much is in it.",
    "empty bottle": "What the bottle weighs with nothing in it, which the scale is less by.",
    "trace": "How many seconds a line drizzled over the mix stays visible: how thick it is.",
    "run-off": "Paint that drips from a piece, or is scraped from below it.",
    "reclaimed": "Run-off that was kept, for later base coats.",
    "minimum order": "The least that a supplier sends an order for.",
    "moving average": "Each unit costs the mean of all that is there, worked out anew after each "
    "delivery.",
    "first in, first out": "What came first is used first, at what it cost.",
}
