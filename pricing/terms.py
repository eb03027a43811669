"""Words of planning, pouring and pricing, and what they mean."""

TERMS = {
    "base coat": "The coat that is poured first, for the colours to lie and move on.",
    "cell activator": "The thin mix on top that opens into cells when it is blown about.",
    "crazing": "Cracks that open while paint dries, where it lies too thick.",
    "pot life": "How long mixed resin can be worked with before it sets.",
    "topcoat": "The clear resin over the dry paint.",
    "margin": "What is left of the price before tax when all costs are paid, as a share of it.",
    "markup": "What is added to the cost, as a share of the cost.",
    "overhead": "Rent, power and the like, for each hour that you work.",
    "deposit": "The part of the price that is paid before the work begins.",
    "fixed costs": "What a month costs whether anything is made or not.",
    "net realisable value": "What it would bring, less what it costs to finish and to sell.",
    "forecast profit": "What the price leaves, with materials at what those on the shelf did cost.",
}
