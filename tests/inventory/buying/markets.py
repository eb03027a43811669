"""Markets with every term in play, and their least cost found without what plans take for speed."""

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import product
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.buying.reordering import (
    MaterialNeed,
    PackOffer,
    PriceBreak,
    ShippingTier,
    SupplierTerms,
    Words,
)
from inventory.buying.reordering.covering import sift
from inventory.buying.reordering.programme import PackCounts, build

D = Decimal
PACKS_ML = [60, 120, 250, 500, 1000]
MOST_OF_A_TINY_OFFER = 5
TODAY = date(2026, 5, 1)


def day(number):
    return TODAY + timedelta(days=number)


def random_market(seed):
    """A market of two materials and two suppliers, small enough to try every basket."""
    draw = random.Random(seed)
    needs = [
        MaterialNeed(material, D(draw.randrange(30, 170)), draw.choice([None, day(5), day(9)]))
        for material in ("blue", "white", "white")
    ]
    suppliers = [
        SupplierTerms(
            "near",
            minimum_order=draw.choice([0, 0, 900]),
            shipping_fee=draw.choice([0, 350, 700]),
            free_over=draw.choice([None, 1500, 2500]),
            lead_days=draw.choice([2, 5]),
        ),
        SupplierTerms(
            "far",
            minimum_order=draw.choice([0, 1200]),
            shipping_fee=600,
            lead_days=draw.choice([2, 7]),
            shipping_tiers=draw.choice([(), (ShippingTier(1000, 300), ShippingTier(2000, 0))]),
        ),
    ]
    offers = [
        PackOffer("white", "small", "near", D(60), draw.randrange(250, 500)),
        PackOffer("white", "large", "near", D(150), draw.randrange(600, 1000), draw.choice([1, 2])),
        PackOffer(
            "blue",
            "small",
            "near",
            D(60),
            draw.randrange(250, 500),
            draw.choice([1, 1, 2]),
            draw.choice([(), (PriceBreak(2, 240),)]),
        ),
        PackOffer(
            "white",
            "small",
            "far",
            D(80),
            draw.randrange(300, 500),
            price_breaks=draw.choice([(), (PriceBreak(3, 220), PriceBreak(5, 190))]),
        ),
        PackOffer("blue", "large", "far", D(200), draw.randrange(700, 1100)),
    ]
    return needs, offers, suppliers


def tiny_market(seed):
    """A market of three needs, of which no offer is worth buying more than five packs.

    Five of 50 mL at 2.00 hold all that is needed and reach all that a supplier asks for.
    """
    draw = random.Random(seed)
    materials = draw.choice([("blue", "gold", "white"), ("blue", "white", "white")])
    needs = [
        MaterialNeed(
            material, D(draw.choice([40, 90, 120])), draw.choice([None, None, day(5)]), rank=rank
        )
        for rank, material in enumerate(draw.sample(materials, 3))
    ]
    suppliers = [
        SupplierTerms(
            key,
            minimum_order=draw.choice([0, 800, 1000, 1000]),
            shipping_fee=draw.choice([200, 400]),
            free_over=draw.choice([None, 900]),
            lead_days=draw.choice([2, 2, 2, 7]),
            shipping_tiers=draw.choice([(), (ShippingTier(700, 150),)]),
        )
        for key in ("near", "far")
    ]
    sold = list(product(dict.fromkeys(materials), ("near", "far")))
    offers = [
        PackOffer(
            material,
            "bottle",
            supplier,
            D(draw.choice([50, 100])),
            draw.randrange(210, 500),
            draw.choice([1, 1, 1, 2]),
            draw.choice([(), (), (PriceBreak(2, 200),)]),
        )
        for material, supplier in draw.sample(sold, 4)
    ]
    return needs, offers, suppliers


def price_of(offer, count):
    price = offer.price
    for least, lower in sorted(offer.price_breaks):
        price = lower if count >= least else price
    return count * price


def shipping_of(supplier, goods):
    fees = [supplier.shipping_fee]
    fees += [tier.fee for tier in supplier.shipping_tiers if goods >= tier.goods_from]
    fees += [0] if supplier.free_over is not None and goods >= supplier.free_over else []
    return min(fees)


def brute_force(needs, offers, suppliers, most=8):
    """Try every basket of up to seven packs an offer: the least cost, then least brought."""
    counts = np.indices([most] * len(offers)).reshape(len(offers), -1).T
    prices = np.array([[price_of(offer, n) for n in range(most)] for offer in offers])
    spent = np.take_along_axis(prices, counts.T, axis=1)
    fits = np.ones(len(counts), bool)
    for offer, packs in zip(offers, counts.T, strict=True):
        fits &= (packs == 0) | (packs >= offer.min_count)
    cost = np.zeros(len(counts), int)
    for supplier in suppliers:
        mine = [offer.supplier == supplier.key for offer in offers]
        goods = spent[mine].sum(axis=0)
        fits &= (goods == 0) | (goods >= supplier.minimum_order)
        values, places = np.unique(goods, return_inverse=True)
        fees = [shipping_of(supplier, value) if value else 0 for value in values]
        cost += goods + np.array(fees)[places]
    arrives = {supplier.key: day(supplier.lead_days) for supplier in suppliers}
    brought = np.zeros(len(counts))
    for material in {need.material for need in needs}:
        dated = [(n.needed_by or date.max, n.quantity) for n in needs if n.material == material]
        sizes = [int(offer.size) * (offer.material == material) for offer in offers]
        for due, _ in dated:
            in_time = [
                size * (arrives[o.supplier] <= due) for size, o in zip(sizes, offers, strict=True)
            ]
            fits &= counts @ in_time >= int(sum(q for by, q in dated if by <= due))
        brought += counts @ sizes / int(sum(quantity for _, quantity in dated))
    served = np.flatnonzero(fits)
    if not len(served):
        return inf, inf
    best = served[np.lexsort((brought[served], cost[served]))[0]]
    return cost[best], brought[best]


def priced_market(seed, materials=60, suppliers=5, *, in_steps=False):
    """Needs, offers and suppliers drawn at random; prices in cents, larger packs cheaper by mL.

    ``in_steps`` gives every pack two price breaks and every supplier two tiers of shipping.
    """
    draw = random.Random(seed)
    needs = [
        MaterialNeed(f"m{m:02}", Decimal(draw.randrange(40, 1500)), rank=m)
        for m in range(materials)
    ]
    terms = [
        SupplierTerms(
            f"s{s}",
            minimum_order=draw.choice([0, 1500, 2500]),
            shipping_fee=draw.randrange(400, 1200),
            free_over=draw.randrange(4000, 12000),
        )
        for s in range(suppliers)
    ]
    levels = [draw.uniform(0.9, 1.15) for _ in range(suppliers)]
    offers = []
    for need in needs:
        base = draw.uniform(4, 18)
        for supplier, level in zip(terms, levels, strict=True):
            for size in PACKS_ML:
                price = round(base * size**0.82 * level * draw.uniform(0.92, 1.08))
                offers.append(PackOffer(need.material, size, supplier.key, Decimal(size), price))
    if in_steps:
        offers = [
            replace(
                offer,
                price_breaks=(
                    PriceBreak(draw.choice([2, 3]), round(offer.price * draw.uniform(0.9, 0.97))),
                    PriceBreak(draw.choice([5, 6]), round(offer.price * draw.uniform(0.8, 0.89))),
                ),
            )
            for offer in offers
        ]
        terms = [
            replace(
                each,
                shipping_tiers=(
                    ShippingTier(each.free_over // 3, each.shipping_fee * 3 // 4),
                    ShippingTier(each.free_over * 2 // 3, each.shipping_fee // 2),
                ),
            )
            for each in terms
        ]
    return needs, offers, terms


def _all_counts(market, offer):
    """Any number that covers what is needed, and what it takes to ship for the lowest fee."""
    first, last = offer.levels[0], offer.levels[-1]
    enough = max(offer.packs_for(market.needed[offer.material]), last.min_count)
    more = -(-market.suppliers[offer.supplier].tiers[-1].goods_from // last.price)
    if first is last and first.min_count == 1:
        return PackCounts((), enough + more)
    return PackCounts(range(first.min_count, enough + 1), more)


def whole_programme(needs, offers, suppliers, nodes=1_000_000, today=None):
    """What `scipy.optimize.milp` makes of a market with nothing ruled out before."""
    market = sift(needs, offers, suppliers, today=today, allow_late=False, words=Words())
    programme, _ = build(market, [_all_counts(market, offer) for offer in market.offers])
    return milp(
        programme.costs,
        integrality=np.ones(len(programme.costs)),
        bounds=Bounds(0, programme.highest),
        constraints=LinearConstraint(programme.matrix(), programme.least, programme.most),
        options={"node_limit": nodes, "mip_rel_gap": 0},
    )
